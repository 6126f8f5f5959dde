"""Limits of a bore that numbers shape: neither too slim nor too steep, and no sharp bend from one line to the next.

Only what the numbers move is held to them, and what the project's own points have is never too much. Tapers are told in
millimetres of diameter over a line's length, bends in millimetres of radius over `BEND_MM`.
"""

import numpy as np

from acoustics.arrays import Array
from optimizer.geometry.measured_layout import Geometry, fixed_of
from optimizer.limits.family import NO_FAMILY, Constraint, Family
from optimizer.project.model import Project

BEND_MM = 50.0
STILL = 1e-9
"""A taper that changes by less is the same [1]."""


def tapers(project: Project) -> Family:
    """Lines of the bore, the bell's aside, that widen enough and not too much; those that the points have slimmer only
    must not narrow."""
    if not project.bore.shaped_by:
        return NO_FAMILY
    shape = fixed_of(project).shape
    own = shape.own_lines
    index = np.flatnonzero(np.ptp(shape.slopes[:, : own.slope.size], axis=0) > STILL)
    slim, steep = np.tan(np.radians(project.bore.half_angle_limits_deg))
    least = np.where(own.slope >= slim, slim, np.minimum(own.slope, 0.0))[index]
    most = np.maximum(own.slope, steep)[index]
    items = [
        Constraint(f"bore_{kind}.{n + 1}", f"the bore from {own.place[n]:g} to {own.place[n + 1]:g} mm widens with a "
        f"half angle of {word} {_deg(one):.2g} degrees")
        for kind, word, ends in (("slim", "at least", least), ("steep", "at most", most))
        for n, one in zip(index, ends, strict=True)
    ]  # fmt: skip

    def values(at: Geometry) -> Array:
        slope = at.bore.slope[index]
        length = 2.0 * (at.bore.place[index + 1] - at.bore.place[index])
        return np.concatenate([(least - slope) * length, (slope - most) * length])

    return items, values


def bends(project: Project) -> Family:
    """Half angles of lines of the bore that meet, not too far apart."""
    if not project.bore.shaped_by:
        return NO_FAMILY
    shape = fixed_of(project).shape
    changes = np.diff(shape.slopes, axis=1)
    index = np.flatnonzero(np.ptp(changes, axis=0) > STILL)
    places = shape.own_lines.place[1:-1]
    own = np.zeros(changes.shape[1])
    own[: places.size] = np.abs(np.diff(shape.own_lines.slope))
    most = np.maximum(own, np.tan(np.radians(project.bore.angle_step_max_deg)))[index]
    where = [f"at {places[n]:g} mm" if n < places.size else f"at line {n - places.size + 1} of the bell" for n in index]
    items = [
        Constraint(f"bore_bend.{n + 1}", f"the bore's half angle changes by at most {_deg(one):.2g} degrees {place}")
        for n, one, place in zip(index, most, where, strict=True)
    ]
    return items, lambda at: (np.abs(at.bore.slope[index + 1] - at.bore.slope[index]) - most) * BEND_MM


def _deg(slope: float) -> float:
    return float(np.degrees(np.arctan(slope)))
