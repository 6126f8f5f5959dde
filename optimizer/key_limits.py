"""Limits of the keywork: clearance of cups and fingers, length of levers."""

import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from optimizer.hand import finger_anchor, touch_position
from optimizer.keywork import pad_sizes
from optimizer.layout import Layout, padded, top_diameter_mm
from optimizer.limits import Constraint, Family, body_radius_mm, crowding, in_force, near_pairs, split
from optimizer.project import Project


def cups(project: Project) -> Family:
    """Clearance between the cups of neighbouring pads, and between a cup and a bare finger."""
    holes, keywork = project.holes, project.keywork
    pairs = [(i, j) for i, j in near_pairs(project) if holes[i].padded or holes[j].padded]
    clear = keywork.cup_clearance_mm
    first, second = split(pairs)
    items = [
        Constraint(
            f"cups.{holes[i].id}-{holes[j].id}",
            f"the cup or finger over {holes[i].id} clears that over {holes[j].id} by {clear:g} mm",
        )
        for i, j in pairs
    ]

    def values(layout: Layout) -> Array:
        width, shut = cover_widths(layout, project), padded(layout, project)
        lacking = crowding(layout, project, pairs, width, body_radius_mm(layout, project), clear)
        return in_force(lacking, shut[first] | shut[second])

    return items, values


def cover_widths(layout: Layout, project: Project) -> Array:
    """Width of what lies over each hole (H,) [mm]: a cup, or a bare finger."""
    cups = pad_sizes(top_diameter_mm(layout, project), project.keywork).cup_diameter_mm
    return jnp.where(padded(layout, project), cups, project.hand.finger_breadth_mm)


def levers(project: Project) -> list[tuple[str, int, int, float, float]]:
    """Key id, hole index, anchor hole index, anchor offset [mm] and limit [mm] of every lever from touch to pad."""
    ids = [hole.id for hole in project.holes]
    found = []
    for key in project.keys:
        anchor = finger_anchor(key.touch, project)
        if anchor is not None:
            limit = key.lever_max_mm or project.keywork.lever_max_mm
            found += [(key.id, ids.index(name), *anchor, limit) for name in (*key.opens, *key.closes)]
    return found


def lever_lengths(layout: Layout, project: Project) -> Array:
    """Length of every lever along the body [mm], in the order of `levers`."""
    table = levers(project)
    pad = np.array([row[1] for row in table], int)
    anchor = np.array([row[2] for row in table], int)
    offset = np.array([row[3] for row in table])
    return jnp.sqrt((layout.position_mm[pad] - touch_position(layout)[anchor] - offset) ** 2 + 1e-6)


def lever_limits(project: Project) -> Family:
    table = levers(project)
    limits = np.array([row[4] for row in table])
    items = [
        Constraint(
            f"lever.{key}-{project.holes[pad].id}",
            f"the lever of {key} from its touch to {project.holes[pad].id} is at most {limit:g} mm long",
        )
        for key, pad, _, _, limit in table
    ]
    return items, lambda layout: lever_lengths(layout, project) - limits
