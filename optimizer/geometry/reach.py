"""Reach: where each finger lands, how far apart, and how far beyond comfortable.

Fingers come to the body through the air, from knuckles that stand off it, so what spreads them is the straight line
between the pads and not the way along the surface. A touch is a point on the body's outer surface: position along it,
azimuth, and the body's radius there. The straight line has three parts: along the body, across it (the chord of the
azimuths), and outward (where the body widens). Ring and little finger are shorter and land toward the palm by
themselves; a pair's distance counts the way across from there. Touches of bare holes are the holes; a plate's touch
lies `touch_offset_mm` toward the bell; in a row it lies where the row is. How high a touch stands above the body is
left out.
"""

from collections.abc import Callable, Sequence

import numpy as np

from acoustics.arrays import Array
from optimizer.geometry.fold import Fold
from optimizer.geometry.layout import Layout
from optimizer.geometry.space import Places, Ways, picked, straight_line
from optimizer.project.bends import down_at
from optimizer.project.fingers import FingerPair, row_places, row_span
from optimizer.project.model import Project


def touch_position(layout: Layout) -> Array:
    """Position of each hole's touch along the body (H,) [mm]; a bare finger lies on its hole."""
    return layout.position_mm + layout.touch_offset_mm * layout.choice.plate


def reach_distance(ways: Ways, natural: Array) -> Array:
    """Straight distance between two touches on a round body, less the way across that the fingers take anyway.

    Parameters
    ----------
    ways : from the upper touch to the lower one, of any shape [mm]
    natural : how far round, clockwise seen from the reed end, the lower finger lands by itself [mm]

    Returns
    -------
    what the fingers must reach [mm], of the same shape, 1e-6 at the least
    """
    return straight_line(ways.along, ways.outward, ways.across - natural)


class RowTable:
    """Places of rows as arrays (R,): what no layout changes of where their fingers lie."""

    def __init__(self, project: Project) -> None:
        rows, places = project.rows.by_side, row_places(project)
        self._row = np.array([list(rows).index(place.finger[0]) for place in places], int)
        down = {side: down_at(project.bends, 0.5 * sum(row_span(project, side))) for side in rows}
        self._along = np.array([down[place.finger[0]] * place.along_mm for place in places])
        self._across = np.array([place.across_mm for place in places])
        self._azimuth = np.radians([rows[place.finger[0]].azimuth_deg for place in places])

    def places(self, row_mm: Array, body_radius_at: Callable[[Array], Array]) -> Places:
        """Where the fingers lie (R,).

        Parameters
        ----------
        row_mm : where each row lies [mm]
        body_radius_at : the body's outer radius [mm] at places of any shape [mm]
        """
        position = row_mm[self._row] + self._along
        radius = body_radius_at(position)
        return Places(position, self._across / radius + self._azimuth, radius)


class PairTable:
    """Finger pairs as arrays (P,): what no layout changes of their reach."""

    def __init__(self, pairs: Sequence[FingerPair]) -> None:
        self.upper = np.array([pair.upper for pair in pairs], int)
        self.lower = np.array([pair.lower for pair in pairs], int)
        self.natural_mm = np.array([pair.natural_mm for pair in pairs])
        self.comfortable_mm = np.array([pair.comfortable_mm for pair in pairs])
        self.working_mm = np.array([pair.working_mm for pair in pairs])

    def ways(self, fingers: Places, fold: Fold) -> Ways:
        """Ways from each pair's upper touch to its lower one (P,) [mm]; fingers: places (T,) where fingers lie."""
        return fold.ways_between(picked(fingers, self.upper), picked(fingers, self.lower))

    def distances(self, ways: Ways) -> Array:
        """What each finger pair must reach (P,) [mm]."""
        return reach_distance(ways, self.natural_mm)

    def strains(self, distances: Array) -> Array:
        """How far each pair (P,) goes beyond comfortable, 1 at the working limit; never negative.

        Parameters
        ----------
        distances : (P,) what each must reach [mm]
        """
        leeway = np.maximum(self.working_mm - self.comfortable_mm, 0.1)
        return np.maximum(distances - self.comfortable_mm, 0.0) / leeway
