"""Geometry that several limits share: radii at the holes, close pairs, and what a limit is made of."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from acoustics.bore import Bore, radius_at
from optimizer.hand import space_distance
from optimizer.keywork import pad_sizes
from optimizer.layout import Layout
from optimizer.project import Project


@dataclass(frozen=True)
class Constraint:
    """One inequality: a stable name such as `web.h05-h06` and a sentence saying what must hold."""

    name: str
    sentence: str


Values: TypeAlias = Callable[[Layout], Array]
Family: TypeAlias = tuple[list[Constraint], Values]
"""Constraints of one kind, and the function that gives all their values (m,) [mm], feasible at <= 0."""

NO_FAMILY: Family = ([], lambda layout: jnp.zeros(0))


def bore_radius_at(position_mm: Array, layout: Layout, project: Project) -> Array:
    """Bore radius [mm] at positions of any shape."""
    points = np.array(project.bore.points_mm)
    radius = jnp.asarray(points[:, 1] / 2) * layout.bore_scale
    return radius_at(Bore(jnp.asarray(points[:, 0]), radius), position_mm)


def body_radius_at(position_mm: Array, layout: Layout, project: Project) -> Array:
    """Outer radius of the body [mm] at positions of any shape."""
    return bore_radius_at(position_mm, layout, project) + project.bore.wall_mm


def bore_radius_mm(layout: Layout, project: Project) -> Array:
    """Bore radius at each hole (H,) [mm]."""
    return bore_radius_at(layout.position_mm, layout, project)


def body_radius_mm(layout: Layout, project: Project) -> Array:
    """Outer radius of the body at each hole (H,) [mm]."""
    return bore_radius_mm(layout, project) + project.bore.wall_mm


def near_pairs(project: Project) -> list[tuple[int, int]]:
    """Index pairs of holes that could come close along the body."""
    holes, keywork = project.holes, project.keywork
    widest = np.array([hole.diameter_mm[1] * hole.top_ratio for hole in holes])
    cups = np.maximum(np.asarray(pad_sizes(widest, keywork).cup_diameter_mm), project.hand.finger_breadth_mm)
    pairs = []
    for i, first in enumerate(holes):
        for j in range(i + 1, len(holes)):
            second = holes[j]
            gap = max(first.position_mm[0] - second.position_mm[1], second.position_mm[0] - first.position_mm[1])
            room = keywork.web_min_mm + keywork.cup_clearance_mm + 0.5 * (cups[i] + cups[j])
            if gap < room:
                pairs.append((i, j))
    return pairs


def crowding(
    layout: Layout, project: Project, pairs: list[tuple[int, int]], width: Array, radius: Array, room: float
) -> Array:
    """How much pairs of holes (Q,) lack [mm]: room and half of both widths (H,), less their distance at radius (H,)."""
    first, second = split(pairs)
    azimuth = np.radians([hole.azimuth_deg for hole in project.holes])
    along = layout.position_mm[second] - layout.position_mm[first]
    distance = space_distance(along, azimuth[second] - azimuth[first], 0.5 * (radius[first] + radius[second]))
    return room + 0.5 * (width[first] + width[second]) - distance


NEVER_MM = -1e4
"""Value of a limit that a layout's choices put out of force."""


def in_force(values: Array, wanted: Array) -> Array:
    """Values of limits (m,) [mm], those not wanted (m,) put out of force."""
    return jnp.where(wanted, values, NEVER_MM)


def split(pairs: list[tuple[int, int]]) -> tuple[np.ndarray, np.ndarray]:
    table = np.array(pairs, int).reshape(-1, 2)
    return table[:, 0], table[:, 1]
