"""What a maker builds keywork on, as axes, discs and points with names: pads, rods, posts, arms, touches, fittings.

Millimetres along the whole instrument, finished: z from the reed end of the bore, x toward the front, y toward the
player's right. A rod runs straight from its first post to its last, so far above the body at both; touches and fittings
lie on the body's surface, as the search counts them; a pad is drawn closed, its cup where it stands when open.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, radians, sin
from typing import TypeAlias

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
    """A key's rod with its posts, or the axis of a link; its touch, the arms of its levers, and what moves it."""
    touch = None
    if key.touch_position_mm is not None:
        touch = _on_body(record, key.touch_position_mm, key.touch_azimuth_deg or 0.0)
        yield Spot(f"touch of {key.id}", touch)
    turns_on = _turning(record, key)
    if turns_on is None:
        return
    if key.axle is not None:
        yield from _rod(record, key.id, key.axle)
    else:
        yield Line(f"axis of {key.id}", turns_on.start, turns_on.end)
        yield from _movers(record, key)
    if touch is not None and key.levers:
        yield Line(f"touch arm of {key.id}", _beside(turns_on, touch[2]), touch)
    holes = {hole.id: hole for hole in record.holes}
    for lever in key.levers:
        hole = holes[lever.hole]
        yield Line(f"arm of {key.id} to {hole.id}", _beside(turns_on, hole.position_mm), _over(hole, 0.0))


def _movers(record: LayoutRecord, key: KeyRecord) -> Iterator[Mark]:
    """Where each finger that moves a link lies on its hole."""
    for hole in record.holes:
        if hole.by in key.moved_by:
            yield Spot(f"{key.id} under {hole.by} at {hole.id}", _over(hole, 0.0))


def _turning(record: LayoutRecord, key: KeyRecord) -> Line | None:
    """What a key turns about: its rod from end post to end post, or a link's axis from its first arm to its last."""
    if key.axle is not None:
        places = [post.position_mm for post in key.axle.posts]
        ends, azimuth, height = (min(places), max(places)), key.axle.azimuth_deg, key.axle.height_mm
    else:
        axis = link_axis(record, key)
        if axis is None:
            return None
        ends, azimuth, height = (axis.from_mm, axis.to_mm), axis.azimuth_deg, axis.height_mm
    start, end = (_on_body(record, place, azimuth, height) for place in ends)
    return Line(key.id, start, end)


def _rod(record: LayoutRecord, key: str, axle: AxleRecord) -> Iterator[Mark]:
    places = [post.position_mm for post in axle.posts]
    start, end = (_on_body(record, place, axle.azimuth_deg, axle.height_mm) for place in (min(places), max(places)))
    rod = Line(f"rod of {key}", start, end)
    if len(places) > 1:
        yield rod
    for number, place in enumerate(places, start=1):
        yield Line(f"post {number} of {key}", _on_body(record, place, axle.azimuth_deg), _beside(rod, place))


def _beside(line: Line, place_mm: float) -> Place:
    """A place on what a key turns about, beyond its ends, too [mm]."""
    (x0, y0, z0), (x1, y1, z1) = line.start, line.end
    share = (place_mm - z0) / (z1 - z0) if z1 > z0 else 0.0
    return x0 + share * (x1 - x0), y0 + share * (y1 - y0), place_mm
