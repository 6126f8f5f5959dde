"""What a maker builds keywork on, as axes, discs and points with names: pads, rods, posts, arms, touches, fittings.

Millimetres of the whole instrument, finished: z down it from the reed end of the bore, x toward the front, y toward the
player's right; a folded body as it is held. A rod runs straight from its first post to its last, so far above the body
at both; touches and fittings lie on the body's surface, as the search counts them; a pad is drawn closed, its cup where
it stands when open. Arms are square to the rod, those from tube to tube of a folded body, too.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

from optimizer.handoff.shapes.held import Held, Place, Turning, beside
from optimizer.records.keys import AxleRecord, KeyRecord
from optimizer.records.layout import HoleRecord, LayoutRecord


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
    held = Held(record)
    holes = [*_centre_line(held), *(_axis_of(held, hole) for hole in record.holes)]
    fittings = tuple(
        Spot(each.id.replace("_", " "), held.above(each.position_mm, each.azimuth_deg)) for each in record.fittings
    )
    groups = [
        Group("axes", tuple(holes)),
        Group("pads", tuple(mark for hole in record.holes for mark in _pad(held, hole))),
        *(Group(f"key {key.id}", tuple(_key(held, key))) for key in record.keys),
        Group("fittings", fittings),
    ]
    return [group for group in groups if group.marks]


def _centre_line(held: Held) -> Iterator[Mark]:
    """The axis of the bore: a line a tube, and the bends between them."""
    bends, begin = held.record.bore.bends, 0.0
    for number, end in enumerate([*(bend.at_mm for bend in bends), held.record.bore.points_mm[-1][0]], start=1):
        name = f"axis of tube {number}" if bends else "axis of the bore"
        yield Line(name, held.off_axis(begin, 0.0, 0.0), held.off_axis(end, 0.0, 0.0))
        for bend in bends[number - 1 : number]:
            places = bend.at_mm, 0.5 * (bend.at_mm + bend.end_mm), bend.end_mm
            yield Bow(f"axis of bend {bend.id}", *(held.off_axis(place, 0.0, 0.0) for place in places))
            begin = bend.end_mm


def _axis_of(held: Held, hole: HoleRecord) -> Line:
    """From the bore's axis to the hole's top."""
    return Line(f"axis of {hole.id}", held.off_axis(hole.position_mm, 0.0, 0.0), held.over(hole))


def _pad(held: Held, hole: HoleRecord) -> Iterator[Mark]:
    if hole.pad is not None:
        facing = held.facing(hole)
        yield Disc(f"pad of {hole.id}", held.over(hole), facing, hole.pad.diameter_mm)
        yield Disc(f"cup of {hole.id}, open", held.over(hole, hole.pad.opening_mm), facing, hole.pad.cup_diameter_mm)


def _key(held: Held, key: KeyRecord) -> Iterator[Mark]:
    """A key's rod with its posts, or the axis of a link; its touch, the arms of its levers, and what moves it."""
    touch, turning = held.touch(key), held.turning(key)
    if touch is not None:
        yield Spot(f"touch of {key.id}", touch)
    if turning is None:
        return
    if key.axle is not None:
        yield from _rod(held, key.id, key.axle, turning)
    else:
        yield Line(f"axis of {key.id}", *turning)
        yield from _movers(held, key)
    if touch is not None and key.levers:
        yield Line(f"touch arm of {key.id}", beside(turning, touch), touch)
    holes = {hole.id: hole for hole in held.record.holes}
    for lever in key.levers:
        pad = held.over(holes[lever.hole])
        yield Line(f"arm of {key.id} to {lever.hole}", beside(turning, pad), pad)


def _movers(held: Held, key: KeyRecord) -> Iterator[Mark]:
    """Where each finger that moves a link lies on its hole."""
    for hole in held.record.holes:
        if hole.by in key.moved_by:
            yield Spot(f"{key.id} under {hole.by} at {hole.id}", held.over(hole))


def _rod(held: Held, key: str, axle: AxleRecord, turning: Turning) -> Iterator[Mark]:
    if len(axle.posts) > 1:
        yield Line(f"rod of {key}", *turning)
    for number, post in enumerate(axle.posts, start=1):
        foot = held.above(post.position_mm, axle.azimuth_deg)
        yield Line(f"post {number} of {key}", foot, beside(turning, foot))
