"""Holes, flats and feet as discs on a piece: how far apart two of them are."""

from itertools import combinations
from math import hypot, inf, radians, sin, sqrt
from typing import TypeAlias

from optimizer.handoff.shapes.outline import radius_at
from optimizer.handoff.shapes.shape import Flat, Foot, Hole, Piece

Disc: TypeAlias = Hole | Flat | Foot


def gap_mm(first: Disc, second: Disc, height_mm: float) -> float:
    """What lies between two discs at a height above the axis [mm]; below 0 where they overlap.

    Parameters
    ----------
    first, second : on one piece
    height_mm : above the axis [mm]; axes run apart as they rise
    """
    chord = 2.0 * height_mm * abs(sin(0.5 * radians(first.azimuth_deg - second.azimuth_deg)))
    return hypot(first.z_mm - second.z_mm, chord) - 0.5 * (first.wide_mm + second.wide_mm)


def foot_height_mm(disc: Disc, radius_mm: float) -> float:
    """How low beside its axis a disc meets a round surface of a radius about the piece's axis [mm]."""
    return sqrt(max(radius_mm**2 - (0.5 * disc.wide_mm) ** 2, 0.0))


def discs_of(piece: Piece) -> list[Disc]:
    """All discs of a piece."""
    return [*piece.holes, *piece.flats, *piece.feet]


def least_gap_mm(piece: Piece) -> float:
    """What lies between those two discs of a piece that are nearest [mm], a hole and its own flat aside."""
    gaps = [
        gap_mm(one, other, min(_low_mm(piece, one), _low_mm(piece, other)))
        for one, other in combinations(discs_of(piece), 2)
        if one.hole_id != other.hole_id
    ]
    return min(gaps, default=inf)


def _low_mm(piece: Piece, disc: Disc) -> float:
    """Where a disc begins to count: a hole at the bore, all else at the body's outside [mm]."""
    line = piece.inside if isinstance(disc, Hole) else piece.outside
    return foot_height_mm(disc, radius_at(line, disc.z_mm))
