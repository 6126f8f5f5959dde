"""Zones of the body kept clear for fittings: where each lies, and how much room it could have.

A zone is a rectangle on the body's unrolled surface. Of places across its range each fitting takes the one nearest the
middle that leaves it the room it wants, or the one with most room where none does, one fitting after the other as the
project lists them; like those of posts, places stay out of x. Its limit asks for the place with most room.

| what stands near | as | how wide |
|---|---|---|
| holes | disc | cup or bare finger |
| touches of plates and keys, thumbs and little fingers at rest | disc | a finger |
| posts | disc | `post_diameter_mm` |
| axles | line along the body | their stock |
| joints, the crook, what lies beyond the bell, bends | the whole way round | their length |
| fittings listed before | rectangle | their own size |

Room is the distance between the two outlines, below 0 where they overlap. It is a smooth minimum over all that stands
near (`surface.smooth_least`), one constraint of a fitting.
"""

from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array, Floats, map_arrays
from acoustics.duals import chained, value_of
from optimizer.geometry.axle_plans import post_table
from optimizer.geometry.measured_layout import Geometry
from optimizer.geometry.per_project import once
from optimizer.geometry.space import picked, size_of_turn, smooth_size
from optimizer.geometry.surface import smooth_least
from optimizer.geometry.touches import key_plans
from optimizer.project.fittings import Fitting
from optimizer.project.model import Project

STEP_MM = 4.0
"""Places for a fitting are looked at in steps of about this much."""

BEYOND_MM = 1e4
"""Half as long is what lies before the body and beyond it."""


class Things(NamedTuple):
    """What stands on the body (O,): middle along it [mm], azimuth [rad], half its length along the body and half its
    width round it [mm], and the radius of its rounded outline [mm]. All the way round where the width has no end."""

    position: Array
    azimuth: Array
    half_length: Array
    half_width: Array
    radius: Array


class Placed(NamedTuple):
    """Where the fittings of a layout lie (F,) [mm], with the room to each thing and to each fitting (F, O + F) [mm];
    where each would have most room (F,) [mm], how much by a smooth minimum (F,) [mm], and what share each thing has in
    that (F, O)."""

    position: Floats
    room: Floats
    roomiest: Floats
    least: Floats
    share: Floats


class FittingTable:
    """The fittings of a project as arrays, and what stands near them in a layout."""

    def __init__(self, project: Project) -> None:
        self.fittings = project.fittings
        self._project, self._posts = project, post_table(project)
        plans = key_plans(project)
        worked = [hole.by != "key" for hole in project.holes]
        self._touched = np.flatnonzero(worked)
        first = {plan.key.touch: number for number, plan in reversed(list(enumerate(plans)))}
        self._resting = np.array([number for finger, number in sorted(first.items()) if finger[1] in "4T"], int)
        self._pressed = np.array([number for number, plan in enumerate(plans) if plan.key.pressed], int)
        self._bend = np.array([0.5 * (bend.at_mm + bend.end_mm) for bend in project.bends])
        self._half_bend = np.array([0.5 * bend.length_mm for bend in project.bends])
        self._zones = Things(
            np.full(len(self.fittings), -BEYOND_MM),
            np.radians([each.azimuth_deg for each in self.fittings]),
            np.array([0.5 * each.length_mm for each in self.fittings]),
            np.array([0.5 * each.width_mm for each in self.fittings]),
            np.zeros(len(self.fittings)),
        )
        self.names = [
            *(hole.id for hole in project.holes),
            *(project.holes[hole].by for hole in self._touched),
            *(plans[number].key.touch for number in self._resting),
            *(f"the touch of {plans[number].key.id}" for number in self._pressed),
            *(f"a post of {axle.plan.key.id}" for axle in (*self._posts.standing, *self._posts.standing)),
            *(f"the rod of {axle.plan.key.id}" for axle in self._posts.standing),
            *(f"joint {number + 1}" for number in range(project.sections.joints[1] if project.sections else 0)),
            "the crook",
            "the bell end",
            *(f"bend {bend.id}" for bend in project.bends),
            *(each.id for each in self.fittings),
        ]

    def groups(self, at: Geometry) -> list[Things]:
        """All that stands on the body of a layout but fittings, kind by kind, in the order of `names`."""
        keywork, holes, layout = self._project.keywork, at.holes, at.layout
        posts, axles = at.once(self._posts.feet), at.once(self._posts.standing_axles)
        finger, touched = 0.5 * self._project.hand.finger_breadth_mm, picked(holes, self._touched)
        fingers = (
            touched._replace(position=at.touch_mm[self._touched]),
            picked(at.rests, self._resting),
            picked(at.touches, self._pressed),
        )
        middle, half = 0.5 * (axles.reed_mm + axles.bell_mm), 0.5 * (axles.bell_mm - axles.reed_mm)
        joints = np.where(at.joint_used, layout.joint_mm, -BEYOND_MM)
        crook, bell = np.array([self._project.bore.crook_end_mm]), np.atleast_1d(layout.end_mm)
        return [
            _group(holes.position, holes.azimuth, radius=0.5 * at.cover_mm),
            *(_group(places.position, places.azimuth, radius=finger) for places in fingers),
            _group(posts.position, posts.azimuth, radius=0.5 * keywork.post_diameter_mm),
            _group(middle, axles.azimuth, half, radius=0.5 * keywork.stock_outer_mm),
            _group(joints, 0.0, 0.5 * at.joint_length, np.inf),
            _group(crook - BEYOND_MM, 0.0, BEYOND_MM, np.inf),
            _group(bell + BEYOND_MM, 0.0, BEYOND_MM, np.inf),
            _group(self._bend, 0.0, self._half_bend, np.inf),
        ]

    def lacks(self, at: Geometry) -> Array:
        """How much each fitting lacks of the room it needs (F,) [mm]; no slope leads to another place in its
        range."""
        placed = at.once(self.placed)
        least: Array = placed.least
        if at.sloped:
            least = chained(least, (1.0, self._near_room(at, placed)))
        return np.array([each.clear_mm for each in self.fittings]) - least

    def placed(self, at: Geometry) -> Placed:
        """Where the fittings lie: values alone. Those not placed yet are far off."""
        groups = [map_arrays(value_of, group) for group in at.once(self.groups)]
        things = map_arrays(lambda *parts: np.concatenate(parts), *groups)
        count = things.position.size
        near = map_arrays(lambda *parts: np.concatenate(parts), things, self._zones)
        rows = []
        for number, fitting in enumerate(self.fittings):
            places = _places(fitting)
            radius = value_of(at.body_radius_at(places))
            room = _room(fitting, places[:, None], radius[:, None], near)
            least, share = smooth_least(room)
            best, wants = int(np.argmax(least)), least >= fitting.clear_mm
            off_middle = np.where(wants, np.abs(places - 0.5 * sum(fitting.position_mm)), np.inf)
            taken = int(np.argmin(off_middle)) if wants.any() else best
            near.position[count + number] = places[taken]
            rows.append((places[taken], room[taken], places[best], least[best], share[best, :count]))
        return Placed(*(np.array(column) for column in zip(*rows, strict=True)))

    def _near_room(self, at: Geometry, placed: Placed) -> Array:
        """Room of each fitting (F,) [mm] as the mean over what stands near it, by its share; fittings stay put."""
        groups = at.once(self.groups)
        ends = np.cumsum([group.position.size for group in groups])[:-1]
        return np.stack(
            [
                sum(
                    _near(fitting, at, place, group, part)
                    for group, part in zip(groups, np.split(share, ends), strict=True)
                    if part.any()
                )
                for fitting, place, share in zip(self.fittings, placed.roomiest, placed.share, strict=True)
            ]
        )


def _near(fitting: Fitting, at: Geometry, place: float, group: Things, share: Floats) -> Array:
    """Room of a fitting at a place to some things, each by its share, in all."""
    some = np.flatnonzero(share)
    room = _room(fitting, place, at.body_radius_at(np.full(some.size, place)), Things(*(part[some] for part in group)))
    return np.sum(room * share[some])


def _group(
    position: Array, azimuth: Array | float, half_length: Array | float = 0.0, half_width: float = 0.0,
    radius: Array | float = 0.0,
) -> Things:  # fmt: skip
    """Things of one kind; what is one number holds for all of them."""
    rows = (position, azimuth, half_length, half_width, radius)
    return Things(*(row if np.ndim(row) else np.full(np.shape(position), row) for row in rows))


def _places(fitting: Fitting) -> np.ndarray:
    """Places across a fitting's range [mm]."""
    low, high = fitting.position_mm
    return np.linspace(low, high, 1 + int(np.ceil((high - low) / STEP_MM)))


def _room(fitting: Fitting, place: Array | float, radius: Array, things: Things) -> Array:
    """Room from a fitting at places to things, in broadcast shape [mm]; below 0 where they overlap.

    Parameters
    ----------
    fitting : of which size
    place : its middle [mm]
    radius : of the body there [mm]
    things : what stands near
    """
    along = smooth_size(things.position - place) - things.half_length - 0.5 * fitting.length_mm
    turn = size_of_turn(things.azimuth - np.radians(fitting.azimuth_deg))
    round_ = turn * radius - (things.half_width + 0.5 * fitting.width_mm)
    return outside(along, round_) - things.radius


def outside(along: Array, round_: Array) -> Array:
    """Distance from a rectangle's outline, of any shape, in the units of how far a point lies beyond its edges along
    and round; below 0 inside it, where the nearest edge counts."""
    first, second = value_of(along), value_of(round_)
    corner = (first > 0.0) & (second > 0.0)
    size = np.sqrt(np.where(corner, first, 1.0) ** 2 + np.where(corner, second, 1.0) ** 2)
    by_first = np.where(corner, first / size, first >= second)
    by_second = np.where(corner, np.where(corner, second, 0.0) / size, first < second)
    return chained(np.where(corner, size, np.maximum(first, second)), (by_first, along), (by_second, round_))


@once
def fitting_table(project: Project) -> FittingTable:
    """The fittings of a project as arrays."""
    return FittingTable(project)
