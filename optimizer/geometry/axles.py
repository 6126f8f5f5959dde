"""Axles of keys: where each runs, and how much of a pad's opening its levers lose.

An axle lies along the body beside the pad that is farthest from its touch, as far from it as a post needs, and carries
an arm to the touch and one to each pad. On which side of the pad it lies is settled once for a project
(`axle_plans.py`); a link rides on the axle of what moves it. On a folded body it lies along that pad's tube, and arms
cross from tube to tube.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array
from acoustics.duals import value_of
from optimizer.geometry.measured_layout import Fixed, Geometry
from optimizer.geometry.space import Places, around, picked, smooth_size, straight_line, turn_of_chord, turned
from optimizer.geometry.touches import key_plans
from optimizer.project.mechanics import pad_gives_mm
from optimizer.project.touches import KeyPlan

ARM_MOST = 0.95
"""An axle beside a pad wider than the body turns at most this far: arm over the body's diameter."""


class AxlePlan(NamedTuple):
    """What is settled of an axle before any layout: plan of its key, its holes, the farthest first; its side, clockwise
    of that pad where +1; or its azimuth [rad], where the key gives it."""

    plan: KeyPlan
    holes: tuple[int, ...]
    side: float
    azimuth: float | None


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


def lever_rows(plans: Sequence[AxlePlan]) -> tuple[np.ndarray, np.ndarray]:
    """Axle and hole of every lever (L,)."""
    rows = [(number, hole) for number, axle in enumerate(plans) for hole in sorted(axle.holes)]
    table = np.array(rows, int).reshape(-1, 2)
    return table[:, 0], table[:, 1]


class AxleTable:
    """Plans of axles as arrays (K,)."""

    def __init__(self, fixed: Fixed, plans: Sequence[AxlePlan]) -> None:
        self._keywork, azimuth, keys = fixed.project.keywork, fixed.azimuth, key_plans(fixed.project)
        self.plans, self._fold = tuple(plans), fixed.fold
        self._outer = np.array([axle.holes[0] for axle in plans], int)
        self._key = np.array([keys.index(axle.plan) for axle in plans], int)
        free = np.array([axle.azimuth is None for axle in plans], bool)
        self._origin = np.where(free, azimuth[self._outer], [axle.azimuth or 0.0 for axle in plans])
        self._side = np.array([axle.side for axle in plans]) * free
        touches = azimuth.size + self._key
        self._arms = _padded_rows([(*axle.holes, touch) for axle, touch in zip(plans, touches, strict=True)])
        self._axle, self._hole = lever_rows(plans)
        linked = np.array([not axle.plan.key.pressed for axle in plans], bool)[self._axle]
        self._play = 2.0 * self._keywork.pivot_play_mm + self._keywork.link_play_mm * linked

    def axles(self, at: Geometry) -> Axles:
        """Where the axles run (K,): azimuth [rad], ends [mm]."""
        arm, radius = at.beside_pad_mm[self._outer], at.body_radius[self._outer]
        turn = turn_of_chord(arm, radius, ARM_MOST)
        low, high = self._ends(at)
        middle = 0.5 * (low + high)
        reach = 0.5 * (high - low) + self._keywork.post_overhang_mm
        half = np.maximum(reach, 0.5 * self._keywork.axle_length_min_mm)
        return Axles(turn * self._side + self._origin, middle - half, middle + half)

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


def _padded_rows(rows: Sequence[tuple[int, ...]]) -> np.ndarray:
    """Rows of numbers as one table, short ones filled up with their last."""
    most = max((len(row) for row in rows), default=1)
    return np.array([(*row, *row[-1:] * (most - len(row))) for row in rows], int).reshape(-1, most)
