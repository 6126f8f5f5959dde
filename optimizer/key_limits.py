"""Limits of the keywork: clearance of cups and fingers, touches within reach and apart."""

from typing import NamedTuple

import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from optimizer.hand import finger_holes, reach_distance, touch_position
from optimizer.hand_model import PALM, pair_limits, palm_offset_mm
from optimizer.key_places import Places, hole_places, key_plans, picked, rests, straight, touches
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


class TouchReach(NamedTuple):
    """One thing that holds a key's touch within reach: plan index, finger it is counted from with its hole (None where
    the working finger itself rests), how far the working finger lands toward the palm by itself, and the limit [mm]."""

    plan: int
    origin: str
    hole: int | None
    natural_mm: float
    limit_mm: float


def touch_reaches(project: Project) -> list[TouchReach]:
    """Little fingers: the hand's limits from ring and index finger. Others: so far from where the finger rests."""
    found, under = [], finger_holes(project)
    for number, plan in enumerate(key_plans(project)):
        finger = plan.key.touch
        if not plan.key.pressed:
            continue
        if finger[1] != "4":
            found.append(TouchReach(number, finger, None, 0.0, project.keywork.touch_reach_mm))
            continue
        limits = pair_limits(project.hand, finger[0])
        for name, other in (("ring_little", finger[0] + "3"), ("index_little", finger[0] + "1")):
            if other in under:
                further = palm_offset_mm(project.hand, finger) - palm_offset_mm(project.hand, other)
                working = limits[name].working_mm
                found.append(TouchReach(number, other, under[other], PALM[finger[0]] * further, working))
    return found


def touch_distances(layout: Layout, project: Project) -> Array:
    """How far the finger must reach for each of `touch_reaches` [mm]."""
    plans, table = key_plans(project), touch_reaches(project)
    if not table:
        return jnp.zeros(0)
    at = touches(layout, project, plans)
    resting = rests(layout, project, plans)
    of_holes = hole_places(layout, project)._replace(position=touch_position(layout))
    found = []
    for row in table:
        touch = Places(*(values[row.plan] for values in at))
        origin, place = (resting, row.plan) if row.hole is None else (of_holes, row.hole)
        start = Places(*(values[place] for values in origin))
        turn, natural = touch.azimuth - start.azimuth, jnp.asarray(row.natural_mm)
        found.append(reach_distance(touch.position - start.position, turn, start.radius, touch.radius, natural))
    return jnp.stack(found)


def touch_reach(project: Project) -> Family:
    """Touches of keys within reach of the fingers that press them."""
    plans, table = key_plans(project), touch_reaches(project)
    items = []
    for row in table:
        key = plans[row.plan].key
        origin = f"where {row.origin} rests" if row.hole is None else row.origin
        sentence = f"{key.touch} reaches the touch of {key.id}, at most {row.limit_mm:.4g} mm from {origin}"
        items.append(Constraint(f"touch_reach.{key.id}-{row.origin}", sentence))
    limits = np.array([row.limit_mm for row in table])
    return items, lambda layout: touch_distances(layout, project) - limits


def touch_room(project: Project) -> Family:
    """Room between the touches that lie under one finger."""
    plans, least = key_plans(project), project.keywork.touch_spacing_min_mm
    pairs = [
        (i, j)
        for i, first in enumerate(plans)
        for j, second in enumerate(plans)
        if i < j and first.key.touch == second.key.touch and first.key.pressed and second.key.pressed
    ]
    upper, lower = split(pairs)
    items = [
        Constraint(
            f"touch_room.{plans[i].key.id}-{plans[j].key.id}",
            f"the touches of {plans[i].key.id} and {plans[j].key.id} lie {least:g} mm apart or more",
        )
        for i, j in pairs
    ]

    def values(layout: Layout) -> Array:
        at = touches(layout, project, plans)
        return least - straight(picked(at, upper), picked(at, lower))

    return items, values
