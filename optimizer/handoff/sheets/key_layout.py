"""The keys laid flat on the body's surface, the whole instrument at 1:1: holes, cups, axles, posts, touches, fittings.

Every place lies at its own distance along the body, and as far round it as the body's own radius there makes it. Crook
and body are drawn along one straight line.
"""

import math

from optimizer.handoff.shapes.link_axis import link_axis
from optimizer.handoff.sheets.plan import Plan, Point
from optimizer.records.keys import KeyRecord
from optimizer.records.layout import HoleRecord, LayoutRecord

TOLD = (
    "Finished sizes, from the reed end of the bore. Azimuth grows downward, the front is the middle line; upper and "
    "lower edge are the back. Rods are drawn straight below where they run, on the body's surface."
)
TOUCH_MM = 6.0


def key_layout(record: LayoutRecord) -> Plan:
    """The plan; `keys` is its name."""
    plan = Plan("keys", f"{record.instrument}: key layout", (TOLD,))
    _body(plan, record)
    for hole in record.holes:
        _hole(plan, record, hole)
    for key in record.keys:
        _axle(plan, record, key)
        _touch(plan, record, key)
    for fitting in record.fittings:
        low, high = (fitting.position_mm + side * fitting.length_mm / 2.0 for side in (-1.0, 1.0))
        x, y = _place(record, fitting.position_mm, fitting.azimuth_deg)
        half = fitting.width_mm / 2.0
        plan.closed("marks", [(low, y - half), (high, y - half), (high, y + half), (low, y + half)])
        plan.text((x, y), fitting.id.replace("_", " "), 2.0, anchor="middle")
    return plan


def _radius(record: LayoutRecord, place_mm: float) -> float:
    return record.bore.body_diameter_mm(place_mm) / 2.0


def _place(record: LayoutRecord, place_mm: float, azimuth_deg: float) -> Point:
    return place_mm, -_radius(record, place_mm) * math.radians(azimuth_deg)


def _body(plan: Plan, record: LayoutRecord) -> None:
    """Edges at the back, the front line, joints and the crook's end."""
    places = [place for place, _ in record.bore.points_mm]
    upper = [_place(record, place, -180.0) for place in places]
    lower = [_place(record, place, 180.0) for place in places]
    plan.closed("outline", [*upper, *reversed(lower)])
    plan.line("marks", (places[0], 0.0), (places[-1], 0.0))
    ends = [("crook's end", record.bore.crook_end_mm)]
    ends += [(f"joint {n}", piece.to_mm) for n, piece in enumerate(record.pieces, start=1) if piece.joint is not None]
    for name, place in ends:
        if places[0] < place < places[-1]:
            top, bottom = _place(record, place, -180.0), _place(record, place, 180.0)
            plan.line("marks", top, bottom)
            plan.text((place + 0.8, top[1] - 3.4), f"{name}, {place:.2f}", 2.0)


def _hole(plan: Plan, record: LayoutRecord, hole: HoleRecord) -> None:
    centre = _place(record, hole.position_mm, hole.azimuth_deg)
    plan.circle("holes", centre, hole.top_diameter_mm)
    plan.cross("centres", centre, 1.5)
    if hole.pad is not None:
        plan.circle("marks", centre, hole.pad.cup_diameter_mm)
    wide = hole.top_diameter_mm if hole.pad is None else hole.pad.cup_diameter_mm
    plan.label((centre[0] + wide / 2.0 + 0.6, centre[1] - 0.9), hole.id, 2.2)


def _axle(plan: Plan, record: LayoutRecord, key: KeyRecord) -> None:
    axle = key.axle
    if axle is None:
        _link(plan, record, key)
        return
    places = sorted(post.position_mm for post in axle.posts)
    plan.line("outline", *(_place(record, place, axle.azimuth_deg) for place in places))
    for place in places:
        plan.circle("outline", _place(record, place, axle.azimuth_deg), axle.post_diameter_mm)
    x, y = _place(record, places[0], axle.azimuth_deg)
    plan.label((x + 4.0, y + 0.8), f"{key.id}: axle {axle.height_mm:g} above the body", 2.0)


def _link(plan: Plan, record: LayoutRecord, key: KeyRecord) -> None:
    """What a link turns about; it has no posts, and its touch is whatever moves it."""
    axis = link_axis(record, key)
    if axis is not None:
        x, y = _place(record, axis.from_mm, axis.azimuth_deg)
        plan.line("marks", (x, y), _place(record, axis.to_mm, axis.azimuth_deg))
        plan.label((x + 4.0, y + 0.8), f"{key.id} turns about this", 2.0)


def _touch(plan: Plan, record: LayoutRecord, key: KeyRecord) -> None:
    if key.touch_position_mm is None or key.moved_by:
        return
    x, y = _place(record, key.touch_position_mm, key.touch_azimuth_deg or 0.0)
    half = TOUCH_MM / 2.0
    plan.closed("holes", [(x - half, y), (x, y - half), (x + half, y), (x, y + half)])
    plan.label((x + half + 0.6, y - 0.9), f"touch of {key.id}, {key.touch}", 2.0)
