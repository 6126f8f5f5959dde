"""A bore as straight lines between its points, in millimetres: radii anywhere, and the least and greatest between two
places, with slopes by what moves the points."""

import numpy as np

from acoustics.arrays import Array
from acoustics.duals import value_of


class BoreLines:
    """Lines of a bore; the first and the last one go on beyond its ends. Two points at one place make a step.

    Attributes
    ----------
    place, radius : of its points (K,) [mm]
    slope, start : of the line after each point but the last, and its radius carried back to place 0 (K - 1,) [1, mm]
    """

    def __init__(self, place_mm: Array, diameter_mm: Array) -> None:
        self.place, self.radius = place_mm, 0.5 * diameter_mm
        length, rise = (values[1:] - values[:-1] for values in (self.place, self.radius))
        stands = value_of(length) > 0.0
        self.slope = np.where(stands, rise / np.where(stands, length, 1.0), 0.0)
        self.start = self.radius[:-1] - self.slope * self.place[:-1]
        self._joined = value_of(self.place)[1:-1]

    @property
    def still(self) -> "BoreLines":
        """The same lines without slopes."""
        return BoreLines(value_of(self.place), 2.0 * value_of(self.radius))

    def line_at(self, place: Array) -> np.ndarray:
        """Number of the line at places, of the shape of place [mm]."""
        found: np.ndarray = self._joined.searchsorted(value_of(place), side="right")
        return found

    def radius_at(self, place: Array) -> Array:
        """Radius [mm] at places, of the shape of place [mm]."""
        line = self.line_at(place)
        return place * self.slope[line] + self.start[line]

    def narrowest(self, low: Array, high: Array) -> Array:
        """Least radius [mm] between places low and high (J,) [mm]."""
        return -self._widest(low, high, -1.0)

    def widest(self, low: Array, high: Array) -> Array:
        """Greatest radius [mm] between places low and high (J,) [mm]."""
        return self._widest(low, high, 1.0)

    def _widest(self, low: Array, high: Array, sign: float) -> Array:
        """Greatest radius times sign: at an end, or at a point of the bore within."""
        ends = np.maximum(sign * self.radius_at(low), sign * self.radius_at(high))
        if not np.any(self.line_at(high) > self.line_at(low)):
            return ends
        place, first, last = (value_of(values) for values in (self.place, low, high))
        within = (place > first[:, None]) & (place < last[:, None])
        return np.max(np.where(within, sign * self.radius, ends[:, None]), axis=1)
