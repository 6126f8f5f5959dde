"""Outlines of bodies of revolution: lines of points (place, radius) [mm] along an axis, in order; two points at one
place make a step."""

from itertools import pairwise
from typing import TypeAlias

Outline: TypeAlias = tuple[tuple[float, float], ...]


def radius_at(line: Outline, place: float, before: bool = False) -> float:
    """Radius at a place [mm], at a step that beyond it; where the line has ended, that of its end.

    Parameters
    ----------
    line : along the axis
    place : along the axis [mm]
    before : whether at a step that before it is meant
    """
    if place <= line[0][0]:
        at_start = [r for z, r in line if z == line[0][0]]
        return at_start[0] if before or place < line[0][0] else at_start[-1]
    for (z0, r0), (z1, r1) in pairwise(line):
        if z0 < z1 and (z0 < place <= z1 if before else z0 <= place < z1):
            return r0 + (r1 - r0) * (place - z0) / (z1 - z0)
    return line[-1][1]


def part(line: Outline, low: float, high: float) -> Outline:
    """What lies between two places [mm], both included."""
    inside = [(z, r) for z, r in line if low < z < high]
    return ((low, radius_at(line, low)), *inside, (high, radius_at(line, high, before=True)))


def widened(line: Outline, by: float) -> Outline:
    """A line with so much more radius [mm]."""
    return tuple((z, r + by) for z, r in line)


def outer(first: Outline, second: Outline) -> Outline:
    """The greater of two lines over the span of the first, which the second has too."""
    start, end = first[0][0], first[-1][0]
    places = sorted({z for z, _ in (*first, *second) if start <= z <= end})
    points: list[tuple[float, float]] = []
    for low, high in pairwise(places):
        ends = [(radius_at(line, low), radius_at(line, high, before=True)) for line in (first, second)]
        (a0, a1), (b0, b1) = ends
        points.append((low, max(a0, b0)))
        if (a0 - b0) * (a1 - b1) < 0.0:
            share = (a0 - b0) / (a0 - b0 - a1 + b1)
            points.append((low + share * (high - low), a0 + share * (a1 - a0)))
        points.append((high, max(a1, b1)))
    return tidy(points)


def tidy(points: list[tuple[float, float]]) -> Outline:
    """Points without repeats, and without those on the straight line between their neighbours."""
    kept: list[tuple[float, float]] = []
    for point in points:
        if kept and _near(kept[-1], point):
            continue
        while len(kept) > 1 and _straight(kept[-2], kept[-1], point):
            kept.pop()
        kept.append(point)
    return tuple(kept)


NEAR_MM = 1e-9


def _near(first: tuple[float, float], second: tuple[float, float]) -> bool:
    return abs(first[0] - second[0]) < NEAR_MM and abs(first[1] - second[1]) < NEAR_MM


def _straight(first: tuple[float, float], middle: tuple[float, float], last: tuple[float, float]) -> bool:
    """Whether the middle one lies on the line between the others, and not beyond them."""
    (z0, r0), (z1, r1), (z2, r2) = first, middle, last
    across = (z1 - z0) * (r2 - r0) - (z2 - z0) * (r1 - r0)
    along = (z1 - z0) * (z2 - z1) + (r1 - r0) * (r2 - r1)
    return abs(across) < NEAR_MM and along >= 0.0
