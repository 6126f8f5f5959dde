"""Pieces as solids of the CAD kernel: what `shape.py` describes, turned, fused and cut; planes, cylinders and cones.

A piece with bends is made of its straight tubes and, between them, parts of tori; a bend that widens as it turns goes
through many circles. Holes whose printed widths along and around differ are round, of the same area: ellipses would
show no diameter in CAD.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import cos, radians, sin

import numpy as np

from acoustics.arrays import Floats
from optimizer.handoff.shapes.bent import Course, bent, courses, tube_number
from optimizer.handoff.shapes.outline import NEAR_MM, Outline, part
from optimizer.handoff.shapes.shape import Crook, Flat, Foot, Hole, Piece, PieceBend
from optimizer.handoff.step import kernel
from optimizer.handoff.step.kernel import Frame, Solid
from optimizer.handoff.step.kernel_files import Part
from optimizer.handoff.step.read_back import Point
from optimizer.handoff.step.skeleton import Bow, Disc, Group, Line, Mark, Spot

BEYOND_MM = 1.0
"""So far do cutters reach beyond the ends of what they cut, where two planes in one would be a hard question."""


SECTIONS_MM = 2.0
"""A bend that widens goes through a circle every so often along its centre line."""


def piece_solid(piece: Piece) -> Solid:
    """A piece as one solid, in its own frame."""
    tubes, beyond = courses(piece.bends), piece.beyond_mm
    discs = [*(_disc(flat, tubes) for flat in piece.flats), *(_disc(foot, tubes) for foot in piece.feet)]
    body = kernel.fused(_filled(piece.outside, piece.bends), discs)
    sunk = [_pocket(flat, beyond, tubes) for flat in piece.flats if flat.sunk]
    bore = _filled(piece.inside, piece.bends, BEYOND_MM)
    return kernel.cut(body, [bore, *sunk, *_drilled(piece.holes, beyond, tubes)])


def crook_solid(crook: Crook) -> Solid:
    """The crook's tube as one solid."""
    beyond = BEYOND_MM + max(radius for _, radius in crook.outside)
    drilled = _drilled(crook.holes, beyond, courses(()))
    return kernel.cut(_filled(crook.outside), [_filled(crook.inside, (), BEYOND_MM), *drilled])


def skeleton_part(group: Group) -> Part:
    """A skeleton as a part with parts of its own, a name each."""
    return Part(group.name, None, [Part(mark.name, _mark(mark)) for mark in group.marks])


def _filled(line: Outline, bends: Sequence[PieceBend] = (), beyond_mm: float = 0.0) -> Solid:
    """What lies within an outline, longer by so much at both ends, where bends take it."""
    (start, first), (end, last) = line[0], line[-1]
    if beyond_mm:
        line = ((start - beyond_mm, first), *line, (end + beyond_mm, last))
    ends = [line[0][0], *(end for bend in bends for end in (bend.z_mm, bend.end_mm)), line[-1][0]]
    tubes = [
        _tube(part(line, low, high) if bends else line, tube)
        for low, high, tube in zip(ends[::2], ends[1::2], courses(bends), strict=True)
    ]
    turns = [solid for number in range(len(bends)) for solid in _bend(line, bends, number)]
    return kernel.fused(tubes[0], [*turns, *tubes[1:]])


def _tube(line: Outline, tube: Course) -> Solid:
    """What lies within an outline of a straight tube."""
    points = [(radius, place) for place, radius in line]
    frame = Frame(_point(tube.at(0.0)), _point(tube.turn[:, 2]), _point(tube.turn[:, 0]))
    return kernel.revolved([(0.0, points[0][1]), *points, (0.0, points[-1][1])], frame)


def _bend(line: Outline, bends: Sequence[PieceBend], number: int) -> Iterator[Solid]:
    """What lies within an outline in one of a piece's bends, from point to point of it."""
    bend = bends[number]
    for (low, first), (high, last) in pairwise(part(line, bend.z_mm, bend.end_mm)):
        if high - low < NEAR_MM:
            continue
        if abs(first - last) < NEAR_MM:
            turn = (high - low) / bend.radius_mm
            yield kernel.torus_part(first, _section(bends, number, low), bend.radius_mm, turn)
        else:
            places = np.linspace(low, high, 2 + int((high - low) / SECTIONS_MM))
            radii = np.interp(places, (low, high), (first, last))
            yield kernel.widening_bend(
                [(_section(bends, number, float(place)), float(r)) for place, r in zip(places, radii, strict=True)]
            )


def _section(bends: Sequence[PieceBend], number: int, place_mm: float) -> Frame:
    """Where the disc at a place within a bend stands, across toward what the bend turns about."""
    bend = bends[number]
    turn, angle = radians(bend.toward_deg), (place_mm - bend.z_mm) / bend.radius_mm
    beside = np.array([[0.0, 0.0, place_mm], [cos(turn), sin(turn), place_mm]])
    middle, inner = bent(beside, bends)
    tube = courses(bends)[number]
    inside, ahead = tube.turn @ [cos(turn), sin(turn), 0.0], tube.turn[:, 2]
    return Frame(_point(middle), _point(cos(angle) * ahead + sin(angle) * inside), _point(inner - middle))


def _point(at: Floats) -> Point:
    x, y, z = map(float, at)
    return x, y, z


def outward(z_mm: float, azimuth_deg: float, tubes: Sequence[Course] = ()) -> Frame:
    """The frame of what stands out from a piece's axis: its own axis through that, at right angles.

    Parameters
    ----------
    z_mm : its place along the piece [mm]
    azimuth_deg : on the piece [degrees]
    tubes : of the piece; one along z where none are told
    """
    turn, tubes = radians(azimuth_deg), tubes or courses(())
    tube = tubes[tube_number(tubes, z_mm)]
    out = tube.turn @ [cos(turn), sin(turn), 0.0]
    return Frame(_point(tube.at(z_mm)), _point(out), _point(tube.turn[:, 2]))


def _disc(each: Flat | Foot, tubes: Sequence[Course]) -> Solid:
    """A disc from the axis up to its top."""
    return _turned(((0.0, 0.5 * each.diameter_mm), (each.top_mm, 0.5 * each.diameter_mm)), each, tubes)


def _pocket(flat: Flat, beyond_mm: float, tubes: Sequence[Course]) -> Solid:
    """What lies above a sunk flat."""
    return _turned(((flat.top_mm, 0.5 * flat.diameter_mm), (beyond_mm, 0.5 * flat.diameter_mm)), flat, tubes)


def _drilled(holes: Sequence[Hole], beyond_mm: float, tubes: Sequence[Course]) -> list[Solid]:
    return [_turned(hole.cutter(beyond_mm), hole, tubes) for hole in holes]


def _turned(line: Outline, at: Flat | Foot | Hole, tubes: Sequence[Course]) -> Solid:
    """What lies within an outline over heights above the axis."""
    points = [(radius, height) for height, radius in line]
    frame = outward(at.z_mm, at.azimuth_deg, tubes)
    return kernel.revolved([(0.0, points[0][1]), *points, (0.0, points[-1][1])], frame)


def _mark(mark: Mark) -> Solid:
    if isinstance(mark, Line):
        return kernel.segment(mark.start, mark.end)
    if isinstance(mark, Bow):
        return kernel.arc(mark.start, mark.middle, mark.end)
    if isinstance(mark, Disc):
        return kernel.disc(Frame(mark.middle, mark.facing), 0.5 * mark.diameter_mm)
    assert isinstance(mark, Spot)
    return kernel.point(mark.place)
