"""What becomes of a layout's notes when it is printed, drilled and played: the file that `tolerance` writes."""

from typing import Annotated, Literal

from pydantic import Field

from optimizer.project.uncertainty import Unit
from optimizer.records.files import SCHEMA_VERSION, Record
from optimizer.records.shares import Share


class DeviationRecord(Record):
    """One kind of deviation: its standard deviation, the unit, how it varies, and where the figure comes from."""

    kind: str
    sd: float
    unit: Unit
    varies: str
    source: str


class Band(Record):
    """A note's cents: mean, standard deviation, and the values that 5, 50 and 95 % stay below."""

    mean: float
    sd: float
    p05: float
    p50: float
    p95: float


class NoteTolerance(Record):
    """One note: cents as the layout predicts it, standard deviations by where they come from, and its cents over all
    deviations, by slopes (linear) and recomputed draw by draw (drawn). model_sd_cents is the formulas' own and in
    neither band."""

    written: str
    sounding: str
    register_number: int
    alternate: bool
    cents: float
    making_sd_cents: float
    playing_sd_cents: float
    model_sd_cents: float
    linear: Band
    drawn: Band


class Chance(Record):
    """Chance [1] that all main notes lie within so many cents at once: share of the draws, between low and high with
    95 % confidence (Wilson 1927); linear_share: the same draws by the slopes."""

    within_cents: float
    notes: int
    share: float
    low: float
    high: float
    linear_share: float


class HoleAdvice(Record):
    """A hole's slopes, and how to print it so that it can be reamed to pitch.

    moves : cents of each main note for 0.1 mm more diameter, those moved by 0.05 cent or more
    note, cents_per_tenth : the main note that it moves most, and by how much
    under_mm : how much smaller to make it, null where it is not worth it; finished_mm : its diameter then
    drawn_mm : what to draw for that, along and around the body, null without a printer in the layout
    flat_cents : how far the note then lies below the layout's, recomputed; certainty : chance that it is not sharper
    reason : why there is no advice, empty where there is
    """

    hole: str
    diameter_mm: float
    moves: dict[str, float]
    note: str
    cents_per_tenth: float
    reading_cents: float
    under_mm: float | None = None
    finished_mm: float | None = None
    drawn_mm: tuple[float, float] | None = None
    flat_cents: float | None = None
    certainty: float | None = None
    reason: str = ""


class BoreTolerance(Record):
    """A stretch of the bore made 0.1 mm wider: of which part it is, cents of each main note that moves by 0.05 cent or
    more, the main note that it moves most and by how much, root mean square over all main notes."""

    part: str
    from_mm: float
    to_mm: float
    moves: dict[str, float]
    note: str
    cents_per_tenth: float
    rms_cents: float


class ToleranceRecord(Record):
    """A layout over all that may deviate. sd_error and quantile_error: standard errors of a drawn standard deviation
    and of a drawn 5 or 95 % value, both as shares of the standard deviation."""

    schema_name: Literal["holewright-tolerance"] = "holewright-tolerance"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    layout: str
    samples: int
    seed: int
    sd_error: float
    quantile_error: float
    deviations: list[DeviationRecord]
    notes: list[NoteTolerance]
    left_out: Annotated[list[str], Field(description="notes that do not sound, so that nothing is said of them")]
    robustness_cents: Annotated[float, Field(description="root mean square of making_sd_cents over the main notes")]
    chance: Chance
    shares: list[Share]
    doubt: list[Share] = Field(default_factory=list, description="by source, formulas among them; older files lack it")
    worth_cents: Annotated[float, Field(description="least cents per 0.1 mm for which a hole is worth reaming")]
    hole_undersize_mm: float | None
    holes: list[HoleAdvice]
    bore: list[BoreTolerance] = Field(default_factory=list, description="stretch by stretch; older files lack it")
    cautions: list[str]
