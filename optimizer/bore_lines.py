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
        line = np.searchsorted(self._joined, value_of(place), side="right")
        return place * self._slope[line] + self._start[line]

    def narrowest(self, low: Array, high: Array) -> Array:
        """Least radius [mm] between places low and high, any shape [mm]."""
        ends = np.minimum(self.radius_at(low), self.radius_at(high))
        inside = self._inside(low, high)
        return np.minimum(ends, np.min(np.where(inside, self._radius, np.inf), axis=-1)) if inside.any() else ends

    def widest(self, low: Array, high: Array) -> Array:
        """Greatest radius [mm] between places low and high, any shape [mm]."""
        ends = np.maximum(self.radius_at(low), self.radius_at(high))
        inside = self._inside(low, high)
        return np.maximum(ends, np.max(np.where(inside, self._radius, 0.0), axis=-1)) if inside.any() else ends

    def _inside(self, low: Array, high: Array) -> np.ndarray:
        """Which points of the bore lie between (..., K)."""
        low, high = (np.asarray(value_of(side))[..., None] for side in (low, high))
        return (self._place > low) & (self._place < high)
