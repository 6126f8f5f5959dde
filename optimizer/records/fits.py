"""Files of fits side by side: one project under several hands, and one project with single reliefs."""

from typing import Literal

from pydantic import Field

from optimizer.records.files import SCHEMA_VERSION, Record
from optimizer.records.layout import LayoutRecord


class FitSummary(Record):
    """One fitted layout: file (empty when none was written), figures, finger holes under a plate and bare ones, what
    is wrong and which limits bind."""

    file: str
    objectives: dict[str, float]
    feasible: bool
    wrong_notes: int
    violation_mm: float
    plates: list[str]
    bare: list[str]
    binds: list[str]


class HandEntry(Record):
    """A project under one hand.

    gauged_on : the day its pairs were gauged; empty where they are estimates
    best : the fit nearest in tune; fewest_plates : the best of those with the fewest plates; null when lengths alone
    rule the hand out, so that nothing was solved. Where no layout was found to keep all limits, `problems` says which
    conflict, and best is the one that comes nearest
    dearer_cents : how much further out of tune the best fit is than that of the hand that costs least
    """

    hand: str
    gauged_on: str = ""
    file: str
    proved_impossible: bool
    problems: list[str]
    best: FitSummary | None
    fewest_plates: FitSummary | None
    dearer_cents: float | None = None
    solves: int

    @property
    def feasible(self) -> bool:
        """Whether a layout fits this hand."""
        return self.best is not None and self.best.feasible


class HandsRecord(Record):
    """One project under several hands. covers_open: whether every finger hole might take a plate or go bare."""

    schema_name: Literal["holewright-hands"] = "holewright-hands"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    project_file: str
    covers_open: bool
    seconds: float
    hands: list[HandEntry]
    cautions: list[str]


class ReliefEntry(Record):
    """One way out: whether a layout meets everything with it, and its tuning against that of the project as it is.

    tried : false when there was no time for it; fit and cost_cents are then null. cost_cents: below 0 it is a gain
    relieved : limits of the hand that bound before and bind no more
    """

    name: str
    sentence: str
    tried: bool
    fit: FitSummary | None = None
    cost_cents: float | None = None
    relieved: list[str] = Field(default_factory=list)

    @property
    def feasible(self) -> bool:
        """Whether it leads to a layout that meets everything."""
        return self.fit is not None and self.fit.feasible


class ReliefsRecord(Record):
    """A project as it is, the limits of the hand that bind or are broken, and ways out by what they cost.

    made_for : mark of the whole project, its hand included, and of the program; kinds : those tried, empty for all
    """

    schema_name: Literal["holewright-reliefs"] = "holewright-reliefs"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    project_file: str
    hand: str
    made_for: str = ""
    kinds: list[str] = Field(default_factory=list)
    as_it_is: FitSummary
    hand_limits: list[str]
    reliefs: list[ReliefEntry]
    seconds: float
    cautions: list[str]

    @property
    def untried(self) -> list[str]:
        """Ways out that there was no time for."""
        return [entry.name for entry in self.reliefs if not entry.tried]


def summary_of(record: LayoutRecord, file: str = "") -> FitSummary:
    """What a layout comes to, short."""
    fingers = [hole for hole in record.holes if hole.by != "key"]
    return FitSummary(
        file=file,
        objectives={name: round(value, 4) for name, value in record.objectives.items()},
        feasible=record.feasible,
        wrong_notes=record.wrong_notes,
        violation_mm=record.violation_mm,
        plates=[hole.id for hole in fingers if hole.cover == "plate"],
        bare=[hole.id for hole in fingers if hole.cover == "finger"],
        binds=[found.name for found in record.binds],
    )
