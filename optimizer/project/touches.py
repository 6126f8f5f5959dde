"""Where the touches of keys are to lie: the finger that works a key, where it rests, and the touch's place beside that.

A finger rests on its hole, or in its hand's row on the first of its keys; the little finger below the ring finger and
toward the palm, as far as it lands by itself; a thumb without a hole opposite the index finger. Touches of one finger
lie side by side: round the body under a little finger, the outer ones drawn so near the ring finger that they stay
within the hand's limit; along it under a thumb, two in a row toward the palm beside any other finger. A link starts
from where its finger rests. Like the touches of holes, those of keys are points on the body's surface.
"""

import math
from typing import NamedTuple

from optimizer.project.fingers import finger_anchor, finger_holes, finger_places, places_apart, row_places
from optimizer.project.hand import PALM, Hand, pair_limits, palm_offset_mm
from optimizer.project.linkage import keys_under
from optimizer.project.model import Key, Project

OPPOSITE_DEG = 180.0
REACH_SHARE = 0.97
"""Of the reach from ring to little finger that a row of touches is laid out for: bodies are round, cones widen."""


class Rest(NamedTuple):
    """Where a finger rests: number of the place of a finger that it is counted from, way toward the bell and clockwise
    round the body [mm], and turn [degrees]."""

    anchor: int
    along_mm: float
    across_mm: float
    turn_deg: float


class KeyPlan(NamedTuple):
    """A key whose finger has a place: its rest, and where its touch lies from there [mm]."""

    key: Key
    rest: Rest
    along_mm: float
    across_mm: float


def finger_rest(finger: str, project: Project) -> Rest | None:
    """Where a finger rests; None when neither hole nor row tells."""
    anchor = finger_anchor(finger, project)
    if anchor is None:
        return None
    row = project.rows.by_side.get(finger[0])
    if finger in finger_places(project):
        return Rest(*anchor, 0.0, 0.0)
    if finger[1] == "T":
        return Rest(*anchor, 0.0, OPPOSITE_DEG if row is None else row.thumb_deg)
    stated = None if row is None else row.little_across_mm
    return Rest(*anchor, lands_across_mm(project.hand, finger, finger[0] + "3") if stated is None else stated, 0.0)


def lands_across_mm(hand: Hand, finger: str, other: str) -> float:
    """How much further round the body, clockwise, a finger lands by itself than another of its hand [mm]."""
    return PALM[finger[0]] * (palm_offset_mm(hand, finger) - palm_offset_mm(hand, other))


def side_by_side(number: int, count: int, finger: str, on_hole: bool, spacing: float) -> tuple[float, float]:
    """Place of one of a finger's touches from where it rests: toward the bell, and clockwise round the body [mm].

    Parameters
    ----------
    number, count : which of how many touches, from 0
    finger : such as R4
    on_hole : whether the finger rests on a hole
    spacing : between touches side by side [mm]
    """
    from_middle = (number - (count - 1) / 2.0) * spacing
    if finger[1] == "T":
        return (-(number + 1) * spacing if on_hole else from_middle), 0.0
    if not on_hole:
        return 0.0, from_middle
    return -(number // 2) * spacing, PALM[finger[0]] * (1 + number % 2) * spacing


def drawn_in_mm(project: Project, finger: str, across_mm: float, along_mm: float) -> float:
    """How much nearer to the ring finger than where the little finger rests a touch must lie to be within reach [mm];
    never nearer than fingers may come, where the limit may complain.

    Parameters
    ----------
    project : whose hand it is
    finger : the little finger, such as R4
    across_mm : how far to the side of where it lands by itself the touch lies [mm]
    along_mm : how far toward the bell of the ring finger it rests [mm]
    """
    limit = REACH_SHARE * pair_limits(project.hand, finger[0])["ring_little"].working_mm
    reached = math.sqrt(max(limit**2 - across_mm**2, 0.0))
    return max(0.0, along_mm - max(reached, project.hand.spacing_min_mm))


def touch_plans(project: Project) -> tuple[KeyPlan, ...]:
    """Every key whose finger has a place, in the project's order."""
    plans: list[KeyPlan] = []
    for key in project.keys:
        rest = finger_rest(key.touch, project)
        if rest is not None:
            plans.append(KeyPlan(key, rest, *_from_rest(key, rest, project)))
    return tuple(plans)


def may_come_near(first: KeyPlan, second: KeyPlan, project: Project, near_mm: float) -> bool:
    """Whether touches of two fingers may lie nearer to each other along the body than so many mm."""
    low, high = places_apart(project, first.rest.anchor, second.rest.anchor)
    along = second.rest.along_mm + second.along_mm - first.rest.along_mm - first.along_mm
    return low + along < near_mm and high + along > -near_mm


def _from_rest(key: Key, rest: Rest, project: Project) -> tuple[float, float]:
    """Where a key's touch lies from where its finger rests: toward the bell, and clockwise round the body [mm]."""
    finger, under, along, across = key.touch, finger_holes(project), 0.0, 0.0
    rested_on = [place.key for place in row_places(project) if place.finger == finger]
    if key.id in rested_on:
        return 0.0, 0.0
    if key.pressed:
        row = [each.id for each in keys_under(finger, project.keys) if each.id not in rested_on]
        spacing, held = project.keywork.touch_spacing_mm, finger in under or bool(rested_on)
        along, across = side_by_side(row.index(key.id), len(row), finger, held, spacing)
    across = across if key.touch_across_mm is None else key.touch_across_mm
    if key.pressed and finger[1] == "4" and finger not in under:
        aside = rest.across_mm - lands_across_mm(project.hand, finger, finger[0] + "3")
        along -= drawn_in_mm(project, finger, across + aside, rest.along_mm)
    return along if key.touch_along_mm is None else key.touch_along_mm, across
