"""The volume of a piece by arithmetic, to hold solids and meshes against: frusta of its outlines, and every hole, flat
and foot integrated over its own disc, by Gauss's rule along the radius and evenly round it.

Heights are those above the tangent plane through the bore's axis: a round surface of radius r stands sqrt(r^2 - v^2)
high a distance v beside a disc's axis. Discs that overlap are counted twice; then there is no such figure.
"""

from itertools import pairwise
from math import pi

import numpy as np

from acoustics.arrays import Floats
from optimizer.handoff.shapes.discs import least_gap_mm
from optimizer.handoff.shapes.outline import Outline
from optimizer.handoff.shapes.shape import Flat, Hole, Piece

RINGS, TURNS = 24, 96
"""Points along the radius and round a disc."""


def volume_mm3(piece: Piece) -> float | None:
    """Volume of a piece [mm3]; None where holes, flats or feet overlap each other."""
    if least_gap_mm(piece) < 0.0:
        return None
    flats = {flat.hole: flat for flat in piece.flats}
    body = revolved_mm3(piece.outside) - revolved_mm3(piece.inside)
    more = sum(_raised_mm3(piece, each.z_mm, each.diameter_mm, each.top_mm) for each in piece.feet)
    more += sum(_flat_mm3(piece, each) for each in piece.flats)
    return body + more - sum(_hole_mm3(piece, each, flats.get(each.id)) for each in piece.holes)


def revolved_mm3(line: Outline) -> float:
    """Volume within an outline that is turned about the axis [mm3]."""
    return sum(pi / 3.0 * (z1 - z0) * (r0 * r0 + r0 * r1 + r1 * r1) for (z0, r0), (z1, r1) in pairwise(line))


def _rings(low: float, high: float) -> tuple[Floats, Floats, Floats]:
    """Points of a ring between two radii: along and beside the disc's axis [mm], the area of each [mm2], all (R, T)."""
    node, weight = np.polynomial.legendre.leggauss(RINGS)
    radius = 0.5 * (low + high) + 0.5 * (high - low) * node
    turn = (np.arange(TURNS) + 0.5) * 2.0 * pi / TURNS
    area = 0.5 * (high - low) * weight * radius * (2.0 * pi / TURNS)
    return np.outer(radius, np.cos(turn)), np.outer(radius, np.sin(turn)), np.outer(area, np.ones(TURNS))


def _height(line: Outline, z: Floats, beside: Floats) -> Floats:
    """How high a round surface stands at places along and beside an axis, of any shape [mm]."""
    places, radii = np.array(line).T
    return np.asarray(np.sqrt(np.maximum(np.interp(z, places, radii) ** 2 - beside**2, 0.0)))


def _raised_mm3(piece: Piece, z_mm: float, wide_mm: float, top_mm: float) -> float:
    """What a disc adds to the body [mm3]."""
    along, beside, area = _rings(0.0, 0.5 * wide_mm)
    return float(np.sum(area * np.maximum(top_mm - _height(piece.outside, z_mm + along, beside), 0.0)))


def _flat_mm3(piece: Piece, flat: Flat) -> float:
    """What a flat adds to the body, below 0 where it takes more away [mm3]; its hole not yet drilled."""
    if not flat.sunk:
        return _raised_mm3(piece, flat.z_mm, flat.diameter_mm, flat.top_mm)
    along, beside, area = _rings(0.0, 0.5 * flat.diameter_mm)
    return float(np.sum(area * (flat.top_mm - _height(piece.outside, flat.z_mm + along, beside))))


def _hole_mm3(piece: Piece, hole: Hole, flat: Flat | None) -> float:
    """What a hole takes away [mm3]: from the bore's surface to the flat's or the body's, within its own cone."""
    bore, mouth = 0.5 * hole.round_bore_mm, 0.5 * hole.round_mouth_mm
    edges = sorted({0.0, bore, mouth})
    return sum(_ring_mm3(piece, hole, flat, low, high) for low, high in pairwise(edges))


def _ring_mm3(piece: Piece, hole: Hole, flat: Flat | None, low: float, high: float) -> float:
    """What a hole takes away at radii between two [mm3]: all between bore and top, or beyond the narrower end what lies
    inside its cone."""
    along, beside, area = _rings(low, high)
    z = hole.z_mm + along
    bottom = _height(piece.inside, z, beside)
    top = np.full(z.shape, flat.top_mm) if flat else _height(piece.outside, z, beside)
    bore, mouth = 0.5 * hole.round_bore_mm, 0.5 * hole.round_mouth_mm
    if high > min(bore, mouth):
        radius = np.hypot(along, beside)
        cone = hole.crown_mm + (hole.top_mm - hole.crown_mm) * (radius - bore) / (mouth - bore)
        bottom, top = (bottom, np.minimum(top, cone)) if bore > mouth else (np.maximum(bottom, cone), top)
    return float(np.sum(area * np.maximum(top - bottom, 0.0)))
