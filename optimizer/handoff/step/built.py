"""Pieces as solids of the CAD kernel: what `shape.py` describes, turned, fused and cut; planes, cylinders and cones.

Holes whose printed widths along and around differ are round, of the same area: ellipses would show no diameter in CAD.
"""

from collections.abc import Sequence
from math import cos, radians, sin

from optimizer.handoff.shapes.outline import Outline
from optimizer.handoff.shapes.shape import Crook, Flat, Foot, Hole, Piece
from optimizer.handoff.step import kernel
from optimizer.handoff.step.kernel import Frame, Solid
from optimizer.handoff.step.kernel_files import Part
from optimizer.handoff.step.skeleton import Disc, Group, Line, Mark, Spot

BEYOND_MM = 1.0
"""So far do cutters reach beyond the ends of what they cut, where two planes in one would be a hard question."""


def piece_solid(piece: Piece) -> Solid:
    """A piece as one solid, in its own frame."""
    body = kernel.fused(_filled(piece.outside), [*map(_disc, piece.flats), *map(_disc, piece.feet)])
    beyond = piece.beyond_mm
    sunk = [_pocket(flat, beyond) for flat in piece.flats if flat.sunk]
    return kernel.cut(body, [_filled(piece.inside, BEYOND_MM), *sunk, *_drilled(piece.holes, beyond)])


def crook_solid(crook: Crook) -> Solid:
    """The crook's tube as one solid."""
    beyond = BEYOND_MM + max(radius for _, radius in crook.outside)
    return kernel.cut(_filled(crook.outside), [_filled(crook.inside, BEYOND_MM), *_drilled(crook.holes, beyond)])


def skeleton_part(group: Group) -> Part:
    """A skeleton as a part with parts of its own, a name each."""
    return Part(group.name, None, [Part(mark.name, _mark(mark)) for mark in group.marks])


def _filled(line: Outline, beyond_mm: float = 0.0) -> Solid:
    """What lies within an outline, longer by so much at both ends."""
    (start, first), (end, last) = line[0], line[-1]
    points = [(radius, place) for place, radius in line]
    if beyond_mm:
        points = [(first, start - beyond_mm), *points, (last, end + beyond_mm)]
    return kernel.revolved([(0.0, points[0][1]), *points, (0.0, points[-1][1])])


def outward(z_mm: float, azimuth_deg: float) -> Frame:
    """The frame of what stands out from a piece's axis: its own axis through that, at right angles."""
    turn = radians(azimuth_deg)
    return Frame((0.0, 0.0, z_mm), (cos(turn), sin(turn), 0.0), (0.0, 0.0, 1.0))


def _disc(each: Flat | Foot) -> Solid:
    """A disc from the axis up to its top."""
    return _turned(((0.0, 0.5 * each.diameter_mm), (each.top_mm, 0.5 * each.diameter_mm)), each)


def _pocket(flat: Flat, beyond_mm: float) -> Solid:
    """What lies above a sunk flat."""
    return _turned(((flat.top_mm, 0.5 * flat.diameter_mm), (beyond_mm, 0.5 * flat.diameter_mm)), flat)


def _drilled(holes: Sequence[Hole], beyond_mm: float) -> list[Solid]:
    return [_turned(hole.cutter(beyond_mm), hole) for hole in holes]


def _turned(line: Outline, at: Flat | Foot | Hole) -> Solid:
    """What lies within an outline over heights above the axis."""
    points = [(radius, height) for height, radius in line]
    return kernel.revolved([(0.0, points[0][1]), *points, (0.0, points[-1][1])], outward(at.z_mm, at.azimuth_deg))


def _mark(mark: Mark) -> Solid:
    if isinstance(mark, Line):
        return kernel.segment(mark.start, mark.end)
    if isinstance(mark, Disc):
        return kernel.disc(Frame(mark.middle, mark.facing), 0.5 * mark.diameter_mm)
    assert isinstance(mark, Spot)
    return kernel.point(mark.place)
