"""A body's surface laid flat. A cone unrolls to a sector of a ring, a cylinder to a rectangle.

With half the cone's angle alpha, sin(alpha) = (R2 - R1) / slant, a place of radius R lies R / sin(alpha) from the
sector's middle, and an azimuth turns by sin(alpha) of itself (any textbook of descriptive geometry). x runs along the
front from the stretch's reed end, and azimuth grows downward: the surface as seen from outside.
"""

import math
from dataclasses import dataclass

from optimizer.handoff.sheets.plan import Point, turn_angles

PAPER_MM = 0.1
"""Thickness of paper: what is wrapped lies half of it further out."""

STRAIGHT = 1e-9
"""Sine of an angle below which a cone is a cylinder."""


@dataclass(frozen=True)
class Stretch:
    """A stretch of a body, straight from one place and radius to another [mm]; the radii are those of paper on it."""

    from_mm: float
    to_mm: float
    from_radius_mm: float
    to_radius_mm: float

    @property
    def sine(self) -> float:
        """Of half the cone's angle; below 0 where it narrows toward the bell."""
        across = self.to_radius_mm - self.from_radius_mm
        return across / math.hypot(self.to_mm - self.from_mm, across)

    def radius_mm(self, place_mm: float) -> float:
        """Radius at a place along the axis [mm]."""
        share = (place_mm - self.from_mm) / (self.to_mm - self.from_mm)
        return self.from_radius_mm + share * (self.to_radius_mm - self.from_radius_mm)

    def flat(self, place_mm: float, azimuth_deg: float) -> Point:
        """Where a place of the surface lies once unrolled [mm]."""
        turn, radius, sine = math.radians(azimuth_deg), self.radius_mm(place_mm), self.sine
        if abs(sine) < STRAIGHT:
            return place_mm - self.from_mm, -radius * turn
        away, angle = radius / sine, turn * sine
        return away * math.cos(angle) - self.from_radius_mm / sine, -away * math.sin(angle)

    def edge(self, place_mm: float, low_deg: float = -180.0, high_deg: float = 180.0) -> list[Point]:
        """Points of the line round the body at a place, from one azimuth to another, 2 degrees apart at the most."""
        steps = max(1, math.ceil((high_deg - low_deg) / 2.0))
        return [self.flat(place_mm, low_deg + (high_deg - low_deg) * step / steps) for step in range(steps + 1)]

    def hole(self, place_mm: float, azimuth_deg: float, diameter_mm: float) -> list[Point]:
        """Outline of a round hole, square to the axis: along a cos t, around R asin(a sin t / R), R that of the place.

        Raises
        ------
        ValueError
            for a hole wider than the body
        """
        found, half = [], diameter_mm / 2.0
        for angle in turn_angles():
            place = place_mm + half * math.cos(angle)
            turned = math.degrees(math.asin(half * math.sin(angle) / self.radius_mm(place)))
            found.append(self.flat(place, azimuth_deg + turned))
        return found
