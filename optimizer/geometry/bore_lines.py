"""A project's bore as straight lines between its points, in millimetres: radii anywhere, and the least and greatest
between two places."""

from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array, Floats
from acoustics.duals import chained, value_of
from optimizer.project.body import Points


class Extreme(NamedTuple):
    """Least or greatest radius (J,) [mm] of stretches of a bore, and how it changes as either end moves (J,) [1]."""

    radius: Floats
    by_low: Floats
    by_high: Floats


class BoreLines:
    """Lines of a bore; the first and the last one go on beyond its ends. Two points at one place make a step."""

    def __init__(self, points_mm: Points) -> None:
        place, diameter = np.array(points_mm, float).T
        length, rise = np.diff(place), 0.5 * np.diff(diameter)
        self._slope = np.divide(rise, length, out=np.zeros(length.size), where=length > 0.0)
        self._start = 0.5 * diameter[:-1] - self._slope * place[:-1]
        self._joined = place[1:-1]
        self._place, self._radius = place[:-1], 0.5 * diameter[:-1]

    def radius_at(self, place: Array, scale: Array | float) -> Array:
        """Radius [mm] at places, of the shape of place.

        Parameters
        ----------
        place : of any shape [mm]
        scale : what the bore's diameters are multiplied by, ()
        """
        line = self._joined.searchsorted(value_of(place), side="right")
        return place * (scale * self._slope[line]) + scale * self._start[line]

    def narrowest(self, low: Array, high: Array) -> Array:
        """Least radius [mm] between places low and high (J,) [mm]."""
        return self._moved(low, high, False)

    def widest(self, low: Array, high: Array) -> Array:
        """Greatest radius [mm] between places low and high (J,) [mm]."""
        return self._moved(low, high, True)

    def _moved(self, low: Array, high: Array, widest: bool) -> Array:
        found = self.extreme(value_of(low), value_of(high), widest)
        return chained(found.radius, (found.by_low, low), (found.by_high, high))

    def extreme(self, low: Floats, high: Floats, widest: bool) -> Extreme:
        """The widest or the narrowest place of each stretch: an end, or a point of the bore within.

        Parameters
        ----------
        low, high : (J,) ends of the stretches [mm]
        widest : False for the narrowest
        """
        first, last = (self._joined.searchsorted(end, side="right") for end in (low, high))
        by_low, by_high = self._slope[first], self._slope[last]
        at_low, at_high = low * by_low + self._start[first], high * by_high + self._start[last]
        lower = (at_low > at_high) == widest
        found = Extreme(np.where(lower, at_low, at_high), by_low * lower, by_high * ~lower)
        return self._with_points(found, low, high, widest) if (last > first).any() else found

    def _with_points(self, ends: Extreme, low: Floats, high: Floats, widest: bool) -> Extreme:
        """The same where a point of the bore between the ends may lie further out than either."""
        pick = np.maximum if widest else np.minimum
        within = (self._place > low[:, None]) & (self._place < high[:, None])
        radius = pick.reduce(np.where(within, self._radius, ends.radius[:, None]), axis=1)
        still = radius == ends.radius
        return Extreme(radius, ends.by_low * still, ends.by_high * still)
