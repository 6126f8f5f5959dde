"""Limits of a folded body: what stands on it keeps off its bends, and clear of the tubes beside its own.

What covers a hole, a finger, a post and a fitting stand outward without an end, as wide as they are, from the body's
surface: nothing of another tube lies over them. A tube counts as straight to the far side of its bends. Fittings keep
off bends by themselves, as off all else on their tube (`geometry/fittings.py`).
"""

from collections.abc import Sequence
from itertools import combinations
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array, Floats
from acoustics.duals import value_of
from optimizer.geometry.axle_plans import post_table
from optimizer.geometry.fittings import fitting_table, outside
from optimizer.geometry.measured_layout import Geometry, fixed_of
from optimizer.geometry.space import Places, joined, picked, smooth_size
from optimizer.geometry.touches import key_plans
from optimizer.limits.family import NO_FAMILY, Constraint, Family, in_force
from optimizer.project.bends import tube_at, tubes_of
from optimizer.project.fingers import row_places, row_span
from optimizer.project.model import Project

DEPTHS = 9
"""So many depths at which two tubes are held against each other."""


class Thing(NamedTuple):
    """What stands on the body: what its limits are called, in words, and the tube that it stands on."""

    name: str
    words: str
    tube: int


def things(project: Project) -> list[Thing]:
    """Holes, fingers in rows, touches of keys, then posts at the reed ends of axles and at their bell ends."""
    bends, places = project.bends, row_places(project)
    under = [
        *(tube_at(bends, hole.position_mm[0]) for hole in project.holes),
        *(tube_at(bends, row_span(project, place.finger[0])[0]) for place in places),
    ]
    axles = post_table(project).standing
    return [
        *(Thing(hole.id, f"what covers {hole.id}", tube) for hole, tube in zip(project.holes, under, strict=False)),
        *(
            Thing(place.finger, f"{place.finger} in its row", tube)
            for place, tube in zip(places, under[len(project.holes) :], strict=True)
        ),
        *(
            Thing(f"touch_{plan.key.id}", f"the finger on the touch of {plan.key.id}", under[plan.rest.anchor])
            for plan in key_plans(project)
        ),
        *(
            Thing(f"{axle.plan.key.id}_{end}", f"the post of {axle.plan.key.id} at its {end} end", under[axle.holes[0]])
            for end in ("reed", "bell")
            for axle in axles
        ),
    ]


def _places(at: Geometry) -> tuple[Places, Array]:
    """Where the things stand (N,), in the order of `things`, and how far each reaches to all sides (N,) [mm]."""
    feet, project = post_table(at.project).feet(at), at.project
    places = joined(joined(joined(at.holes, at.row_fingers), at.touches), feet)
    fingers = at.row_fingers.position.size + at.touches.position.size
    posts = np.full(feet.position.size, 0.5 * project.keywork.post_diameter_mm)
    half = [0.5 * at.cover_mm, np.full(fingers, 0.5 * project.hand.finger_breadth_mm), posts]
    return places, np.concatenate(half)


def _fitted(project: Project) -> list[Thing]:
    """The fittings."""
    return [
        Thing(each.id, each.id.replace("_", " "), tube_at(project.bends, each.position_mm[0]))
        for each in project.fittings
    ]


def _fitted_places(at: Geometry) -> tuple[Places, Floats, Floats]:
    """Where the fittings lie (F,), and how far each reaches along the body and round it (F,) [mm]; no slope leads to
    another place in its range."""
    each = at.project.fittings
    half_along, half_aside = (
        np.array([0.5 * getattr(one, size) for one in each]) for size in ("length_mm", "width_mm")
    )
    position = fitting_table(at.project).placed(at).position if each else np.zeros(0)
    azimuth = np.radians([one.azimuth_deg for one in each])
    return Places(position, azimuth, at.body_radius_at(position)), half_along, half_aside


def off_bends(project: Project) -> Family:
    """Everything on the body off the bends on either side of its tube."""
    if not project.bends:
        return NO_FAMILY
    named, clear = things(project), project.keywork.cup_clearance_mm
    rows = [
        (number, bend, side)
        for number, thing in enumerate(named)
        for bend, side in ((thing.tube - 1, 1.0), (thing.tube, -1.0))
        if 0 <= bend < len(project.bends)
    ]
    items = [
        Constraint(
            f"bend.{project.bends[bend].id}-{named[number].name}",
            f"{named[number].words} stays {clear:g} mm off bend {project.bends[bend].id}",
        )
        for number, bend, _ in rows
    ]
    which, sides = np.array([row[0] for row in rows], int), np.array([row[2] for row in rows])
    edges = np.array([project.bends[bend].end_mm if side > 0 else project.bends[bend].at_mm for _, bend, side in rows])

    def values(at: Geometry) -> Array:
        places, half = at.once(_places)
        return half[which] + clear - (places.position[which] - edges) * sides

    beside, lacking = _joints_off_bends(project)
    return items + beside, lambda at: np.concatenate([values(at), lacking(at)])


def _joints_off_bends(project: Project) -> Family:
    """Joints off every bend, on whichever side of it their zone lies; those already made aside."""
    section = project.sections
    if section is None or section.joints[1] == 0:
        return NO_FAMILY
    numbers, clear = range(1, section.joints[1] + 1), section.joint_clearance_mm
    items = [
        Constraint(f"bend.{bend.id}-joint{n}", f"joint {n} stays {clear:g} mm off bend {bend.id}")
        for n in numbers
        for bend in project.bends
    ]
    begins, ends = (np.array([getattr(bend, name) for bend in project.bends]) for name in ("at_mm", "end_mm"))
    free = np.array([number - 1 not in section.locked_joints for number in numbers])

    def values(at: Geometry) -> Array:
        beyond = np.asarray(at.layout.choice.joint_zone)[:, :1] >= begins
        apart = (at.layout.joint_mm[:, None] - np.where(beyond, ends, begins)) * np.where(beyond, 1.0, -1.0)
        lacking = (0.5 * at.joint_length + clear)[:, None] - apart
        return in_force(lacking.reshape(-1), np.repeat(at.joint_used & free, begins.size))

    return items, values


class _Beside(NamedTuple):
    """A tube as things on another one have it beside them [mm]: its number, where its axis lies from theirs, how deep
    its middle lies, and half of its length."""

    tube: int
    far: float
    toward: float
    middle: float
    half: float


def _beside(project: Project, own: int) -> list[_Beside]:
    """The other tubes, to the far side of their bends."""
    found, all_tubes, section = [], tubes_of(project.bends), project.bore
    shape = fixed_of(project).shape
    bores = [shape.lines(corner) for corner in shape.corners]
    for number, tube in enumerate(all_tubes):
        if number == own:
            continue
        last = section.end_span_mm[1] if number == len(project.bends) else tube.end
        span = [tube.begin, last]
        for side, bend in ((0, number - 1), (1, number)):
            if 0 <= bend < len(project.bends):
                here = project.bends[bend]
                outer = max(float(bore.radius_at(np.array(span[side]))) for bore in bores) + section.wall_mm
                span[side] += (2 * side - 1) * (here.radius_mm + outer)
        depths = [tube.depth + tube.down * (place - tube.begin) for place in span]
        front, right = tube.front - all_tubes[own].front, tube.right - all_tubes[own].right
        apart, middle = float(np.hypot(front, right)), 0.5 * sum(depths)
        found.append(_Beside(number, apart, float(np.arctan2(right, front)), middle, abs(depths[1] - middle)))
    return found


def beside_tubes(project: Project) -> Family:
    """Everything on the body clear of the tubes beside its own."""
    if not project.bends:
        return NO_FAMILY
    named, clear = [*things(project), *_fitted(project)], project.keywork.cup_clearance_mm
    others = [_beside(project, own) for own in range(len(project.bends) + 1)]
    rows = [(number, other) for number, thing in enumerate(named) for other in others[thing.tube]]
    items = [
        Constraint(
            f"tube.{named[number].name}-{other.tube + 1}",
            f"{named[number].words} leaves {clear:g} mm to tube {other.tube + 1}, counted from the reed",
        )
        for number, other in rows
    ]
    which, fold = np.array([number for number, _ in rows], int), fixed_of(project).fold
    tube, far, toward, middle, length = _columns([other for _, other in rows])

    def values(at: Geometry) -> Array:
        places, half = at.once(_places)
        fitted, along, aside_half = at.once(_fitted_places)
        here = picked(joined(places, fitted), which)
        half_along, half = np.concatenate([half, along])[which], np.concatenate([half, aside_half])[which]
        up, aside = far * np.cos(here.azimuth - toward), far * np.sin(here.azimuth - toward)
        radius = at.body_radius_at(fold.carried(here.position, tube))
        over = outside(smooth_size(aside) - half, here.height - up) - radius
        beyond = smooth_size(fold.depth(here.position) - middle) - length - half_along
        return clear - outside(over, beyond)

    return items, values


def _columns(rows: Sequence[_Beside]) -> tuple[np.ndarray, ...]:
    columns = zip(*rows, strict=True)
    return tuple(np.array(column, int if number == 0 else float) for number, column in enumerate(columns))


def apart(project: Project) -> Family:
    """Bends no tighter than the body is thick, and tubes clear of each other, where numbers shape the bore; by points
    alone both are known as the project is read."""
    bends = project.bends
    if not bends or not project.bore.shaped_by:
        return NO_FAMILY
    pairs, places, far = _side_by_side(project)
    items = [Constraint(f"fold.{b.id}", f"bend {b.id} is no tighter than the body is thick there") for b in bends]
    items += [
        Constraint(f"fold.{one + 1}-{other + 1}", f"tubes {one + 1} and {other + 1}, from the reed, do not meet")
        for one, other in pairs
    ]
    begins, ends, radius = (np.array([getattr(b, name) for b in bends]) for name in ("at_mm", "end_mm", "radius_mm"))

    def values(at: Geometry) -> Array:
        tight = at.bore.widest(begins, ends) + project.bore.wall_mm - radius
        thick = at.body_radius_at(places[0]) + at.body_radius_at(places[1]) - far
        worst = np.argmax(value_of(thick).reshape(-1, DEPTHS), axis=1)
        return np.concatenate([tight, thick[DEPTHS * np.arange(len(pairs)) + worst]])

    return items, values


def _side_by_side(project: Project) -> tuple[list[tuple[int, int]], np.ndarray, np.ndarray]:
    """Pairs (P) of tubes that run side by side, crook aside; at `DEPTHS` depths of each, places on both (2, P * DEPTHS)
    and how far their axes lie apart (P * DEPTHS,) [mm]."""
    tubes = tubes_of(project.bends)
    begins = [max(tube.begin, project.bore.crook_end_mm) for tube in tubes]
    ends = [min(tube.end, project.bore.end_span_mm[1]) for tube in tubes]
    depths = [
        sorted(tube.depth + tube.down * (place - tube.begin) for place in span)
        for tube, *span in zip(tubes, begins, ends, strict=True)
    ]
    pairs, places, far = [], [], []
    for one, other in combinations(range(len(tubes)), 2):
        low, high = (pick(depths[one][end], depths[other][end]) for end, pick in enumerate((max, min)))
        if low < high:
            here = np.linspace(low, high, DEPTHS)
            pairs.append((one, other))
            places.append([tubes[n].begin + tubes[n].down * (here - tubes[n].depth) for n in (one, other)])
            way = tubes[one].front - tubes[other].front, tubes[one].right - tubes[other].right
            far.append(np.full(DEPTHS, np.hypot(*way)))
    return pairs, np.concatenate(places, axis=1) if places else np.zeros((2, 0)), np.concatenate([np.zeros(0), *far])
