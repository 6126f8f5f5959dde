"""Levers of a folded body whose arms cross from tube to tube: each cut across the tubes where the arm lies, at 1:1.

Seen from the reed end, the front above and the player's right on the right. An arm is square to the rod, and so lies in
one plane across all tubes. It is drawn straight from the middle of the rod to the touch or the pad; where a body is in
the way, that is told.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from optimizer.handoff.shapes.held import Held, Place, beside
from optimizer.handoff.shapes.link_axis import link_axis
from optimizer.handoff.sheets.plan import Plan, Point
from optimizer.project.bends import tubes_of
from optimizer.records.keys import KeyRecord
from optimizer.records.layout import LayoutRecord

TOLD = (
    "Finished sizes. Cut across the tubes where the arm lies, seen from the reed end: the front is above, the player's "
    "right on the right. Circles: body and bore of each tube; small circle: the rod; line: the arm, straight from the "
    "rod's middle to the touch on the body's surface, or to the middle of the pad, closed."
)
APART_MM = 16.0
TOUCHING_MM = 0.05
"""An arm that goes deeper below a body's surface leads through it; a touch lies on the surface itself."""


@dataclass(frozen=True)
class Crossing:
    """An arm from the rod of a key on one tube to its touch or to a pad on another one.

    what : it leads to, in words; to_touch : whether that is the key's touch
    rod, end : where it begins and ends in space
    rod_mm, rod_deg : a place along the centre line on the rod's tube, and the rod's azimuth [degrees]
    end_mm, end_deg : place along the centre line and azimuth [degrees] of touch or pad
    """

    key: str
    what: str
    to_touch: bool
    rod_tube: int
    end_tube: int
    rod: Place
    end: Place
    rod_mm: float
    rod_deg: float
    end_mm: float
    end_deg: float

    @property
    def arm_mm(self) -> float:
        """How long it is, straight [mm]."""
        return math.dist(self.rod, self.end)


def crossings(held: Held) -> list[Crossing]:
    """All arms from tube to tube, in the order of the keys."""
    if not held.record.bore.bends:
        return []
    return [lever for key in held.record.keys for lever in _of_key(held, key)]


def _of_key(held: Held, key: KeyRecord) -> Iterator[Crossing]:
    turning, rod = held.turning(key), _rod_of(held.record, key)
    if turning is None or rod is None:
        return
    rod_mm, rod_deg = rod
    ends = []
    touch = held.touch(key)
    if touch is not None and key.touch_position_mm is not None:
        name = f"what moves it ({key.touch})" if key.moved_by else f"its touch ({key.touch})"
        ends.append((name, True, key.touch_position_mm, key.touch_azimuth_deg or 0.0, touch))
    holes = {hole.id: hole for hole in held.record.holes}
    pads = [holes[lever.hole] for lever in key.levers]
    ends += [(f"the pad of {pad.id}", False, pad.position_mm, pad.azimuth_deg, held.over(pad)) for pad in pads]
    on = held.tube(rod_mm)
    for what, to_touch, place, azimuth, at in ends:
        if held.tube(place) != on:
            rod_at = beside(turning, at)
            yield Crossing(key.id, what, to_touch, on, held.tube(place), rod_at, at, rod_mm, rod_deg, place, azimuth)


def _rod_of(record: LayoutRecord, key: KeyRecord) -> tuple[float, float] | None:
    """A place along the centre line on the tube of a key's rod, or of what a link turns about, and its azimuth."""
    if key.axle is not None:
        return key.axle.posts[0].position_mm, key.axle.azimuth_deg
    axis = link_axis(record, key)
    return None if axis is None else (axis.from_mm, axis.azimuth_deg)


def crossing_plans(record: LayoutRecord) -> list[Plan]:
    """A plan for each key with arms from tube to tube, its arms side by side."""
    held = Held(record)
    return [_plan(held, name, list(levers)) for name, levers in groupby(crossings(held), key=lambda lever: lever.key)]


def _plan(held: Held, name: str, levers: list[Crossing]) -> Plan:
    title = f"{held.record.instrument}: {name}, from tube to tube"
    plan = Plan(f"keys-across-{name}", title, (TOLD,))
    right = 0.0
    for lever in levers:
        right = _section(plan, held, lever, right) + APART_MM
    return plan


def _section(plan: Plan, held: Held, lever: Crossing, left: float) -> float:
    """One arm in its plane across the tubes, to the right of a place; how far to the right it goes."""
    bodies = list(bodies_at(held, lever.end[2]))
    ends = [(lever.rod[1], lever.rod[0]), (lever.end[1], lever.end[0])]
    least = min([*(x - wide for _, (x, _), wide, _ in bodies), *(x for x, _ in ends)])

    def at(point: Point) -> Point:
        return point[0] - least + left, point[1]

    for number, middle, radius, bore in bodies:
        plan.circle("outline", at(middle), 2.0 * radius)
        plan.circle("marks", at(middle), 2.0 * bore)
        x, y = at(middle)
        plan.text((x, y - 1.0), f"tube {number + 1}", 2.2, anchor="middle")
    plan.circle("holes", at(ends[0]), _rod_wide_mm(held.record, lever.key))
    plan.line("outline", *map(at, ends))
    plan.cross("centres", at(ends[1]), 2.0)
    told = _told(lever, bodies, ends)
    foot = min([*(y - wide for _, (_, y), wide, _ in bodies), *(y for _, y in ends)]) - 7.0
    for line, words in enumerate(told):
        plan.text((left, foot - 4.5 * line), words)
    return plan.extent.right


def _told(lever: Crossing, bodies: list[tuple[int, Point, float, float]], ends: list[Point]) -> list[str]:
    """What is said of an arm: to what, how deep, how long, and what is in its way."""
    said = [
        f"{lever.key}: from what it turns about, on tube {lever.rod_tube + 1},",
        f"to {lever.what} on tube {lever.end_tube + 1}",
        f"{lever.end[2]:.2f} mm down the instrument",
        f"{lever.arm_mm:.2f} mm long, straight",
    ]
    met = [number + 1 for number, middle, radius, _ in bodies if _from_line(middle, *ends) < radius - TOUCHING_MM]
    if met:
        said.append(f"tube {' and '.join(map(str, met))} in its way: lead it round")
    return said


def _from_line(point: Point, start: Point, end: Point) -> float:
    """How far a point lies from the straight line between two others [mm]."""
    way, off = np.subtract(end, start), np.subtract(point, start)
    share = min(max(float(off @ way) / float(way @ way), 0.0), 1.0)
    return float(np.hypot(*(off - share * way)))


def bodies_at(held: Held, depth_mm: float) -> Iterator[tuple[int, Point, float, float]]:
    """Tubes at a depth: number from 0, where its axis lies to the right and to the front, radii of body and bore."""
    bore = held.record.bore
    for number, tube in enumerate(tubes_of(bore.bends)):
        place = tube.begin + tube.down * (depth_mm - tube.depth)
        if tube.begin <= place <= min(tube.end, bore.points_mm[-1][0]):
            radius = 0.5 * bore.body_diameter_mm(place)
            yield number, (tube.right, tube.front), radius, radius - bore.wall_mm


def _rod_wide_mm(record: LayoutRecord, key_id: str) -> float:
    """How wide the rod of a key is [mm]; of a link, which has none, a mark of 2 mm."""
    (key,) = (key for key in record.keys if key.id == key_id)
    return key.axle.outer_diameter_mm if key.axle else 2.0
