"""What to change of an instrument that was measured: the file that `correct` writes."""

from typing import Annotated, Literal

from pydantic import Field

from optimizer.records.files import SCHEMA_VERSION, Record


class CorrectionStep(Record):
    """One change, in bench order.

    number : on the sheet, from 1
    kind, place : what is changed; place is a hole's id, the bore of a piece, or empty
    now, whole : amounts to make in this pass, and in the end; 0 now: not before the instrument is measured again
    sd : how far the amount that the notes ask for may be off, one standard deviation; unit : of all amounts
    words : what to do now
    moves : cents that the whole change moves each of the notes, in their order
    """

    number: int
    kind: str
    place: str
    reversible: bool
    now: float
    whole: float
    sd: float
    unit: Literal["mm", "mm3"]
    words: str
    moves: list[float]


class CurvePoint(Record):
    """The fewest changes for one tolerance.

    changes : how many; proved : whether none cheaper can be had
    worst_cents, rms_cents : of the main notes once they are made
    reached : whether all of them come within the tolerance, besides what each is unsure by
    noise : whether its further changes gain no more than measuring anew would move
    words : the changes
    """

    tolerance_cents: float
    changes: int
    proved: bool
    worst_cents: float
    rms_cents: float
    reached: bool
    noise: bool
    words: list[str]


class CorrectedNote(Record):
    """A line of the chart: as measured and fitted, with its deviation, after this pass, and after the whole list."""

    line: int
    written: str
    fingering: str
    register_number: int
    alternate: bool
    cents: float
    sd_cents: float
    after_pass_cents: float
    after_cents: float


class Stage(Record):
    """The main notes at one time: as the layout was designed, as measured and fitted, or as a pass should leave them.

    lines : places of the notes in the layout; cents : of each
    """

    what: Literal["designed", "measured", "corrected"]
    number: Annotated[int, Field(ge=1)]
    lines: list[int]
    cents: list[float]
    worst_cents: float
    rms_cents: float


class Reprint(Record):
    """A piece that is better printed anew: the tuning to expect, the printer's scatter counted; by slopes, or searched
    with the other pieces locked."""

    piece: int
    rms_cents: float
    gain_cents: float
    words: str
    searched: bool = False


class CorrectionRecord(Record):
    """The smallest list of changes that brings an instrument within a tolerance.

    number : of the pass, from 1; layout, layout_mark : what was measured
    curve : fewest changes for one tolerance after another; recommended : the first of them that the steps are, null for
    none
    history : from the first design on
    """

    schema_name: Literal["holewright-correction"] = "holewright-correction"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    layout: str
    layout_mark: str
    number: Annotated[int, Field(ge=1)]
    curve: list[CurvePoint]
    recommended: int | None
    steps: list[CorrectionStep]
    notes: list[CorrectedNote]
    history: list[Stage]
    reprint: Reprint | None = None
    remarks: list[str] = Field(default_factory=list)
    cautions: list[str] = Field(default_factory=list)
