"""Axles of keys: where each runs, where its posts stand, and how much of a pad's opening its levers lose.

An axle lies along the body beside the pad that is farthest from its touch, as far from it as a post needs, and carries
an arm to the touch and one to each pad. It ends in a post beyond its last arm either way; long ones have more between,
which the maker shifts where there is room. On which side of the pad it lies is settled once for a project, by which
leaves its posts more room when every hole is in the middle of its range, unless the key says (`axle_deg`, `axle_side`).
A post takes the place with most room within `post_shift_max_mm` further out.

Room beside a post is a smooth minimum over all that stands near, one constraint of a post; sides and places of posts
stay out of x. A link rides on the axle of what moves it and has no posts.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array, Floats, map_arrays
from acoustics.duals import chained, value_of
from optimizer.geometry.layout import Layout, layout_bounds, numbers_of, with_numbers
from optimizer.geometry.measured_layout import Fixed, Geometry, fixed_of, measured
from optimizer.geometry.per_project import once
from optimizer.geometry.space import (
    Places,
    Points,
    around,
    distance,
    joined,
    picked,
    smooth_size,
    straight_line,
    turn_of_chord,
    turned,
)
from optimizer.geometry.surface import NEVER_MM, smooth_least
from optimizer.geometry.touches import key_plans
from optimizer.project.mechanics import pad_gives_mm
from optimizer.project.model import Hole, Project
from optimizer.project.touches import KeyPlan

SHIFT_MM = 4.0
"""Places for a post are looked at in steps of about this much."""

ARM_MOST = 0.95
"""An axle beside a pad wider than the body turns at most this far: arm over the body's diameter."""


class AxlePlan(NamedTuple):
    """What is settled of an axle before any layout: plan of its key, its holes, the farthest first; its side, clockwise
    of that pad where +1; or its azimuth [rad], where the key gives it."""

    plan: KeyPlan
    holes: tuple[int, ...]
    side: float
    azimuth: float | None


def with_posts(plans: Sequence[AxlePlan]) -> list[AxlePlan]:
    """Axles that stand on posts of their own; a link rides on the axle of what moves it."""
    return [axle for axle in plans if axle.plan.key.pressed]


class Axles(NamedTuple):
    """Axles of a layout (K,): azimuth [rad], where the nearest place for the post at either end lies [mm]."""

    azimuth: Array
    reed_mm: Array
    bell_mm: Array


class Posts(NamedTuple):
    """Posts at the ends of axles (2 K,), those at the reed ends first: where they stand, and the room they have to the
    edge of what covers each hole, then of each finger in a row (2 K, H + R), and to each joint and bend (2 K, J + B)
    [mm]."""

    feet: Places
    to_holes: Array
    to_joints: Array


class Settled(NamedTuple):
    """Where posts have most room: they themselves, how far each is shifted outward (2 K,) [mm], the room it has by a
    smooth minimum (2 K,) [mm], and the share of each hole, finger, joint and bend in that (2 K, H + R + J + B)."""

    posts: Posts
    shift: Floats
    least: Floats
    share: Floats


class Levers(NamedTuple):
    """Levers of a layout (L,), one from each touch to each of its pads [mm]: along and round the body, arms, the
    stretch of axle that twists, what gives under the finger, what is lost in all, and the pad's opening."""

    length: Array
    touch_arm: Array
    pad_arm: Array
    twisted: Array
    gives: Array
    lost: Array
    opening: Array


@once
def axle_plans(project: Project) -> tuple[AxlePlan, ...]:
    """Axle of every key whose finger has a place, on the side of its pad that leaves its posts more room."""
    at = measured(_middle(project), project)
    sides: tuple[list[AxlePlan], list[AxlePlan]] = ([], [])
    for plan, farthest in _farthest(project):
        given = None if plan.key.axle_deg is None else float(np.radians(plan.key.axle_deg))
        for plans, side in zip(sides, (1.0, -1.0), strict=True):
            plans.append(AxlePlan(plan, farthest, side, given))
    lacking = [np.max(AxleTable(at.fixed, plans, plans).post_lacks(at).reshape(2, -1), axis=0) for plans in sides]
    return tuple(
        (one if here <= there else other) if (given := one.plan.key.axle_side) is None else _given(one, other, given)
        for one, other, here, there in zip(*sides, *lacking, strict=True)
    )


def farthest_pads(project: Project) -> dict[str, Hole]:
    """The hole beside whose pad the axle of each key lies, by the key's id; of keys whose finger has a place."""
    return {plan.key.id: project.holes[holes[0]] for plan, holes in _farthest(project)}


def _farthest(project: Project) -> list[tuple[KeyPlan, tuple[int, ...]]]:
    """Every key with the numbers of its holes, the farthest from its touch first."""
    at = measured(_middle(project), project)
    ids, where = [hole.id for hole in project.holes], at.fixed.fold.depth(at.layout.position_mm)
    found = []
    for plan, start in zip(key_plans(project), at.fixed.fold.depth(at.touches.position), strict=True):
        holes = [ids.index(name) for name in (*plan.key.opens, *plan.key.closes)]
        found.append((plan, tuple(sorted(holes, key=lambda hole: -abs(where[hole] - start)))))
    return found


def _given(clockwise: AxlePlan, counter: AxlePlan, side: str) -> AxlePlan:
    return clockwise if side == "clockwise" else counter


def _middle(project: Project) -> Layout:
    low, high = layout_bounds(project)
    lowest, highest = numbers_of(low), numbers_of(high)
    return with_numbers(low, {name: 0.5 * (lowest[name] + highest[name]) for name in lowest})


def lever_rows(plans: Sequence[AxlePlan]) -> tuple[np.ndarray, np.ndarray]:
    """Axle and hole of every lever (L,)."""
    rows = [(number, hole) for number, axle in enumerate(plans) for hole in sorted(axle.holes)]
    table = np.array(rows, int).reshape(-1, 2)
    return table[:, 0], table[:, 1]


class AxleTable:
    """Plans of axles as arrays (K,), and those that stand on posts of their own (S,)."""

    def __init__(self, fixed: Fixed, plans: Sequence[AxlePlan], standing: Sequence[AxlePlan]) -> None:
        self._keywork, self._azimuth, keys = fixed.project.keywork, fixed.azimuth, key_plans(fixed.project)
        self._fold, bends = fixed.fold, fixed.project.bends
        self._bend = np.array([0.5 * (bend.at_mm + bend.end_mm) for bend in bends])
        self._half_bend = np.array([0.5 * bend.length_mm for bend in bends])
        self._outer = np.array([axle.holes[0] for axle in plans], int)
        self._key = np.array([keys.index(axle.plan) for axle in plans], int)
        free = np.array([axle.azimuth is None for axle in plans], bool)
        self._origin = np.where(free, self._azimuth[self._outer], [axle.azimuth or 0.0 for axle in plans])
        self._side = np.array([axle.side for axle in plans]) * free
        touches = self._azimuth.size + self._key
        self._arms = _padded_rows([(*axle.holes, touch) for axle, touch in zip(plans, touches, strict=True)])
        self._axle, self._hole = lever_rows(plans)
        linked = np.array([not axle.plan.key.pressed for axle in plans], bool)[self._axle]
        self._play = 2.0 * self._keywork.pivot_play_mm + self._keywork.link_play_mm * linked
        self.standing = tuple(standing)
        self._standing = np.array([plans.index(axle) for axle in standing], int)
        most = self._keywork.post_shift_max_mm
        shifts = np.linspace(0.0, most, 1 + int(np.ceil(most / SHIFT_MM)))
        self._outward = np.repeat([-1.0, 1.0], len(standing))[:, None] * shifts

    def axles(self, at: Geometry) -> Axles:
        """Where the axles run (K,): azimuth [rad], ends [mm]."""
        arm, radius = at.beside_pad_mm[self._outer], at.body_radius[self._outer]
        turn = turn_of_chord(arm, radius, ARM_MOST)
        low, high = self._ends(at)
        middle = 0.5 * (low + high)
        reach = 0.5 * (high - low) + self._keywork.post_overhang_mm
        half = np.maximum(reach, 0.5 * self._keywork.axle_length_min_mm)
        return Axles(turn * self._side + self._origin, middle - half, middle + half)

    def standing_axles(self, at: Geometry) -> Axles:
        """Where those run that stand on posts of their own (S,), by the nearest places of their posts."""
        found, some = at.once(self.axles), self._standing
        return Axles(found.azimuth[some], found.reed_mm[some], found.bell_mm[some])

    def _ends(self, at: Geometry) -> tuple[Array, Array]:
        """The first and the last arm of each axle [mm]: a touch or a pad."""
        places = np.concatenate([at.layout.position_mm, at.touches.position])
        tubes, rows = self._tubes(at), np.arange(len(self._arms))
        where = self._fold.carried(value_of(places)[self._arms], tubes[:, None])
        first, last = (self._arms[rows, pick(where, axis=1)] for pick in (np.argmin, np.argmax))
        return self._fold.carried(places[first], tubes), self._fold.carried(places[last], tubes)

    def _tubes(self, at: Geometry) -> np.ndarray:
        """The tube that each axle lies along (K,): that of its farthest pad."""
        return self._fold.tube(at.layout.position_mm[self._outer])

    def levers(self, at: Geometry) -> Levers:
        """Every lever from touch to pad (L,) [mm], in the order of `lever_rows`."""
        keywork, azimuth = self._keywork, at.once(self.axles).azimuth[self._axle]
        start, pad = picked(at.touches, self._key[self._axle]), picked(at.holes, self._hole)
        twisted = smooth_size(self._fold.depth(pad.position) - self._fold.depth(start.position))
        touch_arm = np.maximum(self._arm(at, start, azimuth), keywork.touch_arm_min_mm)
        pad_arm = np.maximum(self._arm(at, pad, azimuth), at.beside_pad_mm[self._hole])
        gives = pad_gives_mm(keywork.finger_force_n, touch_arm, pad_arm, twisted, keywork.axle_stock, keywork.arm)
        length = straight_line(twisted, self._around(start, pad))
        return Levers(length, touch_arm, pad_arm, twisted, gives, gives + self._play, at.pads.lift_mm[self._hole])

    def _arm(self, at: Geometry, end: Places, azimuth: Array) -> Array:
        """From the axles to their touches or pads (L,) [mm]: round the body, or straight across to another tube."""
        way = turned(end, azimuth)
        if self._fold.straight:
            return way
        beside = self._fold.carried(end.position, self._tubes(at)[self._axle])
        return self._crossed(end, Places(beside, azimuth, at.body_radius_at(beside)), way)

    def _around(self, start: Places, pad: Places) -> Array:
        """From touches to pads (L,) [mm]: round the body, or straight across to another tube."""
        way = around(start, pad)
        return way if self._fold.straight else self._crossed(start, pad, way)

    def _crossed(self, one: Places, other: Places, way: Array) -> Array:
        """Ways round the body (L,) [mm], those between two tubes straight, across them alone."""
        here, there = self._fold.points(one), self._fold.points(other)
        across = straight_line(there.y - here.y, there.z - here.z)
        return np.where(self._fold.tube(one.position) == self._fold.tube(other.position), way, across)

    def posts(self, at: Geometry) -> Posts:
        """The posts (2 S,), each shifted outward to that one of its places where it has most room: values alone."""
        return at.once(self._settled).posts

    def feet(self, at: Geometry) -> Places:
        """Where the posts stand (2 S,); no slope leads to another of their places."""
        ends, azimuth = at.once(self._ends_of_posts)
        position = ends + at.once(self._settled).shift
        return Places(position, azimuth, at.body_radius_at(position))

    def post_lacks(self, at: Geometry) -> Array:
        """How much each post lacks of the room it needs (2 S,) [mm]; no slope leads to another of its places."""
        least = at.once(self._settled).least
        if at.sloped:
            least = chained(least, (1.0, self._near_room(at)))
        return self._keywork.post_clearance_mm - least

    def _ends_of_posts(self, at: Geometry) -> tuple[Array, Array]:
        """Nearest places of the posts [mm] and their azimuths [rad], each (2 S,), those at the reed ends first."""
        found = at.once(self.standing_axles)
        return np.concatenate([found.reed_mm, found.bell_mm]), np.concatenate([found.azimuth, found.azimuth])

    def _settled(self, at: Geometry) -> Settled:
        """Where each post has most room: values alone."""
        ends, azimuth = map(value_of, at.once(self._ends_of_posts))
        position = ends[:, None] + self._outward
        feet = Places(position, azimuth[:, None], value_of(at.body_radius_at(position)))
        holes, joints = map_arrays(value_of, at.once(self._covered)), value_of(self._joints(at))
        half, half_joint = map(value_of, at.once(self._half_widths))
        to_holes = _room_to_holes(Points(*(values[..., None] for values in self._fold.points(feet))), holes, half)
        used = np.concatenate([at.joint_used, np.ones(self._bend.size, bool)])
        to_joints = np.where(used, _room_to_joints(position[..., None], joints, half_joint), -NEVER_MM)
        least, share = smooth_least(np.concatenate([to_holes, to_joints], axis=-1))
        best = np.arange(len(ends)), np.argmax(least, axis=1)
        foot = Places(position[best], azimuth, feet.height[best])
        return Settled(Posts(foot, to_holes[best], to_joints[best]), self._outward[best], least[best], share[best])

    def _near_room(self, at: Geometry) -> Array:
        """Room of each post (2 S,) [mm] as the mean over what stands near it, by shares as in a smooth minimum's slope;
        what has no share is left out."""
        settled, count = at.once(self._settled), self._azimuth.size + at.row_fingers.position.size
        (post, hole), (other, joint) = (np.nonzero(part) for part in np.split(settled.share, [count], axis=1))
        feet = at.once(self.feet)
        half, half_joint = at.once(self._half_widths)
        foot = picked(self._fold.points(feet), post)
        to_holes = _room_to_holes(foot, picked(at.once(self._covered), hole), half[hole])
        to_joints = _room_to_joints(feet.position[other], self._joints(at)[joint], half_joint[joint])
        of, near = np.concatenate([post, other]), np.concatenate([hole, count + joint])
        share = np.zeros((of.size, len(settled.share)))
        share[np.arange(of.size), of] = settled.share[of, near]
        return np.concatenate([to_holes, to_joints]) @ share

    def _covered(self, at: Geometry) -> Points:
        """Where holes and the fingers in rows lie in space (H + R,) [mm]."""
        return at.hole_points if at.fixed.rows is None else self._fold.points(joined(at.holes, at.row_fingers))

    def _half_widths(self, at: Geometry) -> tuple[Array, Array]:
        """How near the middle of a post may come to that of a hole or finger (H + R,) and of a joint (J,) [mm]."""
        post, cover = self._keywork.post_diameter_mm, at.cover_mm
        if at.fixed.rows is not None:
            breadth = np.full(at.row_fingers.position.size, at.project.hand.finger_breadth_mm)
            cover = np.concatenate([cover, breadth])
        half_joint = np.concatenate([0.5 * (at.joint_length + post), self._half_bend + 0.5 * post])
        return 0.5 * (cover + post), half_joint

    def _joints(self, at: Geometry) -> Array:
        """Middles of the joints and of the bends (J + B,) [mm], where no post stands."""
        return np.concatenate([at.layout.joint_mm, self._bend])


def _room_to_holes(feet: Points, holes: Points, half: Array) -> Array:
    return distance(feet, holes) - half


def _room_to_joints(position: Array, place: Array, half: Array) -> Array:
    return smooth_size(position - place) - half


def _padded_rows(rows: Sequence[tuple[int, ...]]) -> np.ndarray:
    """Rows of numbers as one table, short ones filled up with their last."""
    most = max((len(row) for row in rows), default=1)
    return np.array([(*row, *row[-1:] * (most - len(row))) for row in rows], int).reshape(-1, most)


@once
def axle_table(project: Project) -> AxleTable:
    """The axles of a project as arrays."""
    plans = axle_plans(project)
    return AxleTable(fixed_of(project), plans, with_posts(plans))
