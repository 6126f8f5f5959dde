"""Limits of the keywork: clearance of cups and fingers, touches within reach and apart."""

from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array
from optimizer.geometry.measured_layout import Geometry
from optimizer.geometry.reach import reach_distance
from optimizer.geometry.space import distance, joined, picked, ways_between
from optimizer.geometry.surface import Crowding, near_pairs, split
from optimizer.geometry.touches import key_plans
from optimizer.limits.family import Constraint, Family, in_force
from optimizer.project.fingers import finger_holes
from optimizer.project.hand import PALM, pair_limits, palm_offset_mm
from optimizer.project.model import Project


def cups(project: Project) -> Family:
    """Clearance between the cups of neighbouring pads, and between a cup and a bare finger."""
    holes, keywork = project.holes, project.keywork
    pairs = [(i, j) for i, j in near_pairs(project) if holes[i].padded or holes[j].padded]
    clear = keywork.cup_clearance_mm
    crowding, (first, second) = Crowding(holes, pairs, clear), split(pairs)
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

    return items, values


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


class ReachTable:
    """Some of `touch_reaches` as arrays (R,)."""

    def __init__(self, table: list[TouchReach], plans: int) -> None:
        self._plan = np.array([row.plan for row in table], int)
        self._origin = np.array([row.plan if row.hole is None else plans + row.hole for row in table], int)
        self._natural = np.array([row.natural_mm for row in table])

    def distances(self, at: Geometry) -> Array:
        """How far the finger must reach for each (R,) [mm]."""
        origins = joined(at.rests, at.holes._replace(position=at.touch_mm))
        start, touch = picked(origins, self._origin), picked(at.touches, self._plan)
        return reach_distance(ways_between(start, touch), self._natural)


def touch_reach(project: Project) -> Family:
    """Touches of keys within reach of the fingers that press them."""
    plans, table = key_plans(project), touch_reaches(project)
    items = []
    for row in table:
        key = plans[row.plan].key
        origin = f"where {row.origin} rests" if row.hole is None else row.origin
        sentence = f"{key.touch} reaches the touch of {key.id}, at most {row.limit_mm:.4g} mm from {origin}"
        items.append(Constraint(f"touch_reach.{key.id}-{row.origin}", sentence))
    limits, reach = np.array([row.limit_mm for row in table]), ReachTable(table, len(plans))
    return items, lambda at: reach.distances(at) - limits


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
    return items, lambda at: least - distance(picked(at.touch_points, upper), picked(at.touch_points, lower))
