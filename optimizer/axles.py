"""Axles of keys: where each runs, where its posts stand, and how much of a pad's opening its levers lose.

An axle lies along the body beside the pad that is farthest from its touch, as far from it as a post needs, and carries
an arm to the touch and one to each pad. It ends in a post beyond its last arm either way; long ones have more between,
which the maker shifts where there is room. On which side of the pad it lies is settled once for a project, by which
leaves its posts more room when every hole is in the middle of its range, unless the key says (`axle_deg`, `axle_side`).
A post takes the place with most room within `post_shift_max_mm` further out.
"""

from typing import NamedTuple

import jax
import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from acoustics.staging import staged
from optimizer.compiled_code import mark_of
from optimizer.joints import joint_sizes
from optimizer.kept import compiled_once, once
from optimizer.key_limits import cover_widths
from optimizer.key_places import KeyPlan, Places, around, hole_places, key_plans, picked, straight, touches
from optimizer.keywork import pad_sizes
from optimizer.layout import Layout, layout_bounds, numbers_of, top_diameter_mm, with_numbers
from optimizer.limits import NEVER_MM, body_radius_at
from optimizer.mechanics import pad_gives_mm
from optimizer.project import Hole, Project

SHIFT_MM = 4.0
"""Places for a post are looked at in steps of about this much."""

CROWDED_MM = 0.1
"""Rooms within this of the least count as the least together: a smooth minimum, at worst this times log(count) low."""

ARM_MOST = 0.95
"""An axle beside a pad wider than the body turns at most this far: arm over the body's diameter."""


class AxlePlan(NamedTuple):
    """What is settled of an axle before any layout: plan of its key, its holes, the farthest first; its side, clockwise
    of that pad where +1; or its azimuth [rad], where the key gives it."""

    plan: KeyPlan
    holes: tuple[int, ...]
    side: float
    azimuth: float | None


def with_posts(plans: list[AxlePlan]) -> list[AxlePlan]:
    """Axles that stand on posts of their own; a link rides on the axle of what moves it."""
    return [axle for axle in plans if axle.plan.key.pressed]


class Axles(NamedTuple):
    """Axles of a layout (K,): azimuth [rad], where the nearest place for the post at either end lies [mm]."""

    azimuth: Array
    reed_mm: Array
    bell_mm: Array


class Posts(NamedTuple):
    """Posts at the ends of axles (2 K,), those at the reed ends first: where they stand, and the room they have to the
    edge of what covers each hole (2 K, H) and to each joint (2 K, J) [mm]."""

    feet: Places
    to_holes: Array
    to_joints: Array

    @property
    def least(self) -> Array:
        """Room that each post has (2 K,) [mm], by a smooth minimum."""
        room = jnp.concatenate([self.to_holes, self.to_joints], axis=-1)
        least = jnp.min(room, axis=-1, keepdims=True)
        crowd = jnp.log(jnp.sum(jnp.exp((least - room) / CROWDED_MM), axis=-1))
        return least[..., 0] - CROWDED_MM * crowd


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
def axle_plans(project: Project) -> list[AxlePlan]:
    """Axle of every key whose finger has a place, on the side of its pad that leaves its posts more room."""
    middle = _middle(project)
    sides: tuple[list[AxlePlan], list[AxlePlan]] = ([], [])
    for plan, farthest in _farthest(project, middle):
        given = None if plan.key.axle_deg is None else float(np.radians(plan.key.axle_deg))
        for plans, side in zip(sides, (1.0, -1.0), strict=True):
            plans.append(AxlePlan(plan, farthest, side, given))

    @staged(closes_over=mark_of(project))
    def lacking(layout: Layout) -> list[Array]:
        return [jnp.max(jnp.reshape(post_lacks(layout, project, plans), (2, -1)), axis=0) for plans in sides]

    return [
        (one if here <= there else other) if (given := one.plan.key.axle_side) is None else _given(one, other, given)
        for one, other, here, there in zip(*sides, *lacking(middle), strict=True)
    ]


def farthest_pads(project: Project) -> dict[str, Hole]:
    """The hole beside whose pad the axle of each key lies, by the key's id; of keys whose finger has a place."""
    return {plan.key.id: project.holes[holes[0]] for plan, holes in _farthest(project, _middle(project))}


def _farthest(project: Project, middle: Layout) -> list[tuple[KeyPlan, tuple[int, ...]]]:
    """Every key with the numbers of its holes, the farthest from its touch first."""
    ids, where = [hole.id for hole in project.holes], np.asarray(middle.position_mm)
    found = []
    for plan, start in zip(key_plans(project), np.asarray(_starts(project, middle)), strict=True):
        holes = [ids.index(name) for name in (*plan.key.opens, *plan.key.closes)]
        found.append((plan, tuple(sorted(holes, key=lambda hole: -abs(where[hole] - start)))))
    return found


def _given(clockwise: AxlePlan, counter: AxlePlan, side: str) -> AxlePlan:
    return clockwise if side == "clockwise" else counter


def _middle(project: Project) -> Layout:
    low, high = layout_bounds(project)
    lowest, highest = numbers_of(low), numbers_of(high)
    return with_numbers(low, {name: 0.5 * (np.asarray(lowest[name]) + np.asarray(highest[name])) for name in lowest})


@compiled_once
def _starts(project: Project, layout: Layout) -> Array:
    plans = key_plans(project)
    return touches(layout, project, plans).position if plans else jnp.zeros(0)


def room_beside_pad(layout: Layout, project: Project) -> Array:
    """How far from the middle of each pad (H,) [mm] an axle must lie at least, for its posts' sake."""
    keywork = project.keywork
    cups = pad_sizes(top_diameter_mm(layout, project), keywork).cup_diameter_mm
    return 0.5 * (cups + keywork.post_diameter_mm) + keywork.post_clearance_mm


def axles(layout: Layout, project: Project, plans: list[AxlePlan]) -> Axles:
    """Where the axles run."""
    keywork = project.keywork
    starts = touches(layout, project, [axle.plan for axle in plans])
    pads = picked(hole_places(layout, project), np.array([axle.holes[0] for axle in plans], int))
    arm = room_beside_pad(layout, project)[np.array([axle.holes[0] for axle in plans], int)]
    turn = 2.0 * jnp.arcsin(jnp.minimum(arm / (2.0 * pads.radius), ARM_MOST))
    given = np.array([np.nan if axle.azimuth is None else axle.azimuth for axle in plans])
    beside = pads.azimuth + np.array([axle.side for axle in plans]) * turn
    azimuth = jnp.where(np.isnan(given), beside, np.nan_to_num(given))
    ends = [
        jnp.stack([starts.position[number], *(layout.position_mm[hole] for hole in axle.holes)])
        for number, axle in enumerate(plans)
    ]
    low, high = (jnp.stack([pick(end) for end in ends]) for pick in (jnp.min, jnp.max))
    middle = 0.5 * (low + high)
    half = jnp.maximum(0.5 * (high - low) + keywork.post_overhang_mm, 0.5 * keywork.axle_length_min_mm)
    return Axles(azimuth, middle - half, middle + half)


def lever_rows(plans: list[AxlePlan]) -> tuple[np.ndarray, np.ndarray]:
    """Axle and hole of every lever (L,)."""
    rows = [(number, hole) for number, axle in enumerate(plans) for hole in sorted(axle.holes)]
    table = np.array(rows, int).reshape(-1, 2)
    return table[:, 0], table[:, 1]


def levers(layout: Layout, project: Project, plans: list[AxlePlan]) -> Levers:
    """Every lever from touch to pad."""
    keywork = project.keywork
    axle, hole = lever_rows(plans)
    start = picked(touches(layout, project, [one.plan for one in plans]), axle)
    pad = picked(hole_places(layout, project), hole)
    azimuth = axles(layout, project, plans).azimuth[axle]
    twisted = jnp.sqrt((pad.position - start.position) ** 2 + 1e-6)
    touch_arm = jnp.maximum(around(start, start._replace(azimuth=azimuth)), keywork.touch_arm_min_mm)
    pad_arm = jnp.maximum(around(pad, pad._replace(azimuth=azimuth)), room_beside_pad(layout, project)[hole])
    gives = pad_gives_mm(keywork.finger_force_n, touch_arm, pad_arm, twisted, keywork.axle_stock, keywork.arm)
    linked = np.array([not one.plan.key.pressed for one in plans])[axle]
    play = 2.0 * keywork.pivot_play_mm + keywork.link_play_mm * linked
    opening = pad_sizes(top_diameter_mm(layout, project), keywork).lift_mm[hole]
    length = jnp.sqrt(twisted**2 + around(start, pad) ** 2)
    return Levers(length, touch_arm, pad_arm, twisted, gives, gives + play, opening)


def posts(layout: Layout, project: Project, plans: list[AxlePlan]) -> Posts:
    """The posts, each shifted outward to that one of its places where it has most room; no slope leads to another."""
    still = jax.tree.map(jax.lax.stop_gradient, layout)
    most = project.keywork.post_shift_max_mm
    shifts = np.linspace(0.0, most, 1 + int(np.ceil(most / SHIFT_MM)))
    tried = _shifted(still, project, plans, np.tile(shifts, (2 * len(plans), 1)))
    best = jnp.asarray(shifts)[jnp.argmax(tried.least, axis=1)]
    return _shifted(layout, project, plans, best)


def _shifted(layout: Layout, project: Project, plans: list[AxlePlan], shift: Array) -> Posts:
    """Posts shifted outward by so much (2 K, ...) [mm]."""
    keywork, found = project.keywork, axles(layout, project, plans)
    shape = (2 * len(plans), *(1,) * (shift.ndim - 1))
    outward = np.repeat([-1.0, 1.0], len(plans)).reshape(shape)
    position = jnp.concatenate([found.reed_mm, found.bell_mm]).reshape(shape) + outward * shift
    azimuth = jnp.tile(found.azimuth, 2).reshape(shape) + 0.0 * position
    feet = Places(position, azimuth, body_radius_at(position, layout, project))
    half = 0.5 * (keywork.post_diameter_mm + cover_widths(layout, project))
    to_holes = straight(Places(*(values[..., None] for values in feet)), hole_places(layout, project)) - half
    joint = jnp.zeros(0) if project.sections is None else joint_sizes(layout, project).length
    away = jnp.sqrt((position[..., None] - jnp.asarray(layout.joint_mm)) ** 2 + 1e-6)
    to_joints = away - 0.5 * (keywork.post_diameter_mm + joint)
    used = jnp.asarray(layout.choice.joint_used) > 0.5
    return Posts(feet, to_holes, jnp.where(used, to_joints, -NEVER_MM))


def post_lacks(layout: Layout, project: Project, plans: list[AxlePlan]) -> Array:
    """How much each post (2 K,) lacks of the room it needs [mm]."""
    if not plans:
        return jnp.zeros(0)
    return project.keywork.post_clearance_mm - posts(layout, project, plans).least
