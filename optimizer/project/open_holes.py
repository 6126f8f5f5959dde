"""Which tone holes follow one another in a fingering: those that it leaves wholly open, one after the other.

Thumb holes, on the other side of the body, and vents, small by their purpose, are left aside; holes that are half open
or shut are passed over.
"""

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Protocol

THUMBS = ("LT", "RT")


class OpenHole(Protocol):
    """What it takes to know whether a hole counts."""

    @property
    def role(self) -> str:
        """`tone` or `vent`."""

    @property
    def by(self) -> str:
        """The finger on it, or `key`."""

    @property
    def rest(self) -> str:
        """`open` or `closed`."""


def open_neighbours(holes: Sequence[OpenHole], fingerings: Iterable[Sequence[float]]) -> list[tuple[int, int]]:
    """Pairs of holes, by their places in the list of holes, that any fingering leaves wholly open one after the other.

    Parameters
    ----------
    holes : (H,) in the project's order, from the bell up
    fingerings : (H,) each, 0 closed to 1 open: the main ones

    Returns
    -------
    (nearer the bell, nearer the reed) of each pair once, from the bell up
    """
    counted = _counted(holes)
    rows = ([number for number in counted if openness[number] == 1.0] for openness in fingerings)
    return sorted({pair for row in rows for pair in pairwise(row)})


def first_two_open(holes: Sequence[OpenHole], openness: Sequence[float]) -> tuple[int, int] | None:
    """The two wholly open holes nearest the reed, by their places in the list of holes; None where there are not two,
    or the fingering is forked: a hole between them that rests open is not wholly so.

    Parameters
    ----------
    holes : (H,) in the project's order, from the bell up
    openness : (H,) 0 closed to 1 open
    """
    counted = _counted(holes)
    row = [number for number in counted if openness[number] == 1.0]
    if len(row) < 2:
        return None
    second, first = row[-2:]
    between = (number for number in counted if second < number < first)
    return None if any(holes[number].rest == "open" for number in between) else (first, second)


def _counted(holes: Sequence[OpenHole]) -> list[int]:
    return [number for number, hole in enumerate(holes) if hole.role == "tone" and hole.by not in THUMBS]
