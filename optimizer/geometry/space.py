"""Places on a round body, the points in space that they are, and how far apart these lie.

| number of a place | code | unit |
|---|---|---|
| along the centre line, from the reed end | position | mm |
| round it, from the front, clockwise seen from the reed end | azimuth | rad |
| above the bore's axis: the body's outer radius, and what stands on it | height | mm |

What is asked in a straight line is asked of a place's points: `points` for a straight body, `fold.Fold` for any. A way
along the surface is no distance in space: it goes by the body's own
numbers. All works alike on numbers, arrays and duals, with slopes.
"""

from typing import NamedTuple, TypeVar

import numpy as np

from acoustics.arrays import Array
from acoustics.duals import Dual, chained, value_of, with_rate


class Places(NamedTuple):
    """Places as the body's own numbers, of shapes that broadcast; see the table of this module."""

    position: Array
    azimuth: Array
    height: Array


class Points(NamedTuple):
    """Points in space [mm], of shapes that broadcast: x along the axis, y toward the front, z toward the
    player's right."""

    x: Array
    y: Array
    z: Array


class Ways(NamedTuple):
    """Parts of the straight line between two places [mm], each at right angles to the others: along the body, outward
    where it widens, and across it, positive clockwise."""

    along: Array
    outward: Array
    across: Array


Some = TypeVar("Some", Places, Points)


def points(places: Places) -> Points:
    """Where places of a straight body lie in space."""
    height, azimuth = places.height, places.azimuth
    return Points(places.position, height * np.cos(azimuth), height * np.sin(azimuth))


def distance(first: Points, second: Points) -> Array:
    """Straight distance between points [mm], in broadcast shape; smooth, and so 1e-6 mm at the least."""
    return straight_line(*(there - here for here, there in zip(first, second, strict=True)))


def ways_between(first: Places, second: Places) -> Ways:
    """The straight line from one place to another in parts, in broadcast shape; see `Ways`.

    Beside `points`, as fingers take part of the way across by themselves: which part of a line goes across the body
    its ends do not tell, and from them it would have no slope half way round. Squares add up to that of the points'
    distance, by the law of cosines: a^2 + b^2 - 2 a b cos t = (b - a)^2 + 4 a b sin^2(t / 2).
    """
    across = np.sqrt(first.height * second.height) * chord_of(second.azimuth - first.azimuth)
    return Ways(second.position - first.position, second.height - first.height, across)


def picked(some: Some, index: np.ndarray | slice) -> Some:
    """Some of the places or points (n,), by an index or a slice."""
    return type(some)(*(values[index] for values in some))


def joined(first: Places, second: Places) -> Places:
    """All places of both, (m,) and (n,), as (m + n,)."""
    return Places(*(np.concatenate(values) for values in zip(first, second, strict=True)))


def straight_line(*ways: Array) -> Array:
    """Straight distance [mm] over ways of one shape at right angles to each other; smooth, and so 1e-6 mm at the least.

    Parameters
    ----------
    ways : in as many directions [mm]
    """
    values = [value_of(way) for way in ways]
    length = np.sqrt(sum((value * value for value in values), 1e-12))
    links = [(value / length, way) for value, way in zip(values, ways, strict=True) if isinstance(way, Dual)]
    return chained(length, *links)


@with_rate(lambda way, size: way / size)
def smooth_size(way: Array) -> Array:
    """Size of a way [mm] of any shape, smooth where it changes sign, and so 1e-3 mm at the least."""
    return np.sqrt(way * way + 1e-6)


def wrapped(turn_rad: np.ndarray) -> np.ndarray:
    """The same turn [rad] of any shape, between -pi and pi."""
    return np.asarray(np.remainder(turn_rad + np.pi, 2.0 * np.pi) - np.pi)


@with_rate(lambda turn, shorter: 1.0)
def shorter_way(turn_rad: Array) -> Array:
    """The same turn [rad] of any shape, between -pi and pi."""
    return wrapped(turn_rad)


@with_rate(lambda turn, size: np.sign(wrapped(turn)))
def size_of_turn(turn_rad: Array) -> Array:
    """Size of a turn [rad] of any shape, the shorter way round."""
    return np.abs(wrapped(turn_rad))


@with_rate(lambda turn, chord: np.cos(0.5 * wrapped(turn)))
def chord_of(turn_rad: Array) -> Array:
    """Chord of a turn [rad] of any shape on a circle of radius 1, the shorter way round; negative anticlockwise."""
    return 2.0 * np.sin(0.5 * wrapped(turn_rad))


def turn_of_chord(chord_mm: Array, height_mm: Array, most: float) -> Array:
    """Turn [rad] that a chord takes, in broadcast shape.

    Parameters
    ----------
    chord_mm : its length [mm]
    height_mm : of its ends above the axis [mm]
    most : share of the diameter that a chord counts up to
    """
    return 2.0 * np.arcsin(np.minimum(0.5 * chord_mm / height_mm, most))


def turned(place: Places, azimuth_rad: Array) -> Array:
    """Way round the body from places to azimuths [mm], along its surface, the shorter way, in broadcast shape.

    Parameters
    ----------
    place : where it begins
    azimuth_rad : where it ends [rad]
    """
    return size_of_turn(azimuth_rad - place.azimuth) * place.height


def around(first: Places, second: Places) -> Array:
    """Way round the body between places [mm], along its surface, the shorter way, in broadcast shape."""
    return size_of_turn(second.azimuth - first.azimuth) * (0.5 * (first.height + second.height))
