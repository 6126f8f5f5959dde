"""Reach: where each finger lands, how far apart, and how far beyond comfortable.

Fingers come to the body through the air, from knuckles that stand off it, so what spreads them is the straight line
between the pads and not the way along the surface. A touch is a point on the body's outer surface: position along it,
azimuth, and the body's radius there. The straight line has three parts: along the body, across it (the chord of the
azimuths), and outward (where the body widens). Ring and little finger are shorter and land toward the palm by
themselves; a pair's distance counts the way across from there. Touches of bare holes are the holes; a plate's touch
lies `touch_offset_mm` toward the bell. How high a touch stands above the body is left out.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array
from acoustics.duals import Dual, chained, value_of, with_rate
from optimizer.geometry.layout import Layout
from optimizer.project.fingers import FingerPair


def touch_position(layout: Layout) -> Array:
    """Position of each hole's touch along the body (H,) [mm]; a bare finger lies on its hole."""
    return layout.position_mm + layout.touch_offset_mm * layout.choice.plate


def straight_line(*ways: Array) -> Array:
    """Straight distance [mm] over ways at right angles to each other; smooth, and so 1e-6 mm at the least."""
    values = [value_of(way) for way in ways]
    length = np.sqrt(sum((value * value for value in values), 1e-12))
    links = [(value / length, way) for value, way in zip(values, ways, strict=True) if isinstance(way, Dual)]
    return chained(length, *links)


@with_rate(lambda way, size: way / size)
def smooth_size(way: Array) -> Array:
    """Size of a way [mm], smooth where it changes sign, and so 1e-3 mm at the least."""
    return np.sqrt(way * way + 1e-6)


def wrapped(turn_rad: np.ndarray) -> np.ndarray:
    """The same turn between -pi and pi."""
    return np.asarray(np.remainder(turn_rad + np.pi, 2.0 * np.pi) - np.pi)


@with_rate(lambda turn, size: np.sign(wrapped(turn)))
def size_of_turn(turn_rad: Array) -> Array:
    """Size of a turn [rad], the shorter way round."""
    return np.abs(wrapped(turn_rad))


@with_rate(lambda turn, chord: np.cos(0.5 * wrapped(turn)))
def chord_of(turn_rad: Array) -> Array:
    """Chord of a turn on a circle of radius 1, the shorter way round; negative anticlockwise."""
    return 2.0 * np.sin(0.5 * wrapped(turn_rad))


def reach_distance(along: Array, azimuth_rad: Array, upper: Array, lower: Array, natural: Array) -> Array:
    """Straight distance [mm] between two touches on a round body, less the way across that the fingers take anyway.

    Parameters
    ----------
    along : way along the body [mm]
    azimuth_rad : of the lower touch against the upper one, clockwise seen from the reed end
    upper, lower : body radius at each [mm]
    natural : how far round, clockwise, the lower finger lands by itself [mm]
    """
    across = np.sqrt(upper * lower) * chord_of(azimuth_rad)
    return straight_line(along, lower - upper, across - natural)


class PairWays(NamedTuple):
    """Ways from each pair's upper touch to its lower one (P,) [mm]: along the body, outward, and across it."""

    along: Array
    outward: Array
    across: Array


class PairTable:
    """Finger pairs as arrays (P,): what no layout changes of their reach."""

    def __init__(self, pairs: Sequence[FingerPair], azimuth_rad: np.ndarray) -> None:
        self.upper = np.array([pair.upper for pair in pairs], int)
        self.lower = np.array([pair.lower for pair in pairs], int)
        self.natural_mm = np.array([pair.natural_mm for pair in pairs])
        self.comfortable_mm = np.array([pair.comfortable_mm for pair in pairs])
        self.working_mm = np.array([pair.working_mm for pair in pairs])
        self._chord = chord_of(azimuth_rad[self.lower] - azimuth_rad[self.upper])

    def ways(self, touch_mm: Array, body_radius_mm: Array) -> PairWays:
        """Ways between touches at places (H,) on a body of radius (H,) at each hole [mm]."""
        upper, lower = body_radius_mm[self.upper], body_radius_mm[self.lower]
        along = touch_mm[self.lower] - touch_mm[self.upper]
        return PairWays(along, lower - upper, np.sqrt(upper * lower) * self._chord)

    def distances(self, ways: PairWays) -> Array:
        """What each finger pair must reach (P,) [mm]."""
        return straight_line(ways.along, ways.outward, ways.across - self.natural_mm)

    def strains(self, distances: Array) -> Array:
        """How far each pair (P,) goes beyond comfortable, 1 at the working limit; never negative."""
        leeway = np.maximum(self.working_mm - self.comfortable_mm, 0.1)
        return np.maximum(distances - self.comfortable_mm, 0.0) / leeway
