"""What every table of a project or hand file is made of: kinds of numbers, and the base that refuses unknown keys."""

from typing import Annotated, Any, Self

from pydantic import AfterValidator, BeforeValidator, ConfigDict, Field

from optimizer.project.built_late import BuiltLate


def as_range(value: Any) -> Any:
    """A single number as the range from itself to itself."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return (value, value)
    return value


def ordered(value: Any) -> Any:
    """A range whose ends are the right way round.

    Raises
    ------
    ValueError
        when they are not
    """
    low, high = value
    if low > high:
        raise ValueError(f"low <= high must hold, but got [{low:g}, {high:g}]; swap the two numbers")
    return value


Positive = Annotated[float, Field(strict=True, gt=0.0)]
NotNegative = Annotated[float, Field(strict=True, ge=0.0)]
Number = Annotated[float, Field(strict=True)]
COUNT_MOST = 16
Count = Annotated[int, Field(strict=True, ge=0, le=COUNT_MOST)]
Interval = Annotated[tuple[Number, Number], BeforeValidator(as_range)]
"""[low, high] in any order, for what has its own say on that."""

Span = Annotated[Interval, AfterValidator(ordered)]
"""What the search may choose: a range [low, high], or one number for the range from itself to itself."""

MM_IN = {"mm": 1.0, "cm": 10.0, "in": 25.4, "m": 1000.0}
"""Millimetres in other units that lengths are written in."""


class Section(BuiltLate):
    """Base of every table in a project file."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    @classmethod
    def left_out(cls) -> Self:
        """The table of a file that has none: its defaults, which are sound as they are and need nothing that reads."""
        return cls.model_construct()
