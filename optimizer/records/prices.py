"""What each limit of a layout costs: the file that `prices` writes."""

from typing import Annotated, Literal

from pydantic import Field

from optimizer.records.files import SCHEMA_VERSION, Record


class TriedStep(Record):
    """The layout solved again with a limit tightened by a step, in the `step_unit` of its price.

    dearer_cents : RMS gained, null where no layout near by keeps all limits
    came_in : limits that cost something only now; still_binds: whether the one tightened still costs something
    """

    step: float
    dearer_cents: float | None
    came_in: list[str]
    still_binds: bool


class MostMoved(Record):
    """The note whose error grows most, or shrinks most (below 0), by the longest step that found room."""

    written: str
    register_number: int
    grows_cents: float


class LimitPrice(Record):
    """What a limit costs: cents RMS for each `unit` that it is tightened, where the layout rests.

    side : constraint, or the end of a number's range
    by_multiplier : the slope at rest; by_solving: the slope there, drawn through the re-solves in which no other limit
        came into play, null without any; ratio: the first over the second
    """

    limit: str
    side: Literal["constraint", "low", "high"]
    sentence: str
    unit: str
    step_unit: Literal["mm", "cm3", "deg", "1"]
    by_multiplier: float
    by_solving: float | None
    ratio: float | None
    tried: list[TriedStep]
    most_moved: MostMoved | None
    remark: str


class PlateOff(Record):
    """A hole gone bare, solved again: RMS gained [cents]; null where no layout near by keeps all limits so."""

    hole: str
    dearer_cents: float | None


class PricesRecord(Record):
    """A layout, where it rests when solved for tuning alone, and what each of its limits costs, dearest first.

    saved_cents, cents : RMS as saved, and where it rests; kept: whether all limits are kept there; rests: whether it
        came to rest in the time it had, without which prices are rough
    free : limits that bind and cost nothing
    plates_off : holes gone bare, one at a time; plates_untried: those that there was no time for
    """

    schema_name: Literal["holewright-prices"] = "holewright-prices"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    layout: str
    project_file: str
    saved_cents: float
    cents: float
    kept: bool
    rests: bool = True
    least_cents: Annotated[float, Field(description="a limit that costs less for each unit is said to cost nothing")]
    prices: list[LimitPrice]
    free: list[str]
    plates_off: list[PlateOff]
    plates_untried: list[str] = Field(default_factory=list)
    seconds: float
