"""Limits of the hands: reach, room and order of fingers, the gap between hands, thumbs."""

import numpy as np

from optimizer.geometry.space import smooth_size, straight_line
from optimizer.geometry.surface import split
from optimizer.limits.family import NO_FAMILY, Constraint, Family
from optimizer.project.fingers import finger_pairs, finger_places, hands_in_order
from optimizer.project.model import Project


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
    return items, lambda at: at.finger_depths[upper] - at.finger_depths[lower]


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
    above, below = hands_in_order(project)
    if not above or not below:
        return NO_FAMILY
    names, under = (above[-1], below[0]), finger_places(project)
    gap, (upper, lower) = project.hand.hand_gap_min_mm, (under[name] for name in names)
    sentence = f"the hands have {gap:g} mm between {names[0]} and {names[1]}, so they do not collide"
    items = [Constraint(f"hand_gap.{names[0]}-{names[1]}", sentence)]
    return items, lambda at: np.atleast_1d(gap - (at.finger_depths[lower] - at.finger_depths[upper]))


def thumbs(project: Project) -> Family:
    """Thumbs near their index fingers along the body."""
    under = finger_places(project)
    pairs = [(under[side + "T"], under[side + "1"]) for side in "LR" if {side + "T", side + "1"} <= set(under)]
    limit = project.hand.thumb_offset_max_mm
    thumb, index = split(pairs)
    names = [(side + "T", side + "1") for side in "LR" if {side + "T", side + "1"} <= set(under)]
    items = [
        Constraint(f"thumb.{a}-{b}", f"the thumb {a} stays within {limit:g} mm of {b} along the body") for a, b in names
    ]
    return items, lambda at: smooth_size(at.finger_depths[thumb] - at.finger_depths[index]) - limit
