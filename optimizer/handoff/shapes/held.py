"""Places of a layout in space, as the instrument is held: x toward the front, y toward the player's right, z down it
from the reed end. Millimetres, finished."""

from math import radians
from typing import TypeAlias

import numpy as np

from optimizer.geometry.fold import Fold
from optimizer.geometry.space import Places, Points
from optimizer.handoff.shapes.link_axis import link_axis
from optimizer.records.keys import KeyRecord
from optimizer.records.layout import HoleRecord, LayoutRecord

Place: TypeAlias = tuple[float, float, float]
Turning: TypeAlias = tuple[Place, Place]
"""From where to where the line runs that a key turns about."""


class Held:
    """A layout, straight or folded, as it is held."""

    def __init__(self, record: LayoutRecord) -> None:
        self.record, self.fold = record, Fold(record.bore.bends)

    def tube(self, place_mm: float) -> int:
        """Number, from 0, of the tube that a place along the centre line lies on."""
        return int(self.fold.tube(np.array(place_mm)))

    def off_axis(self, place_mm: float, azimuth_deg: float, height_mm: float) -> Place:
        """A place so far along the centre line and from it."""
        return _place(self.fold.points(_places(place_mm, azimuth_deg, height_mm)))

    def above(self, place_mm: float, azimuth_deg: float, above_mm: float = 0.0) -> Place:
        """A place so far along the centre line, and above the body's surface."""
        return self.off_axis(place_mm, azimuth_deg, 0.5 * self.record.bore.body_diameter_mm(place_mm) + above_mm)

    def over(self, hole: HoleRecord, above_mm: float = 0.0) -> Place:
        """A place on a hole's axis, so far above its top."""
        top = 0.5 * hole.bore_diameter_mm + hole.chimney_mm
        return self.off_axis(hole.position_mm, hole.azimuth_deg, top + above_mm)

    def facing(self, hole: HoleRecord) -> Place:
        """The direction of a hole's axis, outward."""
        return _place(self.fold.outward(_places(hole.position_mm, hole.azimuth_deg, 0.0)))

    def touch(self, key: KeyRecord) -> Place | None:
        """The touch of a key, on the body's surface; None of one without a place."""
        if key.touch_position_mm is None:
            return None
        return self.above(key.touch_position_mm, key.touch_azimuth_deg or 0.0)

    def turning(self, key: KeyRecord) -> Turning | None:
        """What a key turns about: its rod from first post to last, or a link's axis from its first arm to its last."""
        if key.axle is not None:
            places = [post.position_mm for post in key.axle.posts]
            ends, azimuth, height = (min(places), max(places)), key.axle.azimuth_deg, key.axle.height_mm
        else:
            axis = link_axis(self.record, key)
            if axis is None:
                return None
            ends, azimuth, height = (axis.from_mm, axis.to_mm), axis.azimuth_deg, axis.height_mm
        start, end = (self.above(place, azimuth, height) for place in ends)
        return start, end


def beside(turning: Turning, place: Place) -> Place:
    """What of a key's turning line lies as far down the instrument as a place, beyond its ends, too."""
    (x0, y0, z0), (x1, y1, z1) = turning
    share = (place[2] - z0) / (z1 - z0) if z1 != z0 else 0.0
    return x0 + share * (x1 - x0), y0 + share * (y1 - y0), place[2]


def _places(place_mm: float, azimuth_deg: float, height_mm: float) -> Places:
    return Places(*map(np.array, (place_mm, radians(azimuth_deg), height_mm)))


def _place(points: Points) -> Place:
    return float(points.y), float(points.z), float(points.x)
