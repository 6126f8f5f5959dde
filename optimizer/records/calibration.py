"""What a measured instrument taught of reed, air, bore, holes and formulas: the file that `fit` writes."""

from typing import Annotated, Literal

from pydantic import Field

from optimizer.project.learned import Learned
from optimizer.project.uncertainty import Uncertainty
from optimizer.records.files import SCHEMA_VERSION, Record


class Number(Record):
    """A number in which the instrument may differ from its layout.

    tier : in which it is fitted, from 1; unit : of all that follow
    prior_sd : one standard deviation before anything was measured
    mean, sd : how far it lies from the layout, and how sure that is
    left : its deviation now over that before, 1 where the measurement says nothing of it
    """

    name: str
    kind: str
    tier: int
    unit: str
    prior_sd: float
    mean: float
    sd: float
    left: float


class FittedNote(Record):
    """A line of the chart, measured or not.

    line : its place among the layout's notes, from 0
    designed_cents, designed_sd_cents : what the layout predicts in the air that it was played in, with its doubt
    cents, sd_cents : of this instrument by all that was measured, what the measurement has in common aside
    measured_cents, measured_sd_cents : null where it was not measured; at the layout's own A4
    weight : of it in the fit, 1 unless it lies far off
    alone_cents, alone_sd_cents : measured less what all others predict of it, and how far that may be from 0
    """

    line: int
    written: str
    fingering: str
    register_number: int
    alternate: bool
    designed_cents: float
    designed_sd_cents: float
    cents: float
    sd_cents: float
    measured_cents: float | None = None
    measured_sd_cents: float | None = None
    weight: float | None = None
    alone_cents: float | None = None
    alone_sd_cents: float | None = None


class Tier(Record):
    """What is left when so much is fitted: squares of residuals in their deviations, with how many would be expected
    and the chance of more; fair where that is large enough."""

    name: str
    numbers: int
    chi_squared: float
    expected: float
    chance: float
    fair: bool


class NextStep(Record):
    """A measurement that would shrink the doubt most after those before it: a note to play or a number to gauge, and
    the doubt of the main notes that is then left, root mean square [cents]."""

    kind: Literal["note", "gauge"]
    name: str
    doubt_cents: float


class CalibrationRecord(Record):
    """A measured instrument, fitted.

    fitted_on : what was measured, a line each
    layout, layout_mark : id of the layout that it was built from, and its mark
    stated : deviations before anything was measured
    tiers : what was tried, the last is what the figures are of
    before_chi_squared, before_chance : of the measured notes against what was stated alone
    covariance : of the numbers (P, P) in their deviations before, rows below the diagonal and on it
    learned : what other instruments of the same reed, player and printer take from it
    says, cannot_say, looks_like, outside : sentences
    """

    schema_name: Literal["holewright-calibration"] = "holewright-calibration"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    layout: str
    layout_mark: str
    fitted_on: list[str]
    stated: Uncertainty
    numbers: list[Number]
    covariance: Annotated[list[list[float]], Field(description="lower triangle, in deviations before")]
    notes: list[FittedNote]
    tiers: list[Tier]
    before_chi_squared: float
    before_chance: float
    learned: Learned
    says: list[str]
    cannot_say: list[str]
    looks_like: list[str]
    outside: list[str]
    remarks: list[str]
    doubt_cents: Annotated[float, Field(description="of the main notes now, root mean square")]
    next_best: list[NextStep] = Field(default_factory=list)
