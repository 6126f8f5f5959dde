"""What a run recommends of its front: a layout for each of four roles."""

from typing import Literal, TypeAlias

from optimizer.records.files import SCHEMA_VERSION, Record

FILE = "recommendation.json"
"""Its name in a run folder."""

REPORT = "report.html"
"""The page that opens with it, in a run folder."""

Role: TypeAlias = Literal["best compromise", "in tune", "in reach", "simplest to build"]


class PickRecord(Record):
    """A recommended layout, with every role that it fills.

    joints, plates, to_settle : how many it has; null where its file cannot be read
    against_compromise : its figures less those of the best compromise; empty for that one itself
    sentence : what it is best at, and what it costs against the best compromise
    """

    id: str
    file: str
    roles: list[Role]
    objectives: dict[str, float]
    joints: int | None
    plates: int | None
    to_settle: int | None
    against_compromise: dict[str, float]
    sentence: str


class RecommendationRecord(Record):
    """The layouts of a front to begin with, the best compromise first; none where no layout keeps every limit.

    of_layouts : how many the front has
    same_within : differences of objectives below these count as none
    rules : how each role is decided
    left_out : roles that nothing fills, and why
    """

    schema_name: Literal["holewright-recommendation"] = "holewright-recommendation"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    of_layouts: int
    same_within: dict[str, float]
    rules: dict[Role, str]
    picks: list[PickRecord]
    left_out: dict[Role, str]
