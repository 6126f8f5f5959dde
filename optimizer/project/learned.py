"""What a measured instrument taught of the ones to come: a table that a project, and a layout's reference, may hold."""

from collections.abc import Sequence
from typing import Annotated, Literal, Self, get_args

import numpy as np
from pydantic import Field, model_validator

from optimizer.project.numbers import NotNegative, Number, Section

Made = Literal[
    "reed_volume_cm3", "temperature_degC", "all_holes_mm", "shrinkage_percent", "staple_bore_mm", "crook_bore_mm"
]
"""Kinds of deviations that instruments of one reed, staple, crook, player and printer have in common."""

Formula = Literal[
    "formula_bare_saddle", "formula_bare_flat", "formula_padded_saddle", "formula_padded_flat", "formula_bell_end",
    "formula_outside", "formula_walls",
]  # fmt: skip
"""Errors of formulas that hold for all elements of a kind, and so for any instrument: each in its stated deviation."""

Shared = Made | Formula
FORMULAS: tuple[Formula, ...] = get_args(Formula)
SHARED: tuple[Shared, ...] = (*get_args(Made), *FORMULAS)

LEAST_AIR_CM3 = 0.02
"""A reed has so much air at the least: an estimate."""


class Learned(Section):
    """How far what such instruments share lies from what their layouts say, as a measured one was found to be.

    numbers : mean and standard deviation by kind, in the unit that the kind ends in; of a formula in its own deviation
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

    def without(self, kinds: Sequence[str]) -> "Learned":
        """The same but for numbers of some kinds, which another instrument does not share."""
        left = [kind for kind in self.numbers if kind not in kinds]
        related = self.related(left)
        return Learned(
            source=self.source,
            numbers={kind: self.numbers[kind] for kind in left},
            correlation=[related[row, :row].tolist() for row in range(1, len(left))],
        )

    def sure(self, kinds: Sequence[Shared]) -> dict[str, float]:
        """One standard deviation of those of some kinds that are known."""
        return {kind: self.numbers[kind][1] for kind in kinds if kind in self.numbers}

    def related(self, kinds: Sequence[Shared]) -> np.ndarray:
        """Correlation of numbers of some kinds (n, n); what is not known goes with no other."""
        whole, names = np.eye(len(self.numbers)), list(self.numbers)
        for place, row in enumerate(self.correlation, start=1):
            whole[place, :place] = whole[:place, place] = row
        found = np.eye(len(kinds))
        known = [place for place, kind in enumerate(kinds) if kind in self.numbers]
        among = [names.index(kinds[place]) for place in known]
        found[np.ix_(known, known)] = whole[np.ix_(among, among)]
        return found
