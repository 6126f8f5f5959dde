"""What a measured instrument taught of the ones to come: a table that a project, and a layout's reference, may hold."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from optimizer.project.numbers import NotNegative, Number, Section

Shared = Literal["reed_volume_cm3", "temperature_degC", "all_holes_mm"]
"""Kinds of deviations that instruments of one reed, player and printer have in common."""

LEAST_AIR_CM3 = 0.02
"""A reed has so much air at the least: an estimate."""


class Learned(Section):
    """How far what such instruments share lies from what their layouts say, as a measured one was found to be.

    numbers : mean and standard deviation by kind, in the unit that the kind ends in
    correlation : of any two of them, a row for each but the first with those before it
    """

    source: Annotated[str, Field(description="what was measured")] = ""
    numbers: dict[Shared, tuple[Number, NotNegative]] = Field(default_factory=dict)
    correlation: list[list[Number]] = Field(
        default_factory=list, description="rows below the diagonal, in the numbers' order"
    )

    @model_validator(mode="after")
    def _is_of_as_many(self) -> Self:
        if [len(row) for row in self.correlation] != list(range(1, len(self.numbers))):
            raise ValueError("correlation must have a row for each number but the first, each one entry longer")
        if any(abs(value) > 1.0 for row in self.correlation for value in row):
            raise ValueError("a correlation lies between -1 and 1")
        return self

    def lacks_air(self, volume_cm3: float) -> str | None:
        """What is wrong with a reed of so much air, by what was learned; None where some is left."""
        left = volume_cm3 + self.mean("reed_volume_cm3")
        if left >= LEAST_AIR_CM3:
            return None
        most = LEAST_AIR_CM3 - self.mean("reed_volume_cm3")
        return (
            f"a reed of {volume_cm3:g} cm3 would have {left:.2f} cm3 of air by what was learned; it must be drawn with "
            f"{most:.2f} cm3 at the least"
        )

    def mean(self, kind: Shared) -> float:
        """How far a number lies from what layouts say, 0 where nothing is known of it."""
        return self.numbers[kind][0] if kind in self.numbers else 0.0
