"""Posts of axles: where they stand, and the room they have.

An axle ends in a post beyond its last arm either way; long ones have more between, which the maker shifts where there
is room. A post takes the place with most room within `post_shift_max_mm` further out. Room beside a post is a smooth
minimum over all that stands near, one constraint of a post; places of posts stay out of x. A link rides on the axle of
what moves it and has no posts.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array, Floats, map_arrays
from acoustics.duals import chained, value_of
from optimizer.geometry.axles import AxlePlan, Axles, AxleTable
from optimizer.geometry.measured_layout import Fixed, Geometry
from optimizer.geometry.space import Places, Points, distance, joined, picked, smooth_size
from optimizer.geometry.surface import NEVER_MM, smooth_least

SHIFT_MM = 4.0
"""Places for a post are looked at in steps of about this much."""


def with_posts(plans: Sequence[AxlePlan]) -> list[AxlePlan]:
    """Axles that stand on posts of their own; a link rides on the axle of what moves it."""
    return [axle for axle in plans if axle.plan.key.pressed]


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


class PostTable:
    """The axles that stand on posts of their own (S,), and these."""

    def __init__(self, fixed: Fixed, axles: AxleTable, standing: Sequence[AxlePlan]) -> None:
        self._keywork, self._fold, self._axles, bends = fixed.project.keywork, fixed.fold, axles, fixed.project.bends
        self._holes = fixed.azimuth.size
        self._bend = np.array([0.5 * (bend.at_mm + bend.end_mm) for bend in bends])
        self._half_bend = np.array([0.5 * bend.length_mm for bend in bends])
        self.standing = tuple(standing)
        self._standing = np.array([axles.plans.index(axle) for axle in standing], int)
        most = self._keywork.post_shift_max_mm
        shifts = np.linspace(0.0, most, 1 + int(np.ceil(most / SHIFT_MM)))
        self._outward = np.repeat([-1.0, 1.0], len(standing))[:, None] * shifts

    def standing_axles(self, at: Geometry) -> Axles:
        """Where those run that stand on posts of their own (S,), by the nearest places of their posts."""
        found, some = at.once(self._axles.axles), self._standing
        return Axles(found.azimuth[some], found.reed_mm[some], found.bell_mm[some])

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
        settled, count = at.once(self._settled), self._holes + at.row_fingers.position.size
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
