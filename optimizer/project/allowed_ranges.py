"""Between what a number must lie: one place for command line, project file and service. Light, as help reads it."""

from typing import NamedTuple


class Bounds(NamedTuple):
    """The range of a number: from `least`, or more than `above`, to `most`, in `unit`; None where it has no end.

    ceiling : in place of `most`, an end so far out that it is told only to who goes beyond it
    """

    least: float | None = None
    most: float | None = None
    above: float | None = None
    ceiling: float | None = None
    unit: str = ""

    @property
    def highest(self) -> float | None:
        """The largest number that will do."""
        return self.ceiling if self.most is None else self.most

    def wrong(self, value: float) -> str | None:
        """What is wrong with a number, in words that go on from its name; not-a-number is never right."""
        high_enough = value >= self.least if self.least is not None else self.above is None or value > self.above
        if high_enough and (self.highest is None or value <= self.highest):
            return None
        must = f"be at most {plain(self.ceiling)}" if high_enough and self.ceiling is not None else self._range()
        return " ".join(["must", must, *([self.unit] if self.unit else [])]) + f", but got {plain(value)}"

    def _range(self) -> str:
        low = f"be more than {plain(self.above)}" if self.least is None else f"be at least {plain(self.least)}"
        if self.most is None:
            return low
        if self.least is None:
            return f"{low} and at most {plain(self.most)}"
        return f"{'lie' if self.unit else 'be'} between {plain(self.least)} and {plain(self.most)}"


def plain(value: float | None) -> str:
    """A number as one would write it: 10000 and 0.1."""
    return f"{value:.12g}"


MINUTES = Bounds(above=0, ceiling=1_000_000)
"""How long a search may take, and how long without a gain."""

TRIALS = Bounds(least=1, ceiling=10**9)
WORKERS = Bounds(least=1, ceiling=10_000)
SEED = Bounds(least=0, ceiling=2**32 - 1)
A4_HZ = Bounds(least=380, most=480, unit="Hz")
AIR_DEGC = Bounds(least=0, most=40, unit="degC")
AIR_HUMIDITY = Bounds(least=0, most=100)
PLANE_MM = Bounds(least=0, most=10_000)
"""Where an impedance is measured, from the reed end."""
