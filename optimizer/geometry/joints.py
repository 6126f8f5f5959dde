"""Sizes of the joints between a body's pieces, from the bore and the wall where each one lies.

The tenon stands on the bell end of a piece and sits in a socket at the reed end of the next one, so that moisture runs
past the gap. Tenon and socket are cylinders; the bore goes on inside as it is.

| quantity | shape | unit | how |
|---|---|---|---|
| length | (J,) | mm | at least `joint_mm` and 0.8 of the tenon's outside diameter |
| bore, body | (J,) | mm | widest bore and thinnest body over that length |
| tenon | (J,) | mm | bore and two tenon walls; without a ring, what body, socket wall and clearance leave |
| socket | (J,) | mm | tenon and two clearances |
| socket_outer | (J,) | mm | socket and two socket walls, or the body where that is thicker |

Rules: `body.BodySections`, common practice, no source.

A joint's length follows from the tenon, and the tenon from the bore within the joint: a few rounds, each closer by the
cone's slope, and the length's slope is that of the fixed point.
"""

from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array
from acoustics.duals import Dual, chained, slopes_of, value_of
from optimizer.geometry.bore_lines import BoreLines
from optimizer.project.body import BodySections

ROUNDS = 5
"""Length and diameter follow from each other; each round leaves a cone's slope, a fiftieth, of the error."""


class JointSizes(NamedTuple):
    """Sizes of all joints (J,) [mm], used or not; see the table of this module. tenon_wall is the thinnest place."""

    length: Array
    bore: Array
    body: Array
    tenon: Array
    tenon_wall: Array
    socket: Array
    socket_outer: Array


NO_JOINTS = JointSizes(*[np.zeros(0)] * 7)


class JointRules:
    """How the joints of a project follow from a bore and the wall. Joints already made keep length and tenon."""

    def __init__(self, section: BodySections, wall_mm: float) -> None:
        self.section, self.wall_mm = section, wall_mm
        made, numbers = section.locked_joints, range(section.joints[1])
        self._length = np.array([made[n].length_mm if n in made else section.joint_mm for n in numbers])
        tenons = [made[n].tenon_mm if n in made else None for n in numbers]
        self._tenon = np.array([np.nan if tenon is None else tenon for tenon in tenons])
        self._free = np.array([n not in made for n in numbers], bool)
        walls = section.tenon_wall_mm, wall_mm - section.socket_wall_mm - section.radial_clearance_mm
        self._wall = walls[0] if section.socket_ring else walls[1]

    def length(self, place: Array, bore: BoreLines) -> Array:
        """Length of the joints (J,) [mm].

        Parameters
        ----------
        place : (J,) their middles [mm]
        bore : of the body

        It follows from the tenon, and this from the bore within the joint: L = f(place, bore, L), with the slopes
        f_place / (1 - f_L) and f_bore / (1 - f_L).
        """
        at, still, length = value_of(place), bore.still, self._length
        for _ in range(ROUNDS):
            wanted = self._wanted(at, length, still)
            length = np.where(self._free, np.maximum(wanted, self.section.joint_mm), self._length)
        by_length = slopes_of(self._wanted(at, Dual(length, np.ones((1, length.size))), still), 1)[0]
        share = (length == wanted) / (1.0 - (length == wanted) * by_length)
        return chained(length, (share, self._wanted(place, length, bore)))

    def _wanted(self, place: Array, length: Array, bore: BoreLines) -> Array:
        """Length (J,) [mm] by the tenon that a joint of some length (J,) [mm] would have."""
        low, high = place - 0.5 * length, place + 0.5 * length
        radius = bore.widest(low, high) if self.section.socket_ring else bore.narrowest(low, high)
        return 2.0 * self.section.tenon_length_per_diameter * (radius + self._wall)

    def sizes(self, place: Array, length: Array, bore: BoreLines) -> JointSizes:
        """Sizes of the joints (J,) [mm].

        Parameters
        ----------
        place : (J,) their middles [mm]
        length : (J,) [mm]
        bore : of the body
        """
        section, (wide, body) = self.section, self.extremes(place, length, bore)
        within = wide if section.socket_ring else body - 2.0 * self.wall_mm
        tenon = np.where(np.isnan(self._tenon), within + 2.0 * self._wall, np.nan_to_num(self._tenon))
        socket = tenon + 2.0 * section.radial_clearance_mm
        outer = np.maximum(socket + 2.0 * section.socket_wall_mm, body) if section.socket_ring else body
        return JointSizes(length, wide, body, tenon, 0.5 * (tenon - wide), socket, outer)

    def extremes(self, place: Array, length: Array, bore: BoreLines) -> tuple[Array, Array]:
        """Diameters of the widest bore and the thinnest body within the joints (J,) [mm].

        Parameters
        ----------
        place : (J,) their middles [mm]
        length : (J,) [mm]
        bore : of the body
        """
        low, high = place - 0.5 * length, place + 0.5 * length
        narrow, wide = bore.narrowest(low, high), bore.widest(low, high)
        return 2.0 * wide, 2.0 * (narrow + self.wall_mm)
