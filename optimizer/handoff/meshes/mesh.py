"""Pieces as triangle meshes: closed surfaces by a boolean kernel that cannot leave a gap, then snapped to a grid, so
that they stay closed in a file of single precision.

A circle becomes a polygon of the same area, wider than the circle by its corners: what sound sees of a bore is its
area. After snapping, corners at one place are one, and triangles with two equal corners are dropped.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi, sin, sqrt

import numpy as np
from manifold3d import CrossSection, Manifold, OpType

from acoustics.arrays import Floats
from optimizer.handoff.shapes.bent import bent, stepped
from optimizer.handoff.shapes.outline import Outline
from optimizer.handoff.shapes.shape import Crook, Flat, Foot, Hole, Piece, PieceBend

GRID_MM = 1e-4


@dataclass(frozen=True)
class Fineness:
    """How many corners circles have: those about the bore's axis, and those about holes, flats and feet; how near to a
    line or face of the mesh a corner is taken out [mm]; how many steps a bend has."""

    body: int
    disc: int
    smooth_mm: float
    bend: int


FINE, COARSE = Fineness(256, 128, 2e-4, 128), Fineness(32, 16, 0.02, 24)
"""For printing, where a chord leaves 0.001 mm of a hole 8 mm wide; and to look at."""


@dataclass(frozen=True)
class Mesh:
    """A closed surface: corners (V, 3) [mm] and triangles (T, 3) by the numbers of their corners, outside up."""

    corners: Floats
    triangles: np.ndarray

    def moved(self, turn: Floats, shift: Sequence[float] | Floats) -> "Mesh":
        """Turned by a rotation (3, 3), then shifted (3,) [mm]."""
        return Mesh(self.corners @ np.asarray(turn).T + np.asarray(shift), self.triangles)


def piece_mesh(piece: Piece, fineness: Fineness = FINE) -> Mesh:
    """A piece in its own frame.

    Parameters
    ----------
    piece : as it is drawn
    fineness : corners of circles
    """
    beyond, sunk = piece.beyond_mm, [flat for flat in piece.flats if flat.sunk]
    discs: list[Flat | Foot] = [*piece.flats, *piece.feet]
    outside, inside = (stepped(line, piece.bends, fineness.bend) for line in (piece.outside, piece.inside))
    made = [
        _revolved(outside, fineness.body),
        *(_about(each, ((0.0, 0.5 * each.wide_mm), (each.top_mm, 0.5 * each.wide_mm)), fineness) for each in discs),
    ]
    gone = [
        _revolved(_lengthened(inside), fineness.body),
        *(_about(each, ((each.top_mm, 0.5 * each.wide_mm), (beyond, 0.5 * each.wide_mm)), fineness) for each in sunk),
        *(_about(each, each.cutter(beyond), fineness) for each in piece.holes),
    ]
    if piece.bends:
        made, gone = ([_folded(each, piece.bends) for each in some] for some in (made, gone))
    solid = Manifold.batch_boolean(made, OpType.Add)
    return _closed(Manifold.batch_boolean([solid, *gone], OpType.Subtract), fineness)


def _folded(solid: Manifold, bends: Sequence[PieceBend]) -> Manifold:
    """A part of a straight piece where the piece's bends take it."""
    return solid.warp_batch(lambda corners: bent(np.asarray(corners), bends))


def crook_mesh(crook: Crook, fineness: Fineness = FINE) -> Mesh:
    """A crook's tube, straight.

    Parameters
    ----------
    crook : as it is drawn
    fineness : corners of circles
    """
    beyond = 1.0 + max(radius for _, radius in crook.outside)
    gone = [_about(hole, hole.cutter(beyond), fineness) for hole in crook.holes]
    tube = [_revolved(line, fineness.body) for line in (crook.outside, _lengthened(crook.inside))]
    return _closed(Manifold.batch_boolean([*tube, *gone], OpType.Subtract), fineness)


def equal_area(corners: int) -> float:
    """What a circle's radius is multiplied by to be that of a polygon of the same area.

    Parameters
    ----------
    corners : of the polygon
    """
    turn = 2.0 * pi / corners
    return sqrt(turn / sin(turn))


def _lengthened(line: Outline) -> Outline:
    """An outline carried on beyond both ends, so that nothing is left there."""
    (z0, r0), (z1, r1) = line[0], line[-1]
    return ((z0 - 1.0, r0), *line, (z1 + 1.0, r1))


def _revolved(line: Outline, corners: int) -> Manifold:
    """What an outline encloses, turned about the axis."""
    more = equal_area(corners)
    points = [(0.0, line[0][0]), *((radius * more, z) for z, radius in line), (0.0, line[-1][0])]
    return Manifold.revolve(CrossSection([points]), corners)


def _about(disc: Hole | Flat | Foot, line: Outline, fineness: Fineness) -> Manifold:
    """An outline of heights turned about the axis of a disc."""
    upright = _revolved(line, fineness.disc)
    return upright.rotate((0.0, 90.0, 0.0)).rotate((0.0, 0.0, disc.azimuth_deg)).translate((0.0, 0.0, disc.z_mm))


def _closed(solid: Manifold, fineness: Fineness) -> Mesh:
    """A solid's surface with its corners on the grid."""
    found = solid.simplify(fineness.smooth_mm).to_mesh64()
    return snapped(np.asarray(found.vert_properties)[:, :3], np.asarray(found.tri_verts))


def snapped(corners: Floats, triangles: np.ndarray) -> Mesh:
    """A mesh with its corners on the grid: those at one place are one, and triangles that have two of them go.

    Parameters
    ----------
    corners : (V, 3) [mm]
    triangles : (T, 3) numbers of corners
    """
    places, number = np.unique(np.round(corners / GRID_MM).astype(np.int64), axis=0, return_inverse=True)
    of = number.reshape(-1)[np.asarray(triangles, np.int64)]
    whole = (of[:, 0] != of[:, 1]) & (of[:, 1] != of[:, 2]) & (of[:, 2] != of[:, 0])
    return Mesh(np.asarray(places * GRID_MM, float), of[whole])
