"""Limits of the keywork: clearance of cups and fingers, touches within reach and apart."""

import itertools
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array
from optimizer.geometry.measured_layout import Geometry, fixed_of
from optimizer.geometry.pads import as_made, pad_sizes
from optimizer.geometry.per_project import once
from optimizer.geometry.reach import reach_distance
from optimizer.geometry.space import distance, joined, picked
from optimizer.geometry.surface import Crowding, near_pairs, split
from optimizer.geometry.touches import key_plans
from optimizer.limits.family import NO_FAMILY, Constraint, Family, in_force
from optimizer.project.bends import depth_span
from optimizer.project.fingers import finger_places, place_span, row_places
from optimizer.project.hand import pair_limits, touch_reach_mm
from optimizer.project.model import Project
from optimizer.project.touches import lands_across_mm, may_come_near


def cups(project: Project) -> Family:
    """Clearance between the cups of neighbouring pads, and between a cup and a finger, bare or in a row."""
    holes, keywork = project.holes, project.keywork
    pairs = [(i, j) for i, j in near_pairs(project) if holes[i].padded or holes[j].padded]
    clear = keywork.cup_clearance_mm
    crowding, (first, second) = Crowding(holes, pairs, clear, fixed_of(project).fold), split(pairs)
    items = [
        Constraint(
            f"cups.{holes[i].id}-{holes[j].id}",
            f"the cup or finger over {holes[i].id} clears that over {holes[j].id} by {clear:g} mm",
        )
        for i, j in pairs
    ]

    def values(at: Geometry) -> Array:
        lacking = crowding.lacking(at.layout.position_mm, at.cover_mm, at.body_radius)
        return in_force(lacking, at.shut[first] | at.shut[second])

    beside, lacking_beside = _fingers_beside_cups(project)
    if not beside:
        return items, values
    return items + beside, lambda at: np.concatenate([values(at), lacking_beside(at)])


def _fingers_beside_cups(project: Project) -> Family:
    """Clearance between each finger that rests on a key in a row and the cups of pads that it may come near."""
    holes, keywork, breadth = project.holes, project.keywork, project.hand.finger_breadth_mm
    tops = np.array([hole.diameter_mm[1] * hole.top_ratio for hole in holes])
    widest = as_made(pad_sizes(tops, keywork, stock=project.stock), project)
    rows = []
    for number, place in enumerate(row_places(project)):
        low, high = place_span(project, len(holes) + number)
        for index, hole in enumerate(holes):
            first, last = depth_span(project.bends, *hole.position_mm)
            gap = max(low - last, first - high)
            room = keywork.cup_clearance_mm + 0.5 * (float(widest.cup_diameter_mm[index]) + breadth)
            if place.key is not None and hole.padded and gap < room:
                rows.append((number, index))
    fingers, pads = split(rows)
    names = [place.finger for place in row_places(project)]
    items = [
        Constraint(
            f"cups.{names[i]}-{holes[j].id}",
            f"{names[i]} in its row clears the cup over {holes[j].id} by {keywork.cup_clearance_mm:g} mm",
        )
        for i, j in rows
    ]

    def values(at: Geometry) -> Array:
        apart = distance(picked(at.fixed.fold.points(at.row_fingers), fingers), picked(at.hole_points, pads))
        lacking = 0.5 * (at.pads.cup_diameter_mm[pads] + breadth) + keywork.cup_clearance_mm - apart
        return in_force(lacking, at.shut[pads])

    return items, values


class TouchReach(NamedTuple):
    """One thing that holds a key's touch within reach: plan index, finger it is counted from with the number of its
    place (None where the working finger itself rests), how far the working finger lands toward the palm by itself, and
    the limit [mm]."""

    plan: int
    origin: str
    place: int | None
    natural_mm: float
    limit_mm: float


def touch_reaches(project: Project) -> list[TouchReach]:
    """Little fingers: the hand's limits from ring and index finger. Others: so far from where the finger rests, unless
    it rests on the touch."""
    found, under = [], finger_places(project)
    rested_on = {place.key for place in row_places(project)}
    for number, plan in enumerate(key_plans(project)):
        finger = plan.key.touch
        if not plan.key.pressed or plan.key.id in rested_on:
            continue
        if finger[1] != "4":
            limit = touch_reach_mm(project.hand, finger, project.keywork.touch_reach_mm)
            found.append(TouchReach(number, finger, None, 0.0, limit))
            continue
        limits = pair_limits(project.hand, finger[0])
        for name, other in (("ring_little", finger[0] + "3"), ("index_little", finger[0] + "1")):
            if other in under:
                working, lands = limits[name].working_mm, lands_across_mm(project.hand, finger, other)
                found.append(TouchReach(number, other, under[other], lands, working))
    return found


class ReachTable:
    """Some of `touch_reaches` as arrays (R,)."""

    def __init__(self, table: list[TouchReach], plans: int) -> None:
        self._plan = np.array([row.plan for row in table], int)
        self._origin = np.array([row.plan if row.place is None else plans + row.place for row in table], int)
        self._natural = np.array([row.natural_mm for row in table])

    def distances(self, at: Geometry) -> Array:
        """How far the finger must reach for each (R,) [mm]."""
        origins = joined(at.rests, at.fingers)
        start, touch = picked(origins, self._origin), picked(at.touches, self._plan)
        return reach_distance(at.fixed.fold.ways_between(start, touch), self._natural)


def touch_reach(project: Project) -> Family:
    """Touches of keys within reach of the fingers that press them."""
    plans, table = key_plans(project), touch_reaches(project)
    items = []
    for row in table:
        key = plans[row.plan].key
        origin = f"where {row.origin} rests" if row.place is None else row.origin
        sentence = f"{key.touch} reaches the touch of {key.id}, at most {row.limit_mm:.4g} mm from {origin}"
        items.append(Constraint(f"touch_reach.{key.id}-{row.origin}", sentence))
    limits, reach = np.array([row.limit_mm for row in table]), ReachTable(table, len(plans))
    return items, lambda at: reach.distances(at) - limits


def touch_room(project: Project) -> Family:
    """Room between touches: of one finger, and of any two, of one hand or both, that may come near each other."""
    plans, least = key_plans(project), project.keywork.touch_spacing_min_mm
    pressed = [(number, plan) for number, plan in enumerate(plans) if plan.key.pressed]
    pairs = [
        (i, j)
        for (i, first), (j, second) in itertools.combinations(pressed, 2)
        if first.key.touch == second.key.touch or may_come_near(first, second, project, least)
    ]
    upper, lower = split(pairs)
    items = [
        Constraint(
            f"touch_room.{plans[i].key.id}-{plans[j].key.id}",
            f"the touches of {plans[i].key.id} and {plans[j].key.id} lie {least:g} mm apart or more",
        )
        for i, j in pairs
    ]
    return items, lambda at: least - distance(picked(at.touch_points, upper), picked(at.touch_points, lower))


def touch_cups(project: Project) -> Family:
    """Room between touches and the cups of pads, where the project says how broad touches are."""
    breadth = project.keywork.touch_breadth_mm
    return NO_FAMILY if breadth is None else beside_cups(project, breadth)


def beside_cups(project: Project, breadth_mm: float) -> Family:
    """Room between each touch and the cups of pads that it may come near, those that its own key moves left out.

    Parameters
    ----------
    project : whose keys they are; a touch that a finger of a row rests on counts as that finger, in `cups`
    breadth_mm : of a touch; 0: its middle lies on no cup
    """
    holes, plans = project.holes, key_plans(project)
    tops = np.array([hole.diameter_mm[1] * hole.top_ratio for hole in holes])
    widest = as_made(pad_sizes(tops, project.keywork, stock=project.stock), project)
    rested_on = {place.key for place in row_places(project)}
    rows = []
    for number, plan in enumerate(plans):
        own, along = {*plan.key.opens, *plan.key.closes}, plan.rest.along_mm + plan.along_mm
        low, high = (end + along for end in place_span(project, plan.rest.anchor))
        for index, hole in enumerate(holes):
            first, last = depth_span(project.bends, *hole.position_mm)
            near = max(low - last, first - high) < 0.5 * (float(widest.cup_diameter_mm[index]) + breadth_mm)
            if plan.key.pressed and plan.key.id not in rested_on and hole.padded and hole.id not in own and near:
                rows.append((number, index))
    touches, pads = split(rows)
    items = [
        Constraint(
            f"touch_cup.{plans[i].key.id}-{holes[j].id}",
            f"the touch of {plans[i].key.id} lies beside the cup over {holes[j].id}, not on it",
        )
        for i, j in rows
    ]

    def values(at: Geometry) -> Array:
        apart = distance(picked(at.touch_points, touches), picked(at.hole_points, pads))
        return in_force(0.5 * (at.pads.cup_diameter_mm[pads] + breadth_mm) - apart, at.shut[pads])

    return items, values


@once
def _off_cups(project: Project) -> Family:
    """That the middle of a touch lies on no cup."""
    return beside_cups(project, 0.0)


def touches_on_cups(at: Geometry) -> list[str]:
    """Touches whose middle lies on a cup, a sentence each; none where the project holds them off by a limit."""
    if at.project.keywork.touch_breadth_mm is not None:
        return []
    items, values = _off_cups(at.project)
    pairs = [
        item.name.removeprefix("touch_cup.").rsplit("-", 1) for item, g in zip(items, values(at), strict=True) if g > 0
    ]
    return [
        f"the touch of {key} lies on the cup over {hole}: bring it elsewhere (touch_along_mm, touch_across_mm), or say "
        "how broad touches are (keywork.touch_breadth_mm), and layouts keep them off"
        for key, hole in pairs
    ]
