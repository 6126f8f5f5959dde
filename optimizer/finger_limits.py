"""Limits of the hands: reach, room and order of fingers, the gap between hands, thumbs."""

import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from optimizer.hand import finger_holes, finger_pairs, pair_distances, pair_spacings, touch_position
from optimizer.layout import Layout
from optimizer.limits import NO_FAMILY, Constraint, Family, body_radius_mm, split
from optimizer.project import FINGERS, Project


def reach(project: Project) -> Family:
    pairs = finger_pairs(project)
    working = np.array([pair.working_mm for pair in pairs])
    items = [
        Constraint(
            f"reach.{pair.label}",
            f"{pair.upper_finger} and {pair.lower_finger} stay within the hand's working limit "
            f"of {pair.working_mm:.4g} mm",
        )
        for pair in pairs
    ]
    return items, lambda layout: pair_distances(layout, project, body_radius_mm(layout, project), pairs) - working


def finger_order(project: Project) -> Family:
    pairs = [pair for pair in finger_pairs(project) if pair.neighbours]
    upper, lower = split([(pair.upper, pair.lower) for pair in pairs])
    items = [
        Constraint(
            f"finger_order.{pair.label}",
            f"{pair.upper_finger} lies nearer the reed than {pair.lower_finger}, so the fingers do not cross",
        )
        for pair in pairs
    ]
    return items, lambda layout: touch_position(layout)[upper] - touch_position(layout)[lower]


def finger_room(project: Project) -> Family:
    pairs = [pair for pair in finger_pairs(project) if pair.neighbours]
    least = project.hand.spacing_min_mm
    items = [
        Constraint(
            f"finger_room.{pair.label}",
            f"{pair.upper_finger} and {pair.lower_finger} have {least:g} mm between centres, room for both fingers",
        )
        for pair in pairs
    ]
    return items, lambda layout: least - pair_spacings(layout, project, body_radius_mm(layout, project), pairs)


def hand_gap(project: Project) -> Family:
    under = finger_holes(project)
    left, right = ([under[name] for name in FINGERS if name in under and name[0] == side] for side in "LR")
    if not left or not right:
        return NO_FAMILY

    def middle(index: int) -> float:
        return sum(project.holes[index].position_mm)

    above, below = (left, right) if middle(left[0]) <= middle(right[0]) else (right, left)
    upper, lower = max(above, key=middle), min(below, key=middle)
    gap, names = project.hand.hand_gap_min_mm, [project.holes[index].by for index in (upper, lower)]
    sentence = f"the hands have {gap:g} mm between {names[0]} and {names[1]}, so they do not collide"
    items = [Constraint(f"hand_gap.{names[0]}-{names[1]}", sentence)]
    return items, lambda layout: gap - (touch_position(layout)[lower] - touch_position(layout)[upper])


def thumbs(project: Project) -> Family:
    under = finger_holes(project)
    pairs = [(under[side + "T"], under[side + "1"]) for side in "LR" if {side + "T", side + "1"} <= set(under)]
    limit = project.hand.thumb_offset_max_mm
    thumb, index = split(pairs)
    names = [(project.holes[i].by, project.holes[j].by) for i, j in pairs]
    items = [
        Constraint(f"thumb.{a}-{b}", f"the thumb {a} stays within {limit:g} mm of {b} along the body") for a, b in names
    ]

    def values(layout: Layout) -> Array:
        touch = touch_position(layout)
        return jnp.sqrt((touch[thumb] - touch[index]) ** 2 + 1e-6) - limit

    return items, values
