"""Which lengths to cut from which bar: the longest first, each into the first bar that still takes it.

First fit decreasing takes at most 11/9 of the fewest bars and 6/9 of one more (Dosa 2007, from memory).

| figure | standing |
|---|---|
| bars of 330 and 1000 mm | common practice, no source |
| 1 mm lost with each cut | common practice, no source |
"""

from collections.abc import Iterable
from typing import NamedTuple

BARS_MM = (330.0, 1000.0)
KERF_MM = 1.0


class Length(NamedTuple):
    """A length to cut [mm], and what it is for."""

    mm: float
    goes_to: str


class Bar(NamedTuple):
    """A bar [mm], and the lengths that are cut from it, in order."""

    mm: float
    cuts: list[Length]

    @property
    def left_mm(self) -> float:
        """What is left of it: each cut takes its length and the saw's."""
        return self.mm - sum(cut.mm + KERF_MM for cut in self.cuts)


def bar_for(longest_mm: float) -> float:
    """The shortest bar that takes a length [mm]; for one longer than all, a bar as long as that and the cut."""
    return next((bar for bar in BARS_MM if longest_mm + KERF_MM <= bar), longest_mm + KERF_MM)


def cut_up(lengths: Iterable[Length]) -> list[Bar]:
    """Bars of one kind for some lengths: all as long as the longest of them asks for."""
    sorted_by_length = sorted(lengths, key=lambda length: (-length.mm, length.goes_to))
    bars: list[Bar] = []
    for length in sorted_by_length:
        taking = [bar for bar in bars if bar.left_mm >= length.mm + KERF_MM]
        if not taking:
            taking = [Bar(bar_for(sorted_by_length[0].mm), [])]
            bars += taking
        taking[0].cuts.append(length)
    return bars
