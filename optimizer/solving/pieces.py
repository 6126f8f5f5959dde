"""The body's pieces as records: finished sizes, joints, and the sizes that go to the printer.

Shrinkage is made up for here and nowhere else: every size in a `PiecePrint` is a finished size of the same record times
one factor. Nothing that is solved, verified or predicted sees a printed size.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from optimizer.geometry.joints import JointSizes
from optimizer.geometry.layout import Layout
from optimizer.geometry.measured_layout import Geometry, measured
from optimizer.geometry.pieces import holes_of_pieces, piece_diameters, piece_ends
from optimizer.project.body import BodySections, Points, bore_between
from optimizer.project.model import Project
from optimizer.project.printer import Printer, hole_drawn
from optimizer.project.stock import Stock
from optimizer.records.layout import HoleRecord
from optimizer.records.pieces import (
    HolePrint,
    JointRecord,
    PiecePrint,
    PieceRecord,
    PrintingRecord,
    SocketPrint,
    TenonPrint,
)

DECIMALS_PRINT = 4


def printing_record(project: Project) -> PrintingRecord | None:
    """The printer and its factors; None where the project has no sections."""
    return None if project.sections is None else printing_of(project.printer)


def printing_of(printer: Printer) -> PrintingRecord:
    """A printer and its factors."""
    return PrintingRecord(
        printer=printer.name,
        factor_along=printer.factor_along,
        factor_across=printer.factor_across,
        **printer.model_dump(exclude={"name"}),
    )


class PieceBody(NamedTuple):
    """A finished piece: its ends, tenon and socket included, and its widest place [mm]; the joints at its reed and its
    bell end, the holes on it."""

    begin_mm: float
    end_mm: float
    diameter_mm: float
    above: JointRecord | None
    below: JointRecord | None
    holes: Sequence[HoleRecord]

    @property
    def length_mm(self) -> float:
        """From end to end [mm]."""
        return round(self.end_mm - self.begin_mm, 3)


def piece_records(
    project: Project, layout: Layout, bore_points_mm: Points, holes: Sequence[HoleRecord]
) -> list[PieceRecord]:
    """The body's pieces from the reed; none where the project has no sections.

    Parameters
    ----------
    project : what parts the body
    layout : fields (H,) [mm]
    bore_points_mm : the finished bore, places and diameters [mm]
    holes : finished
    """
    section = project.sections
    if section is None:
        return []
    at = measured(layout, project)
    held, meets, wide = holes_of_pieces(at), piece_ends(at), piece_diameters(at)
    ends = [round(float(end), 2) for end in meets[: len(held)]]
    ends.append(round(float(layout.end_mm), 2))
    joints = joint_records(section, layout, recorded_sizes(at), project.stock)
    made = {piece.piece for piece in section.locked}
    pieces = []
    for number, ids in enumerate(held):
        above = joints[number - 1] if number else None
        below = joints[number] if number < len(joints) else None
        mine = [hole for hole in holes if hole.id in ids]
        begin, end = ends[number] - _half_mm(above), ends[number + 1] + _half_mm(below)
        body = PieceBody(round(begin, 3), round(end, 3), round(float(wide[number]), 2), above, below, mine)
        locked = number + 1 in made
        pieces.append(
            PieceRecord(
                from_mm=ends[number],
                to_mm=ends[number + 1],
                joint_mm=below.length_mm if below else 0.0,
                length_mm=body.length_mm,
                holes=ids,
                begin_mm=body.begin_mm,
                end_mm=body.end_mm,
                diameter_mm=body.diameter_mm,
                joint=below,
                locked=locked,
                to_print=None if locked else piece_print(body, bore_points_mm, project.printer),
            )
        )
    return pieces


def _half_mm(joint: JointRecord | None) -> float:
    return joint.length_mm / 2 if joint else 0.0


def recorded_sizes(at: Geometry) -> JointSizes:
    """Sizes of the joints, bore and body taken over their lengths as recorded, so that a joint locked repeats them."""
    rules, sizes = at.fixed.joints, at.joints
    if rules is None:
        return sizes
    lengths = np.array([_up(length) for length in sizes.length])
    bore, body = rules.extremes(at.layout.joint_mm, lengths, at.bore)
    return sizes._replace(bore=bore, body=body)


def joint_records(
    section: BodySections, layout: Layout, sizes: JointSizes, stock: Stock | None = None
) -> list[JointRecord]:
    """The joints that a layout uses, rounded as they are to be drawn: lengths up, diameters to 0.01 mm."""
    used = int(np.sum(np.asarray(layout.choice.joint_used) > 0.5))
    return [
        _joint_record(section, float(layout.joint_mm[n]), n, JointSizes(*(column[n] for column in sizes)), stock)
        for n in range(used)
    ]


def _up(value: float) -> float:
    """The next hundredth of a millimetre."""
    return math.ceil(float(value) * 100.0 - 1e-6) / 100.0


def _joint_record(
    section: BodySections, at_mm: float, number: int, sizes: JointSizes, stock: Stock | None
) -> JointRecord:
    at, length = round(at_mm, 2), _up(sizes.length)
    bore, body = _up(sizes.bore), -_up(-sizes.body)
    tenon = _up(sizes.tenon) if section.socket_ring else -_up(-sizes.tenon)
    socket = round(tenon + 2.0 * section.radial_clearance_mm, 3)
    outer = max(round(socket + 2.0 * section.socket_wall_mm, 2), body) if section.socket_ring else body
    grooved, depth = section.seal == "o-ring", section.groove_depth_mm
    groove = round(tenon - 2.0 * depth, 3)
    ring = stock.o_ring_for(groove, section.cord_mm) if grooved and stock is not None else None
    reach = 0.5 * length + section.joint_clearance_mm
    return JointRecord(
        at_mm=at,
        length_mm=length,
        bore_diameter_mm=bore,
        body_diameter_mm=body,
        tenon_diameter_mm=tenon,
        tenon_wall_mm=round((tenon - bore) / 2, 3),
        radial_clearance_mm=section.radial_clearance_mm,
        socket_diameter_mm=socket,
        socket_wall_mm=round((outer - socket) / 2, 3),
        socket_outer_diameter_mm=outer,
        ring_mm=round((outer - body) / 2, 3),
        seal=section.seal,
        grooves=section.o_rings if grooved else 0,
        groove_width_mm=round(section.groove_width_per_cord * section.cord_mm, 3) if grooved else None,
        groove_depth_mm=round(depth, 3) if grooved else None,
        groove_diameter_mm=groove if grooved else None,
        groove_wall_mm=round((tenon - bore) / 2 - depth, 3) if grooved else None,
        cord_mm=section.cord_mm if grooved else None,
        o_ring=None if ring is None else ring.called,
        keep_out_mm=(round(at - reach, 3), round(at + reach, 3)),
        locked=number in section.locked_joints,
    )


class _Printed:
    """Finished sizes as they go to the printer [mm]: larger by its factors, and by what holes, bores, outsides lack."""

    def __init__(self, printer: Printer) -> None:
        self._printer = printer

    def along(self, finished: float) -> float:
        return round(finished * self._printer.factor_along, DECIMALS_PRINT)

    def inside(self, finished: float) -> float:
        return round(finished * self._printer.factor_across + self._printer.bore_undersize_mm, DECIMALS_PRINT)

    def outside(self, finished: float) -> float:
        return round(finished * self._printer.factor_across + self._printer.outside_undersize_mm, DECIMALS_PRINT)

    def chimney(self, finished: float) -> float:
        more = 0.5 * (self._printer.outside_undersize_mm - self._printer.bore_undersize_mm)
        return round(finished * self._printer.factor_across + more, DECIMALS_PRINT)

    def drilled(self, finished: float) -> tuple[float, float]:
        along, around = hole_drawn(self._printer, finished)
        return round(along, DECIMALS_PRINT), round(around, DECIMALS_PRINT)

    def socket(self, joint: JointRecord) -> SocketPrint:
        return SocketPrint(
            depth_mm=self.along(joint.length_mm),
            diameter_mm=self.inside(joint.socket_diameter_mm),
            outer_diameter_mm=self.outside(joint.socket_outer_diameter_mm),
        )

    def tenon(self, joint: JointRecord) -> TenonPrint:
        return TenonPrint(
            length_mm=self.along(joint.length_mm),
            diameter_mm=self.outside(joint.tenon_diameter_mm),
            groove_diameter_mm=None if joint.groove_diameter_mm is None else self.outside(joint.groove_diameter_mm),
            groove_width_mm=None if joint.groove_width_mm is None else self.along(joint.groove_width_mm),
        )

    def hole(self, hole: HoleRecord, begin_mm: float) -> HolePrint:
        """A hole of a piece that begins so far from the reed."""
        return HolePrint(
            id=hole.id,
            from_end_mm=self.along(round(hole.position_mm - begin_mm, 3)),
            diameter_mm=self.drilled(hole.diameter_mm),
            top_diameter_mm=self.drilled(hole.top_diameter_mm),
            chimney_mm=self.chimney(hole.chimney_mm),
        )


def piece_print(piece: PieceBody, bore_points_mm: Points, printer: Printer) -> PiecePrint:
    """What goes to the printer for a piece.

    Parameters
    ----------
    piece : finished
    bore_points_mm : the finished bore, places and diameters [mm]
    printer : whose factors count
    """
    above, below = piece.above, piece.below
    bore = bore_between(bore_points_mm, piece.begin_mm + (above.length_mm if above else 0.0), piece.end_mm)
    made = _Printed(printer)
    return PiecePrint(
        length_mm=made.along(piece.length_mm),
        diameter_mm=made.outside(piece.diameter_mm),
        bore_points_mm=[(made.along(place - piece.begin_mm), made.inside(diameter)) for place, diameter in bore],
        socket=made.socket(above) if above else None,
        tenon=made.tenon(below) if below else None,
        holes=[made.hole(hole, piece.begin_mm) for hole in piece.holes],
    )
