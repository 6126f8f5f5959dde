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
"""

from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array
from acoustics.duals import Dual, chained, slopes_of, value_of, variables
from optimizer.body import BodySections
from optimizer.bore_lines import BoreLines

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
    """How the joints of a project follow from its bore and wall. Joints already made keep length and tenon."""

    def __init__(self, section: BodySections, bore: BoreLines, wall_mm: float) -> None:
        self.section, self.bore, self.wall_mm = section, bore, wall_mm
        made, numbers = section.locked_joints, range(section.joints[1])
        self._made = np.array([number in made for number in numbers], bool)
        self._length = np.array([made[n].length_mm if n in made else section.joint_mm for n in numbers])
        tenons = [made[n].tenon_mm if n in made else None for n in numbers]
        self._given = np.array([tenon is not None for tenon in tenons], bool)
        self._tenon = np.array([tenon or 0.0 for tenon in tenons])

    def length(self, place: Array, scale: Array | float) -> Array:
        """Length of joints with their middles at places (J,) [mm], in a bore of this scale."""
        return self._long(self._outside(place, self._settled(place, scale), scale))

    def sizes(self, place: Array, scale: Array | float) -> JointSizes:
        """Sizes of joints with their middles at places (J,) [mm], in a bore of this scale."""
        section, length = self.section, self._settled(place, scale)
        bore, body = self.extremes(place, length, scale)
        tenon = self._outside(place, length, scale)
        socket = tenon + 2.0 * section.radial_clearance_mm
        outer = np.maximum(socket + 2.0 * section.socket_wall_mm, body) if section.socket_ring else body
        return JointSizes(self._long(tenon), bore, body, tenon, 0.5 * (tenon - bore), socket, outer)

    def _settled(self, place: Array, scale: Array | float) -> Array:
        """Length (J,) [mm] before the last round. Its slopes are those of what the rounds lead to: of a fixed point
        L = f(L, u), dL/du = f_u / (1 - f_L)."""
        at, by, length = value_of(place), value_of(scale), self._length
        for _ in range(ROUNDS - 1):
            length = self._long(self._outside(at, length, by))
        if not (isinstance(place, Dual) or isinstance(scale, Dual)):
            return length
        places, scales, lengths = variables([at, np.full(at.shape, by), length])
        by_place, by_scale, by_length = slopes_of(self._long(self._outside(places, lengths, scales)), 3)
        return chained(length, (by_place / (1.0 - by_length), place), (by_scale / (1.0 - by_length), scale))

    def extremes(self, place: Array, length: Array, scale: Array | float) -> tuple[Array, Array]:
        """Widest bore and thinnest body [mm] of joints (J,) that are so long."""
        return self._bore(place, length, scale), self._body(place, length, scale)

    def _bore(self, place: Array, length: Array, scale: Array | float) -> Array:
        return self.bore.widest(place - 0.5 * length, place + 0.5 * length) * (2.0 * scale)

    def _body(self, place: Array, length: Array, scale: Array | float) -> Array:
        return self.bore.narrowest(place - 0.5 * length, place + 0.5 * length) * (2.0 * scale) + 2.0 * self.wall_mm

    def _outside(self, place: Array, length: Array, scale: Array | float) -> Array:
        """Outer diameter of the tenons (J,) [mm] of joints that are so long."""
        section = self.section
        if section.socket_ring:
            tenon = self._bore(place, length, scale) + 2.0 * section.tenon_wall_mm
        else:
            tenon = self._body(place, length, scale) - 2.0 * (section.socket_wall_mm + section.radial_clearance_mm)
        return np.where(self._given, self._tenon, tenon) if self._given.any() else tenon

    def _long(self, tenon: Array) -> Array:
        """Length [mm] of joints with tenons of these diameters (J,)."""
        wanted = np.maximum(tenon * self.section.tenon_length_per_diameter, self.section.joint_mm)
        return np.where(self._made, self._length, wanted) if self._made.any() else wanted
