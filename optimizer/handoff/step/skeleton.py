"""What a maker builds keywork on, as axes, discs and points with names: pads, rods, posts, arms, touches, fittings.

Millimetres of the whole instrument, finished: z down it from the reed end of the bore, x toward the front, y toward the
player's right; a folded body as it is held. A rod runs straight from its first post to its last, so far above the body
at both; touches and fittings lie on the body's surface, as the search counts them; a pad is drawn closed, its cup where
it stands when open. Arms are square to the rod, those from tube to tube of a folded body, too.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import radians
from typing import TypeAlias

import numpy as np

from optimizer.geometry.fold import Fold
from optimizer.geometry.space import Places, Points
from optimizer.handoff.shapes.link_axis import link_axis
from optimizer.records.keys import AxleRecord, KeyRecord
from optimizer.records.layout import HoleRecord, LayoutRecord

Place: TypeAlias = tuple[float, float, float]


@dataclass(frozen=True)
class Line:
    """An axis, from a place to a place."""

    name: str
    start: Place
    end: Place


@dataclass(frozen=True)
class Disc:
    """A round face about a place; facing: the direction at right angles to it."""

    name: str
    middle: Place
    facing: Place
    diameter_mm: float


@dataclass(frozen=True)
class Spot:
    """A point."""

    name: str
    place: Place


@dataclass(frozen=True)
class Bow:
    """A part of a circle, from a place by a middle one to a place."""

    name: str
    start: Place
    middle: Place
    end: Place


Mark: TypeAlias = Line | Disc | Spot | Bow


@dataclass(frozen=True)
class Group:
    """What belongs together, by its name."""

    name: str
    marks: tuple[Mark, ...]


def skeleton(record: LayoutRecord) -> list[Group]:
    """A layout's axes, discs and points, those of each key together.

    Parameters
    ----------
    record : the layout
    """
    body = _Body(record)
    holes = [*body.centre_line(), *(body.axis_of(hole) for hole in record.holes)]
    fittings = tuple(
        Spot(each.id.replace("_", " "), body.place(each.position_mm, each.azimuth_deg)) for each in record.fittings
    )
    groups = [
        Group("axes", tuple(holes)),
        Group("pads", tuple(mark for hole in record.holes for mark in body.pad(hole))),
        *(Group(f"key {key.id}", tuple(body.key(key))) for key in record.keys),
        Group("fittings", fittings),
    ]
    return [group for group in groups if group.marks]


def _place(points: Points) -> Place:
    return float(points.y), float(points.z), float(points.x)


class _Body:
    """The places of a layout in space, and what stands there."""

    def __init__(self, record: LayoutRecord) -> None:
        self.record, self.fold = record, Fold(record.bore.bends)

    def place(self, place_mm: float, azimuth_deg: float, above_mm: float = 0.0) -> Place:
        """A place so far along the centre line, above the body."""
        return self._off_axis(place_mm, azimuth_deg, 0.5 * self.record.bore.body_diameter_mm(place_mm) + above_mm)

    def _off_axis(self, place_mm: float, azimuth_deg: float, height_mm: float) -> Place:
        return _place(self.fold.points(Places(*map(np.array, (place_mm, radians(azimuth_deg), height_mm)))))

    def _over(self, hole: HoleRecord, above_mm: float) -> Place:
        """A place on a hole's axis, so far above its top."""
        top = 0.5 * hole.bore_diameter_mm + hole.chimney_mm
        return self._off_axis(hole.position_mm, hole.azimuth_deg, top + above_mm)

    def centre_line(self) -> Iterator[Mark]:
        """The axis of the bore: a line a tube, and the bends between them."""
        bends, begin = self.record.bore.bends, 0.0
        for number, end in enumerate([*(bend.at_mm for bend in bends), self.record.bore.points_mm[-1][0]], start=1):
            name = f"axis of tube {number}" if bends else "axis of the bore"
            yield Line(name, self._off_axis(begin, 0.0, 0.0), self._off_axis(end, 0.0, 0.0))
            for bend in bends[number - 1 : number]:
                places = bend.at_mm, 0.5 * (bend.at_mm + bend.end_mm), bend.end_mm
                yield Bow(f"axis of bend {bend.id}", *(self._off_axis(place, 0.0, 0.0) for place in places))
                begin = bend.end_mm

    def axis_of(self, hole: HoleRecord) -> Line:
        """From the bore's axis to the hole's top."""
        return Line(f"axis of {hole.id}", self._off_axis(hole.position_mm, 0.0, 0.0), self._over(hole, 0.0))

    def pad(self, hole: HoleRecord) -> Iterator[Mark]:
        """Its pad and its cup."""
        if hole.pad is not None:
            at = Places(*map(np.array, (hole.position_mm, radians(hole.azimuth_deg), 0.0)))
            facing = _place(self.fold.outward(at))
            yield Disc(f"pad of {hole.id}", self._over(hole, 0.0), facing, hole.pad.diameter_mm)
            open_at = self._over(hole, hole.pad.opening_mm)
            yield Disc(f"cup of {hole.id}, open", open_at, facing, hole.pad.cup_diameter_mm)

    def key(self, key: KeyRecord) -> Iterator[Mark]:
        """A key's rod with its posts, or the axis of a link; its touch, the arms of its levers, and what moves it."""
        touch = None
        if key.touch_position_mm is not None:
            touch = self.place(key.touch_position_mm, key.touch_azimuth_deg or 0.0)
            yield Spot(f"touch of {key.id}", touch)
        turns_on = self._turning(key)
        if turns_on is None:
            return
        if key.axle is not None:
            yield from self._rod(key.id, key.axle, turns_on)
        else:
            yield Line(f"axis of {key.id}", turns_on.start, turns_on.end)
            yield from self._movers(key)
        if touch is not None and key.levers:
            yield Line(f"touch arm of {key.id}", _beside(turns_on, touch), touch)
        holes = {hole.id: hole for hole in self.record.holes}
        for lever in key.levers:
            pad = self._over(holes[lever.hole], 0.0)
            yield Line(f"arm of {key.id} to {lever.hole}", _beside(turns_on, pad), pad)

    def _movers(self, key: KeyRecord) -> Iterator[Mark]:
        """Where each finger that moves a link lies on its hole."""
        for hole in self.record.holes:
            if hole.by in key.moved_by:
                yield Spot(f"{key.id} under {hole.by} at {hole.id}", self._over(hole, 0.0))

    def _turning(self, key: KeyRecord) -> Line | None:
        """What a key turns about: its rod from end post to end post, or a link's axis from its first arm to its
        last."""
        if key.axle is not None:
            places = [post.position_mm for post in key.axle.posts]
            ends, azimuth, height = (min(places), max(places)), key.axle.azimuth_deg, key.axle.height_mm
        else:
            axis = link_axis(self.record, key)
            if axis is None:
                return None
            ends, azimuth, height = (axis.from_mm, axis.to_mm), axis.azimuth_deg, axis.height_mm
        start, end = (self.place(place, azimuth, height) for place in ends)
        return Line(key.id, start, end)

    def _rod(self, key: str, axle: AxleRecord, line: Line) -> Iterator[Mark]:
        """The rod and its posts."""
        if len(axle.posts) > 1:
            yield Line(f"rod of {key}", line.start, line.end)
        for number, post in enumerate(axle.posts, start=1):
            foot = self.place(post.position_mm, axle.azimuth_deg)
            yield Line(f"post {number} of {key}", foot, _beside(line, foot))


def _beside(line: Line, place: Place) -> Place:
    """What of a key's turning line lies as far down the instrument as a place, beyond its ends, too."""
    (x0, y0, z0), (x1, y1, z1) = line.start, line.end
    share = (place[2] - z0) / (z1 - z0) if z1 != z0 else 0.0
    return x0 + share * (x1 - x0), y0 + share * (y1 - y0), place[2]
