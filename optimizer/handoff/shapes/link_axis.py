"""The line that a link turns about: a link stands on no posts of its own.

Where files lack its azimuth, it is found by its arms: the search counts it beside the pad that is farthest from its
touch, a pad arm round the body from it, and on which side, the touch arm tells. It lies as high above the body as an
axle of what moves it, or as the lowest there is; on a folded body, along the tube of that pad.
"""

from math import degrees, radians
from typing import NamedTuple

import numpy as np

from optimizer.geometry.fold import Fold
from optimizer.project.bends import depth_at
from optimizer.records.keys import KeyRecord, LeverRecord
from optimizer.records.layout import LayoutRecord


class Axis(NamedTuple):
    """A line along the body: its azimuth, between which places along the instrument, and how far above the body."""

    azimuth_deg: float
    from_mm: float
    to_mm: float
    height_mm: float


def link_axis(record: LayoutRecord, key: KeyRecord) -> Axis | None:
    """What a link turns about; None of a key that has an axle, or no place.

    Parameters
    ----------
    record : the layout
    key : one of its keys
    """
    touch, azimuth = key.touch_position_mm, key.touch_azimuth_deg
    if key.axle is not None or touch is None or azimuth is None or not key.levers:
        return None
    fold, pad = Fold(record.bore.bends), _farthest(record, key, touch)
    holes = {hole.id: hole for hole in record.holes}
    places = np.array([touch, *(holes[lever.hole].position_mm for lever in key.levers)])
    places = fold.carried(places, fold.tube(np.array(holes[pad.hole].position_mm)))
    turned = _by_its_arms(record, key, touch, azimuth) if key.turns_at_deg is None else key.turns_at_deg
    return Axis(turned, float(min(places)), float(max(places)), _height_mm(record, key))


def _farthest(record: LayoutRecord, key: KeyRecord, touch_mm: float) -> LeverRecord:
    """The lever to the pad that lies farthest from the touch, down the instrument."""
    bends, holes = record.bore.bends, {hole.id: hole for hole in record.holes}
    touch = depth_at(bends, touch_mm)
    return max(key.levers, key=lambda lever: abs(depth_at(bends, holes[lever.hole].position_mm) - touch))


def _by_its_arms(record: LayoutRecord, key: KeyRecord, touch_mm: float, touch_deg: float) -> float:
    """Azimuth of a link's axis by its pad arm, on that side of the pad that the touch arm tells [degrees]."""
    farthest = _farthest(record, key, touch_mm)
    (pad,) = (hole for hole in record.holes if hole.id == farthest.hole)
    turn = degrees(2.0 * farthest.pad_arm_mm / record.bore.body_diameter_mm(pad.position_mm))
    round_mm = radians(0.5 * record.bore.body_diameter_mm(touch_mm))

    def off_mm(turned: float) -> float:
        return abs(round_mm * abs(_within_half_a_turn(turned - touch_deg)) - farthest.touch_arm_mm)

    return min((_within_half_a_turn(pad.azimuth_deg + side * turn) for side in (1.0, -1.0)), key=off_mm)


def _within_half_a_turn(azimuth_deg: float) -> float:
    """An azimuth above -180 and up to 180 degrees."""
    return 180.0 - (180.0 - azimuth_deg) % 360.0


def _height_mm(record: LayoutRecord, key: KeyRecord) -> float:
    standing = [each for each in record.keys if each.axle is not None]
    movers = [each for each in standing if each.id in key.moved_by]
    return min((each.axle.height_mm for each in movers or standing if each.axle), default=0.0)
