"""Where a record's pieces begin and end, the joints they have and the holes on them: finished, in places along the
instrument."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from optimizer.records.layout import HoleRecord, LayoutRecord
from optimizer.records.pieces import JointRecord


@dataclass(frozen=True)
class Part:
    """A piece: its ends, tenon and socket included [mm], the joints there, its holes, whether it is already made."""

    number: int
    begin_mm: float
    end_mm: float
    above: JointRecord | None
    below: JointRecord | None
    holes: Sequence[HoleRecord]
    locked: bool = False

    @property
    def length_mm(self) -> float:
        """From end to end [mm]."""
        return round(self.end_mm - self.begin_mm, 3)


def body_begin_mm(record: LayoutRecord) -> float:
    """Where the body begins: at the crook's end, 0 without one [mm]."""
    return min(record.bore.crook_end_mm, record.bore.points_mm[-1][0])


def holes_of_crook(record: LayoutRecord) -> list[HoleRecord]:
    """Holes before the body begins."""
    return [hole for hole in record.holes if hole.position_mm < body_begin_mm(record)]


def parts_of(record: LayoutRecord) -> list[Part]:
    """The pieces of a record from the reed; one where it has no joints."""
    if not record.pieces:
        start = body_begin_mm(record)
        holes = [hole for hole in record.holes if hole.position_mm >= start]
        return [Part(1, start, record.bore.points_mm[-1][0], None, None, holes)]
    joints = [None, *(piece.joint for piece in record.pieces)]
    return [
        Part(
            number,
            round(piece.from_mm - _half_mm(above), 3),
            round(piece.to_mm + _half_mm(below), 3),
            above,
            below,
            [hole for hole in record.holes if hole.id in piece.holes],
            piece.locked,
        )
        for number, (piece, (above, below)) in enumerate(zip(record.pieces, pairwise(joints), strict=True), start=1)
    ]


def _half_mm(joint: JointRecord | None) -> float:
    return 0.5 * joint.length_mm if joint else 0.0


def lacking(record: LayoutRecord) -> list[str]:
    """What a record does not say of its pieces, a sentence each."""
    old = [number for number, piece in enumerate(record.pieces[:-1], start=1) if piece.joint is None]
    said = [f"joint {number} has no sizes, as in files from before 1.2; solve the layout anew" for number in old]
    held = {name for piece in record.pieces for name in piece.holes}
    start = body_begin_mm(record)
    astray = [hole.id for hole in record.holes if record.pieces and hole.position_mm >= start and hole.id not in held]
    said += [f"hole {name} is on none of its pieces" for name in astray]
    return said
