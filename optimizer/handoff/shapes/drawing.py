"""From a layout record to its pieces as shapes, in one of three states: finished, printed, printed to ream.

Everything is drawn in finished sizes and scaled once, by the factors of the record's printing, as `to_print` has
them; diameters of holes, bores and outsides get what a print lacks of them added after that.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import sqrt
from typing import TypeVar

from optimizer.handoff.shapes.bent import bends_of, courses, cut_at, in_its_frame
from optimizer.handoff.shapes.fixtures import feet_on, flat_of, hole_shape
from optimizer.handoff.shapes.impossible import faults_of
from optimizer.handoff.shapes.joint_shapes import hollow, least_wall_mm, plug, receiver_of, ring, socket_of, tenon_of
from optimizer.handoff.shapes.outline import Outline, outer, part, tidy, widened
from optimizer.handoff.shapes.parts import Part, body_begin_mm, holes_of_crook, lacking, parts_of
from optimizer.handoff.shapes.shape import (
    Crook,
    Drawing,
    End,
    Flat,
    Foot,
    Groove,
    Hole,
    Piece,
    PieceBend,
    Sizing,
    Socket,
    State,
    Tenon,
)
from optimizer.project.bore import BoreSection
from optimizer.project.faults import Fault
from optimizer.records.layout import BoreTable, LayoutRecord

NEAR_RECEIVER_MM = 2.0
"""Least wall between the crook's tube and a hole or flat; common practice, no source."""


Disc = TypeVar("Disc", Flat, Foot)


class ShapeError(Fault):
    """A layout that makes no pieces."""


def sizing_of(record: LayoutRecord, state: State, hole_less_mm: Mapping[str, float] | None = None) -> Sizing:
    """How a layout's drawn sizes follow from its finished ones.

    Parameters
    ----------
    record : whose printing counts; without one, prints are drawn in finished sizes
    state : which sizes
    hole_less_mm : by id, how much smaller holes are made to be reamed out to pitch, as `tolerance` advises [mm]
    """
    if state == "finished":
        return Sizing()
    less = dict(hole_less_mm or {}) if state == "printed to ream" else {}
    made = record.printing
    if made is None:
        return Sizing(state, hole_less_mm=less)
    return Sizing(
        state,
        made.factor_along,
        made.factor_across,
        made.hole_undersize_mm,
        less,
        hole_oval_mm=made.hole_oval_mm,
        hole_slope=made.hole_slope,
        bore_more_mm=made.bore_undersize_mm,
        outside_more_mm=made.outside_undersize_mm,
        facing_mm=made.facing_mm,
    )


def drawn(record: LayoutRecord, sizing: Sizing | None = None) -> Drawing:
    """A layout's pieces and crook as shapes.

    Parameters
    ----------
    record : the layout
    sizing : finished by default

    Raises
    ------
    ShapeError
        for a layout that makes no pieces: a sentence for each thing that stands in the way
    """
    heading, made = f"layout {record.id} makes no pieces", sizing or Sizing()
    missing = lacking(record)
    if missing:
        raise ShapeError(*missing, heading=heading)
    bore: Outline = tuple((place, 0.5 * diameter) for place, diameter in record.bore.points_mm)
    parts = parts_of(record)
    receiver = _receiver(record, parts[0], bore)
    pieces = [_piece(record, each, len(parts), bore, receiver if each.number == 1 else None) for each in parts]
    problems = [said for each in pieces for said in faults_of(each)]
    if problems:
        raise ShapeError(*problems, heading=heading)
    return Drawing(
        layout=record.id,
        instrument=record.instrument,
        sizing=made,
        pieces=tuple(sized(each, made) for each in pieces),
        crook=_crook(record, bore, receiver),
        bends=tuple(record.bore.bends),
    )


def _tube_wall_mm(table: BoreTable) -> float:
    """Wall of the crook's tube [mm]; older files lack it."""
    return table.crook_wall_mm or float(BoreSection.model_fields["crook_wall_mm"].default)


def _receiver(record: LayoutRecord, first: Part, bore: Outline) -> Socket | None:
    """The receiver at the first piece's reed end; none without a crook, or where a hole leaves no room for it."""
    if first.begin_mm <= 0.0:
        return None
    wide = [(hole, max(hole.diameter_mm, hole.seat.outer_diameter_mm if hole.seat else 0.0)) for hole in first.holes]
    room = [hole.position_mm - 0.5 * width - first.begin_mm - NEAR_RECEIVER_MM for hole, width in wide]
    most = min([*room, first.length_mm - (first.below.length_mm if first.below else 0.0)])
    return receiver_of(bore, first.begin_mm, _tube_wall_mm(record.bore), least_wall_mm(record), most)


def _piece(record: LayoutRecord, of: Part, count: int, bore: Outline, receiver: Socket | None) -> Piece:
    """A finished piece."""
    length, least, bends = of.length_mm, least_wall_mm(record), bends_of(record, of)
    record = in_its_frame(record, of)
    of = replace(of, holes=[hole for hole in record.holes if any(hole.id == each.id for each in of.holes)])
    socket = socket_of(of.above, bore, least) if of.above else receiver
    tenon = tenon_of(of.below, bore, least) if of.below else None
    line: Outline = tuple((round(z - of.begin_mm, 6), r) for z, r in part(bore, of.begin_mm, of.end_mm))
    outside = cut_at(_outside(widened(line, record.bore.wall_mm), length, socket, tenon), bends)
    holes = [hole_shape(hole, of.begin_mm, bore) for hole in of.holes]
    found = [flat_of(hole, shape, record.bore.wall_mm) for hole, shape in zip(of.holes, holes, strict=True)]
    flats = [flat for flat in found if flat is not None]
    start = socket.depth_mm if socket and socket.takes == "tenon" else 0.0
    room = start, length - (tenon.length_mm if tenon else 0.0)
    feet, left_out = feet_on(record, of, outside, room, (*flats, *holes))
    if of.number == 1 and of.begin_mm > 0.0 and receiver is None:
        left_out.append(
            "a hole near the reed end of piece 1 leaves no room for a receiver of the crook; it is not drawn"
        )
    return Piece(
        number=of.number,
        count=count,
        sizing=Sizing(),
        begin_mm=of.begin_mm,
        length_mm=length,
        outside=outside,
        inside=cut_at(_inside(line, length, socket), bends),
        socket=socket,
        tenon=tenon,
        holes=tuple(holes),
        flats=tuple(flats),
        feet=tuple(feet),
        down=_down(length, tenon, bends),
        locked=of.locked,
        left_out=tuple(left_out),
        bends=bends,
    )


def _down(length_mm: float, tenon: Tenon | None, bends: Sequence[PieceBend]) -> End:
    """The end that stands on the bed: a tenon up; of a piece with a bend, which is up, that of its longer leg."""
    if bends:
        return "bell" if courses(bends)[-1].at(length_mm)[2] < 0.0 else "reed"
    return "reed" if tenon else "bell"


def _outside(body: Outline, length_mm: float, socket: Socket | None, tenon: Tenon | None) -> Outline:
    """The outside of a piece from end to end: body, socket's ring, tenon."""
    whole = outer(body, ring(socket, length_mm)) if socket else body
    if tenon is None:
        return tidy([*whole])
    return tidy([*part(whole, 0.0, length_mm - tenon.length_mm), *plug(tenon, length_mm)])


def _inside(bore: Outline, length_mm: float, socket: Socket | None) -> Outline:
    """The hollow of a piece from end to end: socket, bore."""
    if socket is None:
        return tidy([*bore])
    return tidy([*hollow(socket), *part(bore, socket.depth_mm, length_mm)])


def _crook(record: LayoutRecord, bore: Outline, receiver: Socket | None) -> Crook | None:
    """The crook's tube; none where the body begins at the reed."""
    end, wall = body_begin_mm(record), _tube_wall_mm(record.bore)
    if end <= 0.0:
        return None
    more = receiver.depth_mm if receiver else 0.0
    inside = part(bore, 0.0, end + more)
    outside = part(widened(inside, wall), 0.0, end)
    if receiver:
        radius, cone = inside[-1][1] + wall, receiver.chamfer_mm
        outside = (*outside, (end, radius), (end + more - cone, radius), (end + more, radius - cone))
    holes = [hole_shape(hole, 0.0, bore, chimney_mm=wall) for hole in holes_of_crook(record)]
    return Crook(end + more, more, tidy([*outside]), tidy([*inside]), tuple(holes))


def sized(piece: Piece, sizing: Sizing) -> Piece:
    """A finished piece as it is drawn.

    Parameters
    ----------
    piece : finished
    sizing : the state and its factors
    """
    along = sizing.along
    return replace(
        piece,
        sizing=sizing,
        length_mm=piece.length_mm * along,
        outside=tuple((z * along, sizing.outer(r)) for z, r in piece.outside),
        inside=tuple((z * along, sizing.inner(r)) for z, r in piece.inside),
        socket=_sized_socket(piece.socket, sizing) if piece.socket else None,
        tenon=_sized_tenon(piece.tenon, sizing) if piece.tenon else None,
        holes=tuple(_sized_hole(hole, sizing) for hole in piece.holes),
        flats=tuple(_sized_disc(flat, sizing, 0.0 if flat.sunk else sizing.facing_mm) for flat in piece.flats),
        feet=tuple(_sized_disc(foot, sizing) for foot in piece.feet),
        bends=tuple(replace(bend, z_mm=bend.z_mm * along, radius_mm=bend.radius_mm * along) for bend in piece.bends),
    )


def _sized_hole(hole: Hole, sizing: Sizing) -> Hole:
    less, more, half = sizing.hole_less_mm.get(hole.id, 0.0), sizing.hole_more_mm, 0.5 * sizing.hole_oval_mm
    lengthwise, across = sizing.hole_factors

    def wide(finished: tuple[float, float]) -> tuple[float, float]:
        along, round_ = finished
        return (along - less) * lengthwise + more - half, (round_ - less) * across + more + half

    return replace(
        hole,
        z_mm=hole.z_mm * sizing.along,
        crown_mm=sizing.inner(hole.crown_mm),
        top_mm=sizing.outer(hole.top_mm),
        bore_mm=wide(hole.bore_mm),
        mouth_mm=wide(hole.mouth_mm),
    )


def _sized_disc(disc: Disc, sizing: Sizing, higher_mm: float = 0.0) -> Disc:
    """A disc stays round, of the same area as if it were scaled along and across."""
    return replace(
        disc,
        z_mm=disc.z_mm * sizing.along,
        diameter_mm=disc.diameter_mm * sqrt(sizing.along * sizing.across),
        top_mm=sizing.outer(disc.top_mm) + higher_mm,
    )


def _sized_socket(socket: Socket, sizing: Sizing) -> Socket:
    return replace(
        socket,
        depth_mm=socket.depth_mm * sizing.along,
        diameter_mm=2.0 * sizing.inner(0.5 * socket.diameter_mm),
        outer_diameter_mm=2.0 * sizing.outer(0.5 * socket.outer_diameter_mm),
        chamfer_mm=socket.chamfer_mm * sizing.across,
    )


def _sized_tenon(tenon: Tenon, sizing: Sizing) -> Tenon:
    grooves = [
        Groove(each.from_mm * sizing.along, each.to_mm * sizing.along, 2.0 * sizing.outer(0.5 * each.diameter_mm))
        for each in tenon.grooves
    ]
    return replace(
        tenon,
        length_mm=tenon.length_mm * sizing.along,
        diameter_mm=2.0 * sizing.outer(0.5 * tenon.diameter_mm),
        chamfer_mm=tenon.chamfer_mm * sizing.across,
        grooves=tuple(grooves),
    )
