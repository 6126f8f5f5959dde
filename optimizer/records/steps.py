"""The largest step between neighbouring holes of a layout: how uneven it is, and where."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from optimizer.project.objectives import WIDENING_COUNTS
from optimizer.project.open_holes import open_neighbours

if TYPE_CHECKING:
    from optimizer.records.layout import HoleRecord, NoteRecord


class Step(NamedTuple):
    """From one hole to the next toward the bell.

    Attributes
    ----------
    from_hole, to_hole : ids; the second is the nearer one to the bell
    from_mm, to_mm : their diameters
    """

    from_hole: str
    to_hole: str
    from_mm: float
    to_mm: float

    @property
    def narrows(self) -> bool:
        """Whether the hole nearer the bell is the narrower one."""
        return self.to_mm < self.from_mm

    @property
    def percent(self) -> float:
        """How much narrower the narrower hole is, of the wider one [%]."""
        return 100.0 * abs(self.from_mm - self.to_mm) / max(self.from_mm, self.to_mm)

    @property
    def counted_percent(self) -> float:
        """What it counts as [%]: whole where it narrows toward the bell, half where it widens."""
        return self.percent * (1.0 if self.narrows else WIDENING_COUNTS)


def largest_step(holes: "Sequence[HoleRecord]", notes: "Sequence[NoteRecord]") -> Step | None:
    """The step that counts most between holes that a main fingering leaves wholly open one after the other; None where
    none leaves two open.

    Parameters
    ----------
    holes : of a layout (H,), from the bell up
    notes : its chart lines
    """
    pairs = open_neighbours(holes, [note.openness for note in notes if not note.alternate])
    steps = [
        Step(holes[upper].id, holes[lower].id, holes[upper].diameter_mm, holes[lower].diameter_mm)
        for lower, upper in pairs
    ]
    return max(steps, key=lambda step: step.counted_percent, default=None)


def unevenness(holes: "Sequence[HoleRecord]", notes: "Sequence[NoteRecord]") -> float:
    """What the largest step counts as [%], 0 where there is none; see `largest_step`."""
    step = largest_step(holes, notes)
    return 0.0 if step is None else step.counted_percent
