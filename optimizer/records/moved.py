"""A layout some of whose numbers are moved by hand, before it is kept: what follows with every move."""

from optimizer.records.files import Record
from optimizer.records.layout import Binding, HoleRecord, NoteRecord, ReachRecord
from optimizer.records.pieces import PieceRecord


class FreeNumber(Record):
    """A number that the project lets move, by its name such as `position_mm.h07`, where it is, and its range, all in
    the unit that the name tells."""

    name: str
    value: float
    least: float
    most: float


class MovedLayout(Record):
    """What a layout comes to once numbers of it are moved; see `LayoutRecord` for the fields of the same names.

    notes : without their doubt, where nothing else of these figures needs it
    numbers : all that may be moved, as they are now, rounded and kept within their ranges; bore_mm : points [position,
    diameter] of the bore; settled : whether a solve of the others came to rest, null where none was asked for
    """

    numbers: list[FreeNumber]
    bore_mm: list[tuple[float, float]]
    holes: list[HoleRecord]
    pieces: list[PieceRecord]
    notes: list[NoteRecord]
    reach: list[ReachRecord]
    objectives: dict[str, float]
    feasible: bool
    margins_mm: dict[str, float]
    binds: list[Binding]
    settled: bool | None = None
