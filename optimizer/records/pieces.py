"""Records of the body's pieces: finished sizes, joints, and what goes to the printer. Lengths in millimetres.

Everything but `PiecePrint` is finished size, which the predictions use. Sizes in `PiecePrint` are enlarged once, by the
factors of `PrintingRecord`, and are not to be enlarged again by the slicer.
"""

from collections.abc import Sequence
from typing import Literal, Self

from pydantic import model_validator

from optimizer.project.printer import axis_along, usable_mm
from optimizer.records.files import Record


class PrintingRecord(Record):
    """The printer that the pieces are meant for, and how printed sizes follow from finished ones.

    printed length = finished x factor_along, printed diameter = finished x factor_across, factor = 1 / (1 - shrinkage);
    a tone hole's printed diameter has hole_undersize_mm added after that, half of hole_oval_mm less along the bore and
    more around it, and follows hole_slope in place of the factors where there is one; a bore or socket has
    bore_undersize_mm added, a body or tenon outside_undersize_mm.
    """

    printer: str
    source: str
    bed_mm: tuple[float, float, float]
    margin_mm: tuple[float, float, float]
    orientation: Literal["standing", "lying"]
    tolerance_mm: float
    shrinkage_percent: tuple[float, float, float]
    factor_along: float
    factor_across: float
    hole_undersize_mm: float
    hole_oval_mm: float = 0.0
    hole_slope: float | None = None
    bore_undersize_mm: float = 0.0
    outside_undersize_mm: float = 0.0
    facing_mm: float = 0.0
    nozzle_mm: float
    layer_mm: float
    wall_min_mm: float

    @property
    def piece_max_mm(self) -> float:
        """Longest finished piece that the bed holds as it is printed [mm]."""
        usable = usable_mm(self.bed_mm, self.margin_mm)
        return usable[axis_along(self.orientation, usable)] / self.factor_along


class JointRecord(Record):
    """The joint at a piece's bell end: the piece's tenon in the next one's socket, both cylinders.

    at_mm : middle; bore_diameter_mm, body_diameter_mm : widest bore and thinnest body over its length
    tenon_wall_mm : at the widest bore; groove_wall_mm : under an O-ring's groove, null without
    cord_mm : of its O-rings, null without, and in files before 2.2
    o_ring : inner diameter and cord of the stock's O-ring for its grooves, as the trade has them; null where none fits
    ring_mm : how far the socket stands out from the body all round; keep_out_mm : no hole, seat or finger between
    """

    at_mm: float
    length_mm: float
    bore_diameter_mm: float
    body_diameter_mm: float
    tenon_diameter_mm: float
    tenon_wall_mm: float
    radial_clearance_mm: float
    socket_diameter_mm: float
    socket_wall_mm: float
    socket_outer_diameter_mm: float
    ring_mm: float
    seal: Literal["o-ring", "lapping"]
    grooves: int
    groove_width_mm: float | None
    groove_depth_mm: float | None
    groove_diameter_mm: float | None
    groove_wall_mm: float | None
    cord_mm: float | None = None
    o_ring: str | None = None
    keep_out_mm: tuple[float, float]
    locked: bool

    @model_validator(mode="after")
    def _rings_have_grooves(self) -> Self:
        grooves = self.groove_width_mm, self.groove_depth_mm, self.groove_diameter_mm, self.groove_wall_mm
        if self.seal == "o-ring" and None in grooves:
            raise ValueError("a joint with O-rings must say all of their grooves")
        return self


class HolePrint(Record):
    """A hole as printed: how far from the piece's reed end, and its sizes as [along the body, around it]."""

    id: str
    from_end_mm: float
    diameter_mm: tuple[float, float]
    top_diameter_mm: tuple[float, float]
    chimney_mm: float


class TenonPrint(Record):
    """The tenon at a piece's bell end as printed."""

    length_mm: float
    diameter_mm: float
    groove_diameter_mm: float | None
    groove_width_mm: float | None


class SocketPrint(Record):
    """The socket at a piece's reed end as printed."""

    depth_mm: float
    diameter_mm: float
    outer_diameter_mm: float


class PiecePrint(Record):
    """A piece as it goes to the printer; bore_points_mm count from its reed end."""

    length_mm: float
    diameter_mm: float
    bore_points_mm: list[tuple[float, float]]
    socket: SocketPrint | None
    tenon: TenonPrint | None
    holes: list[HolePrint]


class PieceRecord(Record):
    """One piece of the body: between which places its joints' middles lie, its length with what lies in them.

    joint_mm : length of the joint at its bell end, 0 for the last piece; joint : that joint, null for the last piece
    begin_mm, end_mm : its ends, tenon and socket included; diameter_mm : its widest place, raised seats left out
    locked : already printed, so that to_print is null
    """

    from_mm: float
    to_mm: float
    joint_mm: float
    length_mm: float
    holes: list[str]
    begin_mm: float | None = None
    end_mm: float | None = None
    diameter_mm: float | None = None
    joint: JointRecord | None = None
    locked: bool = False
    to_print: PiecePrint | None = None


def without_holes(pieces: Sequence[PieceRecord], printing: PrintingRecord | None) -> list[str]:
    """A sentence for each piece that no hole is on, as its joint may leak and serves no note: what would save it.

    Parameters
    ----------
    pieces : of a body, from the reed
    printing : the printer, whose bed a longer piece must fit; None where no file tells
    """
    ends = [0.0, *(piece.joint_mm / 2.0 for piece in pieces)]
    said = []
    for number, piece in enumerate(pieces):
        if piece.holes or len(pieces) == 1:
            continue
        joined = {
            other + 1: pieces[last].to_mm + ends[last + 1] - pieces[first].from_mm + ends[first]
            for other, first, last in ((number - 1, number - 1, number), (number + 1, number, number + 1))
            if 0 <= other < len(pieces)
        }
        fitting = [other for other, length in joined.items() if printing and length <= printing.piece_max_mm]
        begin = f"piece {number + 1}, {piece.length_mm:.0f} mm long, has no hole"
        if fitting:
            other = min(fitting, key=lambda each: joined[each])
            said.append(
                f"{begin}: the bed holds it and piece {other} in one, {joined[other]:.0f} mm long, with a joint less "
                "to leak; allow fewer joints (sections.joints), or seek `joints`"
            )
        else:
            said.append(f"{begin}, and the bed holds it in one with no neighbour; a longer bed would save its joint")
    return said
