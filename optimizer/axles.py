"""Axles of keys: where each runs, and how much of a pad's opening its levers lose.

An axle lies along the body beside the pad that is farthest from its touch, at least as far from it as a post needs, and
carries an arm to the touch and one to each pad. On which side of the pad it lies, how much further round the body and
how high is settled once for a project (`axle_ways`); its posts are `posts`.
"""

from typing import NamedTuple

import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from optimizer.joints import joint_sizes
from optimizer.key_places import KeyPlan, around, hole_places, picked, touches
from optimizer.keywork import pad_sizes
from optimizer.layout import Layout, top_diameter_mm
from optimizer.mechanics import pad_gives_mm
from optimizer.project import Project

ARM_MOST = 0.95
"""An axle beside a pad wider than the body turns at most this far: arm over the body's diameter."""


class AxlePlan(NamedTuple):
    """What is settled of an axle before any layout: plan of its key, its holes, the farthest first; its side, clockwise
    of that pad where +1, and how much further round [rad]; its height; its azimuth [rad], where the key gives it."""

    plan: KeyPlan
    holes: tuple[int, ...]
    side: Array | float
    further: Array | float
    height_mm: Array | float
    azimuth: float | None


def with_posts(plans: list[AxlePlan]) -> list[AxlePlan]:
    """Axles that stand on posts of their own; a link rides on the axle of what moves it."""
    return [axle for axle in plans if axle.plan.key.pressed]


class Axles(NamedTuple):
    """Axles of a layout (K,): azimuth [rad], where the nearest place for the post at either end lies [mm]."""

    azimuth: Array
    reed_mm: Array
    bell_mm: Array


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


class Breaks(NamedTuple):
    """Where the body comes apart (B,): middles, lengths [mm] and which there are; the crook's end first, if it has one,
    then the joints from the reed."""

    middle_mm: Array
    length_mm: Array
    used: Array


def breaks(layout: Layout, project: Project) -> Breaks:
    """Where a layout's body comes apart; the crook's socket counts without length."""
    crook = project.bore.crook_end_mm
    has = int(crook > 0.0)
    length = jnp.zeros(0) if project.sections is None else joint_sizes(layout, project).length
    place = jnp.asarray(layout.joint_mm) if project.sections is not None else jnp.zeros(0)
    used = jnp.asarray(layout.choice.joint_used) > 0.5 if project.sections is not None else jnp.zeros(0, bool)
    return Breaks(
        jnp.concatenate([jnp.full(has, crook), place]),
        jnp.concatenate([jnp.zeros(has), length]),
        jnp.concatenate([jnp.ones(has, bool), used]),
    )


def stacked(values: list[Array | float]) -> Array:
    """Numbers of the axles as an array (K,)."""
    return jnp.stack([jnp.asarray(value, float) for value in values])


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
    turn = turn + stacked([axle.further for axle in plans])
    beside = pads.azimuth + stacked([axle.side for axle in plans]) * turn
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


def levers(
    layout: Layout, project: Project, plans: list[AxlePlan], span_mm: Array | float = 0.0, cut: Breaks | None = None
) -> Levers:
    """Every lever from touch to pad; span_mm: between the posts of each axle (K,), 0 where it has none."""
    keywork = project.keywork
    axle, hole = lever_rows(plans)
    start = picked(touches(layout, project, [one.plan for one in plans]), axle)
    pad = picked(hole_places(layout, project), hole)
    azimuth = axles(layout, project, plans).azimuth[axle]
    twisted = jnp.sqrt((pad.position - start.position) ** 2 + 1e-6)
    touch_arm = jnp.maximum(around(start, start._replace(azimuth=azimuth)), keywork.touch_arm_min_mm)
    pad_arm = jnp.maximum(around(pad, pad._replace(azimuth=azimuth)), room_beside_pad(layout, project)[hole])
    span = (jnp.zeros(len(plans)) + span_mm)[axle]
    gives = pad_gives_mm(keywork.finger_force_n, touch_arm, pad_arm, twisted, keywork.axle_stock, keywork.arm, span)
    linked = np.array([not one.plan.key.pressed for one in plans])[axle]
    cut = breaks(layout, project) if cut is None else cut
    between = (cut.middle_mm - start.position[:, None]) * (cut.middle_mm - pad.position[:, None]) < 0.0
    bridged = jnp.sum(between & cut.used, axis=1)
    play = 2.0 * keywork.pivot_play_mm + keywork.link_play_mm * linked + keywork.bridge_play_mm * bridged
    opening = pad_sizes(top_diameter_mm(layout, project), keywork).lift_mm[hole]
    length = jnp.sqrt(twisted**2 + around(start, pad) ** 2)
    return Levers(length, touch_arm, pad_arm, twisted, gives, gives + play, opening)
