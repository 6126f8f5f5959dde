"""A project's bore as straight lines between its points, in millimetres: radii anywhere, and the least and greatest
between two places. Before any scale of its diameters."""

import numpy as np

from acoustics.arrays import Array
from acoustics.duals import value_of
from optimizer.body import Points


class BoreLines:
    """Lines of a bore; the first and the last one go on beyond its ends. Two points at one place make a step."""

    def __init__(self, points_mm: Points) -> None:
        place, diameter = np.array(points_mm, float).T
        length, rise = np.diff(place), 0.5 * np.diff(diameter)
        self._slope = np.divide(rise, length, out=np.zeros(length.size), where=length > 0.0)
        self._start = 0.5 * diameter[:-1] - self._slope * place[:-1]
        self._joined = place[1:-1]
        self._place, self._radius = place[:-1], 0.5 * diameter[:-1]

    def radius_at(self, place: Array) -> Array:
        """Radius [mm] at places of any shape [mm]."""
        return self._on(self._line(place), place)

    def narrowest(self, low: Array, high: Array) -> Array:
        """Least radius [mm] between places low and high (J,) [mm]."""
        return self._extreme(low, high, np.minimum)

    def widest(self, low: Array, high: Array) -> Array:
        """Greatest radius [mm] between places low and high (J,) [mm]."""
        return self._extreme(low, high, np.maximum)

    def _line(self, place: Array) -> np.ndarray:
        line: np.ndarray = np.searchsorted(self._joined, value_of(place), side="right")
        return line

    def _on(self, line: np.ndarray, place: Array) -> Array:
        return place * self._slope[line] + self._start[line]

    def _extreme(self, low: Array, high: Array, pick: np.ufunc) -> Array:
        """At one end of each stretch, or at a point of the bore within it."""
        first, last = self._line(low), self._line(high)
        found = pick(self._on(first, low), self._on(last, high))
        if (last > first).any():
            low, high, ends = (value_of(side)[..., None] for side in (low, high, found))
            within = (self._place > low) & (self._place < high)
            found = pick(found, pick.reduce(np.where(within, self._radius, ends), axis=-1))
        return found
