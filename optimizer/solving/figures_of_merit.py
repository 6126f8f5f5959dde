"""What a layout is judged by: residuals that a least-squares solver can follow, and the figures people read.

| objective | figure | unit |
|---|---|---|
| tuning | weighted root mean square of the notes' errors | cents |
| worst_note | largest error of any note with weight, alternates aside | cents |
| stretch | root mean square strain of the finger pairs, 100 at the working limit | % |
| unevenness | largest step between neighbouring open holes: `records/steps.py` | % |
| robustness | root mean square of what printing and drilling bring to the main notes; only where it is sought | cents |

Robustness has no residual: its own slope would be a second derivative, so a search for it varies the emphases of
stretch and unevenness and keeps what turns out robust.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from acoustics.arrays import Array
from acoustics.lattice import bends
from optimizer.geometry.cutoffs import hole_cutoffs
from optimizer.geometry.measured_layout import Geometry
from optimizer.project.chart import ChartNote
from optimizer.project.model import Hole, Project
from optimizer.project.objectives import WIDENING_COUNTS
from optimizer.project.open_holes import open_neighbours

SPACING_LEAST_MM = 1.0


def open_row(project: Project) -> np.ndarray:
    """Numbers (L,) of the tone holes at rest open, thumb aside, from the bell up: a note's lattice."""
    return np.array([i for i, hole in enumerate(project.holes) if _in_row(hole) and hole.rest == "open"], int)


def _in_row(hole: Hole) -> bool:
    return hole.role == "tone" and hole.by != "LT"


class Unevenness:
    """What a solver makes small for the largest step to be small: all steps between neighbouring open holes, and the
    bends of hole size and lattice cutoff along the scale, without which it finds layouts whose high notes do not speak.

    Parameters
    ----------
    project : a project
    notes : its chart lines, all ways to a note among them
    """

    def __init__(self, project: Project, notes: Sequence[ChartNote]) -> None:
        pairs = open_neighbours(project.holes, [note.openness for note in notes if not note.alternate])
        self._lower, self._upper = np.array(pairs, int).reshape(-1, 2).T
        self._row = open_row(project)
        shut = np.array([i for i, hole in enumerate(project.holes) if _in_row(hole) and hole.rest == "closed"], int)
        groups = [group for group in (self._row, shut) if group.size > 2]
        self._sized, self._cut = np.array([i for group in groups for i in group], int), self._row.size > 4
        sizes = [group.size for group in groups] + [self._row.size - 2] * self._cut
        ends = np.cumsum([0, *sizes])
        self._within = np.array([i for a, b in pairwise(ends) for i in range(a, b - 2)], int)

    def residuals(self, at: Geometry) -> Array:
        """Steps, then bends (E,) [1]."""
        return np.concatenate([self._steps(at), self._bends(at)])

    def _steps(self, at: Geometry) -> Array:
        """Logarithms (S,) of the hole nearer the reed over the one nearer the bell, times `objectives.WIDENING_COUNTS`
        where that is negative."""
        narrowing = np.log(at.layout.diameter_mm[self._upper] / at.layout.diameter_mm[self._lower])
        return np.maximum(narrowing, WIDENING_COUNTS * narrowing)

    def _bends(self, at: Geometry) -> Array:
        """Bends (B,) of hole diameter, among holes of one rest state, and of the cutoff of the holes at rest open:
        those of all sequences in a row, but where one ends and the next begins; see `lattice.bends`.
        """
        sizes = at.layout.diameter_mm[self._sized]
        row = np.concatenate([sizes, at.once(self.cutoffs)]) if self._cut else sizes
        return bends(row)[self._within] if self._within.size else np.zeros(0)

    def cutoffs(self, at: Geometry) -> Array:
        """Local cutoff [Hz] around each inner hole of the open row (L - 2,); spacing is the mean to both neighbours."""
        row = self._row
        spacing = 0.5 * (at.layout.position_mm[row[:-2]] - at.layout.position_mm[row[2:]])
        return hole_cutoffs(at, row[1:-1], np.maximum(spacing, SPACING_LEAST_MM))


def figures(errors: np.ndarray, weight: np.ndarray, main: np.ndarray, strain: np.ndarray) -> dict[str, float]:
    """The figures of merit that residuals give: all but unevenness.

    Parameters
    ----------
    errors : (N,) of the notes [cents]
    weight : (N,) how much each note counts
    main : (N,) True for lines that are no alternates
    strain : (P,) of the finger pairs, 1 at the working limit
    """
    judged = errors[main & (weight > 0)]
    return {
        "tuning": float(np.sqrt(np.sum(weight * errors**2) / np.sum(weight))),
        "worst_note": float(np.max(np.abs(judged))) if judged.size else 0.0,
        "stretch": 100.0 * root_mean_square(strain),
    }


def robustness(making_sd_cents: Sequence[float | None], alternate: Sequence[bool]) -> float:
    """Root mean square [cents] over the main notes of the standard deviation that making brings; silent notes, which
    have none, left out. A layout with one is not feasible anyway."""
    pairs = zip(making_sd_cents, alternate, strict=True)
    return root_mean_square(np.array([sd for sd, aside in pairs if sd is not None and not aside]))


def root_mean_square(values: np.ndarray) -> float:
    """Root mean square of values of any shape, 0 for none."""
    return float(np.sqrt(np.mean(np.square(values)))) if np.size(values) else 0.0
