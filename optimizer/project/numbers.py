"""What every table of a project or hand file is made of: kinds of numbers, and the base that refuses unknown keys."""

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator


def as_range(value: Any) -> Any:
    """A single number as the range from itself to itself."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return (value, value)
    return value


def _ordered(value: tuple[float, float]) -> tuple[float, float]:
    if value[0] > value[1]:
        raise ValueError(f"low <= high must hold, but got [{value[0]:g}, {value[1]:g}]; swap the two numbers")
    return value


Positive = Annotated[float, Field(strict=True, gt=0.0)]
NotNegative = Annotated[float, Field(strict=True, ge=0.0)]
Number = Annotated[float, Field(strict=True)]
Count = Annotated[int, Field(strict=True, ge=0, le=12)]
Span = Annotated[tuple[Number, Number], BeforeValidator(as_range)]


class Section(BaseModel):
    """Base of every table in a project file."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    @model_validator(mode="after")
    def _spans_are_ordered(self) -> "Section":
        for name, value in self:
            if isinstance(value, tuple) and len(value) == 2 and all(isinstance(item, float) for item in value):
                try:
                    _ordered(value)
                except ValueError as error:
                    raise ValueError(f"{name}: {error}") from None
        return self
