"""What a maker builds keywork on, as axes, discs and points with names: pads, rods, posts, arms, touches, fittings.

Millimetres along the whole instrument, finished: z from the reed end of the bore, x toward the front, y toward the
player's right. A rod runs straight from its first post to its last, so far above the body at both; touches and fittings
lie on the body's surface, as the search counts them; a pad is drawn closed, its cup where it stands when open.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, radians, sin
from typing import TypeAlias

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


Mark: TypeAlias = Line | Disc | Spot


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
    end = record.bore.points_mm[-1][0]
    holes: list[Mark] = [Line("axis of the bore", (0.0, 0.0, 0.0), (0.0, 0.0, end))]
    holes += [Line(f"axis of {hole.id}", _over(hole, -_crown_mm(hole)), _over(hole, 0.0)) for hole in record.holes]
    fittings = tuple(
        Spot(each.id.replace("_", " "), _on_body(record, each.position_mm, each.azimuth_deg))
        for each in record.fittings
    )
    groups = [
        Group("axes", tuple(holes)),
        Group("pads", tuple(mark for hole in record.holes for mark in _pad(hole))),
        *(Group(f"key {key.id}", tuple(_key(record, key))) for key in record.keys),
        Group("fittings", fittings),
    ]
    return [group for group in groups if group.marks]


def _crown_mm(hole: HoleRecord) -> float:
    """How far a hole's top lies from the bore's axis [mm]."""
    return 0.5 * hole.bore_diameter_mm + hole.chimney_mm


def _outward(azimuth_deg: float) -> Place:
    return cos(radians(azimuth_deg)), sin(radians(azimuth_deg)), 0.0


def _place(place_mm: float, azimuth_deg: float, height_mm: float) -> Place:
    """A place so far along the instrument and from its axis."""
    x, y, _ = _outward(azimuth_deg)
    return height_mm * x, height_mm * y, place_mm


def _on_body(record: LayoutRecord, place_mm: float, azimuth_deg: float, above_mm: float = 0.0) -> Place:
    return _place(place_mm, azimuth_deg, 0.5 * record.bore.body_diameter_mm(place_mm) + above_mm)


def _over(hole: HoleRecord, above_mm: float) -> Place:
    """A place on a hole's axis, so far above its top."""
    return _place(hole.position_mm, hole.azimuth_deg, _crown_mm(hole) + above_mm)


def _pad(hole: HoleRecord) -> Iterator[Mark]:
    if hole.pad is not None:
        facing = _outward(hole.azimuth_deg)
        yield Disc(f"pad of {hole.id}", _over(hole, 0.0), facing, hole.pad.diameter_mm)
        yield Disc(f"cup of {hole.id}, open", _over(hole, hole.pad.opening_mm), facing, hole.pad.cup_diameter_mm)


def _key(record: LayoutRecord, key: KeyRecord) -> Iterator[Mark]:
    """A key's rod with its posts, its touch, and the arms of its levers; a link's on the rod of what moves it."""
    touch = None
    if key.touch_position_mm is not None:
        touch = _on_body(record, key.touch_position_mm, key.touch_azimuth_deg or 0.0)
        yield Spot(f"touch of {key.id}", touch)
    if key.axle is not None:
        yield from _rod(record, key.id, key.axle)
    axle = _axle(record, key)
    if axle is None:
        return
    if touch is not None and key.levers:
        yield Line(f"touch arm of {key.id}", _on_rod(record, axle, touch[2]), touch)
    holes = {hole.id: hole for hole in record.holes}
    for lever in key.levers:
        hole = holes[lever.hole]
        yield Line(f"arm of {key.id} to {hole.id}", _on_rod(record, axle, hole.position_mm), _over(hole, 0.0))


def _axle(record: LayoutRecord, key: KeyRecord) -> AxleRecord | None:
    """The axle that a key turns on."""
    movers = [each for each in record.keys if each.id in key.moved_by]
    return next((each.axle for each in (key, *movers) if each.axle is not None), None)


def _rod(record: LayoutRecord, key: str, axle: AxleRecord) -> Iterator[Mark]:
    places = sorted(post.position_mm for post in axle.posts)
    if len(places) > 1:
        yield Line(f"rod of {key}", _on_rod(record, axle, places[0]), _on_rod(record, axle, places[-1]))
    for number, post in enumerate(axle.posts, start=1):
        foot = _on_body(record, post.position_mm, axle.azimuth_deg)
        yield Line(f"post {number} of {key}", foot, _on_rod(record, axle, post.position_mm))


def _on_rod(record: LayoutRecord, axle: AxleRecord, place_mm: float) -> Place:
    """A place on a rod's axis, beyond its ends, too, as arms of links may lie there."""
    low, high = (end(post.position_mm for post in axle.posts) for end in (min, max))
    first, last = (0.5 * record.bore.body_diameter_mm(place) + axle.height_mm for place in (low, high))
    slope = (last - first) / (high - low) if high > low else 0.0
    return _place(place_mm, axle.azimuth_deg, first + slope * (place_mm - low))
