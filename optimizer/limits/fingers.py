"""Limits of the hands: reach, room and order of fingers, the gap between hands, thumbs."""

import numpy as np

from optimizer.geometry.space import smooth_size, straight_line
from optimizer.geometry.surface import split
from optimizer.limits.family import NO_FAMILY, Constraint, Family
from optimizer.project.fingers import finger_holes, finger_pairs
from optimizer.project.model import FINGERS, Project


def reach(project: Project) -> Family:
    """Touches of each finger pair within the hand's working limit."""
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
    return items, lambda at: at.pair_distances - working


def finger_order(project: Project) -> Family:
    """Neighbouring fingers that do not cross."""
    pairs = [pair for pair in finger_pairs(project) if pair.neighbours]
    upper, lower = split([(pair.upper, pair.lower) for pair in pairs])
    items = [
        Constraint(
            f"finger_order.{pair.label}",
            f"{pair.upper_finger} lies nearer the reed than {pair.lower_finger}, so the fingers do not cross",
        )
        for pair in pairs
    ]
    return items, lambda at: at.touch_mm[upper] - at.touch_mm[lower]


def finger_room(project: Project) -> Family:
    """Room for both of two neighbouring fingers."""
    near = np.array([pair.neighbours for pair in finger_pairs(project)], bool)
    pairs = [pair for pair in finger_pairs(project) if pair.neighbours]
    least = project.hand.spacing_min_mm
    items = [
        Constraint(
            f"finger_room.{pair.label}",
            f"{pair.upper_finger} and {pair.lower_finger} have {least:g} mm between centres, room for both fingers",
        )
        for pair in pairs
    ]
    return items, lambda at: least - straight_line(*at.pair_ways)[near]


def hand_gap(project: Project) -> Family:
    """Room between the hands along the body."""
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
    return items, lambda at: np.atleast_1d(gap - (at.touch_mm[lower] - at.touch_mm[upper]))


def thumbs(project: Project) -> Family:
    """Thumbs near their index fingers along the body."""
    under = finger_holes(project)
    pairs = [(under[side + "T"], under[side + "1"]) for side in "LR" if {side + "T", side + "1"} <= set(under)]
    limit = project.hand.thumb_offset_max_mm
    thumb, index = split(pairs)
    names = [(project.holes[i].by, project.holes[j].by) for i, j in pairs]
    items = [
        Constraint(f"thumb.{a}-{b}", f"the thumb {a} stays within {limit:g} mm of {b} along the body") for a, b in names
    ]
    return items, lambda at: smooth_size(at.touch_mm[thumb] - at.touch_mm[index]) - limit
