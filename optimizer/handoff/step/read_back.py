"""Holes as a written STEP file has them, held against those wanted: an end-to-end check of whatever wrote it.

A hole is a hollow cylinder or cone, or several on one axis, whose axis crosses that of its tube at a right angle. Where
it is narrowest of all below its top it opens into the bore; its end at the top is its mouth.
"""

from collections.abc import Iterable, Sequence
from math import atan2, cos, hypot, pi, radians, sin
from typing import NamedTuple, TypeAlias

import numpy as np

from optimizer.handoff.shapes.bent import Course, courses, tube_number

Point: TypeAlias = tuple[float, float, float]

UPRIGHT = 1e-6
"""Slope of an axis that still counts as at right angles to the piece's."""

NEAR_MM = 0.5
"""Within so much of a hole wanted is it looked for."""


class RoundFace(NamedTuple):
    """A cylinder or cone of a solid's surface; hollow: the solid lies outside of it.

    origin, along : of its axis; ends_mm : where it begins and ends along that; radii_mm : its radii there
    """

    hollow: bool
    origin: Point
    along: Point
    ends_mm: tuple[float, float]
    radii_mm: tuple[float, float]


class Found(NamedTuple):
    """What a file holds: how many solids, whether the kernel finds them sound, Euler number, volume [mm3], box [mm]."""

    solids: int
    valid: bool
    euler: int
    volume_mm3: float
    box_mm: Point
    faces: tuple[RoundFace, ...]


class HoleFigures(NamedTuple):
    """A hole: place along its piece, azimuth, height of its top above the axis, diameters at bore and mouth."""

    id: str
    z_mm: float
    azimuth_deg: float
    top_mm: float
    bore_mm: float
    mouth_mm: float


class Off(NamedTuple):
    """How far a hole in a file is off the one wanted [mm]: diameters, place along, place round at its top."""

    diameter_mm: float
    place_mm: float
    round_mm: float

    @property
    def most_mm(self) -> float:
        """The greatest of them."""
        return max(self)


class _Radial(NamedTuple):
    """A hollow face about an axis that crosses the piece's: where, its ends by height above the axis, radii there."""

    z_mm: float
    azimuth_rad: float
    aside_mm: float
    heights_mm: tuple[float, float]
    radii_mm: tuple[float, float]


def off_by(
    faces: Iterable[RoundFace], wanted: Sequence[HoleFigures], tubes: Sequence[Course] = ()
) -> dict[str, Off | None]:
    """How far each hole is off in a file, by its id; None where there is none near its place.

    Parameters
    ----------
    faces : of the file
    wanted : the holes, their places along the centre line, azimuths as the tubes have them
    tubes : as they lie in the file; one along z where none are told
    """
    hollow, tubes = [face for face in faces if face.hollow], tubes or courses(())
    seen = [[_seen(face, tube) for face in hollow] for tube in tubes]
    radial = [[_radial(face) for face in faces if abs(face.along[2]) < UPRIGHT] for faces in seen]
    return {hole.id: _off(radial[tube_number(tubes, hole.z_mm)], hole) for hole in wanted}


def _seen(face: RoundFace, tube: Course) -> RoundFace:
    """A face as a tube's own frame has it."""
    x, y, z = map(float, tube.turn.T @ (np.array(face.origin) - tube.start))
    along = tube.turn.T @ face.along
    return face._replace(origin=(x, y, z + tube.begin_mm), along=(float(along[0]), float(along[1]), float(along[2])))


def _radial(face: RoundFace) -> _Radial:
    (x, y, z), (along_x, along_y, _), (low, high) = face.origin, face.along, face.ends_mm
    outward = x * along_x + y * along_y + 0.5 * (low + high) > 0.0
    azimuth = atan2(along_y, along_x) if outward else atan2(-along_y, -along_x)
    ends = [
        ((x + end * along_x) * cos(azimuth) + (y + end * along_y) * sin(azimuth), radius)
        for end, radius in zip((low, high), face.radii_mm, strict=True)
    ]
    (bottom, first), (top, last) = sorted(ends)
    return _Radial(z, azimuth, abs(x * along_y - y * along_x), (bottom, top), (first, last))


def _turn(one_rad: float, other_deg: float) -> float:
    """The way round between two azimuths [rad]."""
    return abs((one_rad - radians(other_deg) + pi) % (2.0 * pi) - pi)


def _off(faces: Sequence[_Radial], hole: HoleFigures) -> Off | None:
    """Below its top, as a sunk flat above it is a hollow cylinder, too."""
    own = [
        face
        for face in faces
        if hypot(face.z_mm - hole.z_mm, hole.top_mm * _turn(face.azimuth_rad, hole.azimuth_deg)) < NEAR_MM
        and sum(face.heights_mm) < 2.0 * hole.top_mm
        and face.aside_mm < NEAR_MM
    ]
    if not own:
        return None
    lowest, highest = min(own, key=lambda face: face.heights_mm[0]), max(own, key=lambda face: face.heights_mm[1])
    wide = abs(2.0 * lowest.radii_mm[0] - hole.bore_mm), abs(2.0 * highest.radii_mm[1] - hole.mouth_mm)
    return Off(
        diameter_mm=max(wide),
        place_mm=max(abs(face.z_mm - hole.z_mm) for face in own),
        round_mm=max(hypot(hole.top_mm * _turn(face.azimuth_rad, hole.azimuth_deg), face.aside_mm) for face in own),
    )
