"""File of a comparison: several layouts, and of runs their fronts, each against the first.

Pairs are [first, other], null where one has no such thing. Differences are other less first. Lengths in millimetres.
"""

from collections.abc import Mapping
from typing import Any, Literal

from pydantic import Field

from optimizer.records.files import SCHEMA_VERSION, Record

Numbers = tuple[float | None, float | None]

Words = tuple[str | None, str | None]
State = Literal["both", "new", "gone"]


class Thresholds(Record):
    """From where a change of a hole or touch is called one; anything less, but not bit-identical, is `slight`."""

    moved_mm: float = 0.1
    resized_mm: float = 0.05
    turned_deg: float = 1.0


class PrintedBody(Record):
    """The body's print: from where to where, plastic at 100 % infill; seats, posts, keys and crook left out."""

    from_mm: float
    to_mm: float
    volume_cm3: float
    density_g_per_cm3: float
    mass_g: float


class ComparedLayout(Record):
    """One of the layouts compared. mark: the letter it goes by; run: the run folder it was chosen from, null for a
    layout named by itself; body_length_mm: from the reed end of the bore to the bell."""

    mark: str
    file: str
    run: str | None
    id: str
    instrument: str
    feasible: bool
    objectives: dict[str, float]
    holes: int
    body_length_mm: float
    bell_diameter_mm: float
    printed: PrintedBody


class NoteChange(Record):
    """A chart line. height: of the resonance played over that below it, null in the first register."""

    written: str
    register_number: int
    alternate: bool
    state: State
    touches: Words
    cents: Numbers
    difference_cents: float | None
    sd_cents: Numbers
    height_over_lower: Numbers
    height_difference: float | None
    status: Words


class HoleChange(Record):
    """A hole, matched by id. `unchanged` is bit-identical in place, size, chimney, cover and who works it; what changed
    stands in `changes`. moved_mm and resized_mm (at the bore) are 0 where nothing changed, null for new and gone."""

    id: str
    state: Literal["unchanged", "changed", "new", "gone"]
    changes: list[str]
    position_mm: Numbers
    diameter_mm: Numbers
    moved_mm: float | None
    resized_mm: float | None


class ReachChange(Record):
    """A pair of fingers: distance, working limit, and what is said of it."""

    pair: str
    state: State
    spacing_mm: Numbers
    working_mm: Numbers
    difference_mm: float | None
    verdict: Words


class LeverChange(Record):
    """Length of a lever from a key's touch to one of its holes."""

    hole: str
    length_mm: Numbers


class KeyChange(Record):
    """A key, matched by id; moved_mm along the body, turned_deg around it."""

    id: str
    state: Literal["unchanged", "changed", "new", "gone"]
    changes: list[str]
    moved_mm: float | None
    turned_deg: float | None
    levers: list[LeverChange]


class PieceChange(Record):
    """A piece, counted from the reed: its length, and where the joint at its bell end has its middle."""

    number: int
    length_mm: Numbers
    joint_at_mm: Numbers


class BindChange(Record):
    """What binds in the first alone, in the other alone, in both."""

    only_first: list[str]
    only_other: list[str]
    both: list[str]


class FrontComparison(Record):
    """Two fronts in the objectives that both have.

    hypervolume : share of the box from 0 to `reference_point`; beaten_share : of the first's layouts that some layout
    of the other dominates, and the other way round
    """

    objectives: list[str]
    reference_point: dict[str, float]
    layouts: tuple[int, int]
    hypervolume: tuple[float, float]
    beaten_share: tuple[float, float]
    sentences: list[str]


class Comparison(Record):
    """One layout against the first. fronts: null unless both were named by their run."""

    first: str
    other: str
    remarks: list[str]
    notes: list[NoteChange]
    holes: list[HoleChange]
    reach: list[ReachChange]
    keys: list[KeyChange]
    pieces: list[PieceChange]
    binds: BindChange
    fronts: FrontComparison | None = None


class ComparisonRecord(Record):
    """Layouts, the first of which the others are held against."""

    schema_name: Literal["holewright-comparison"] = "holewright-comparison"
    schema_version: str = SCHEMA_VERSION
    layouts: list[ComparedLayout]
    comparisons: list[Comparison]
    thresholds: Thresholds = Field(default_factory=Thresholds)
    cautions: list[str]


def pair(first: object | None, other: object | None, name: str) -> tuple[Any, Any]:
    """One field of both; null where there is no such thing."""
    return getattr(first, name, None), getattr(other, name, None)


def difference(figures: Numbers) -> float | None:
    """Other less first, where both have a figure."""
    first, other = figures
    return None if first is None or other is None else other - first


def names_of_both(first: Mapping[str, object], other: Mapping[str, object]) -> list[str]:
    """Names of either, in the first's order, the other's own after them."""
    return [*first, *(name for name in other if name not in first)]
