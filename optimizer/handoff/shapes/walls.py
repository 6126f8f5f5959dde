"""The thinnest wall of a piece, and where it is."""

from collections.abc import Iterator
from itertools import combinations, pairwise
from math import hypot
from typing import NamedTuple

from optimizer.handoff.shapes.discs import foot_height_mm, gap_mm
from optimizer.handoff.shapes.outline import radius_at
from optimizer.handoff.shapes.shape import Piece


class Wall(NamedTuple):
    """A wall, how thick it is [mm], and where."""

    mm: float
    where: str


def thinnest(piece: Piece) -> Wall:
    """The thinnest wall of a piece: between outside and inside, round a hole, between two holes, under a flat.

    Parameters
    ----------
    piece : as it is drawn
    """
    return min([_round_wall(piece), *_rims(piece), *_webs(piece), *_floors(piece)], key=lambda wall: wall.mm)


def _round_wall(piece: Piece) -> Wall:
    """Between outside and inside."""
    walls = [
        Wall(_distance(point, ends), f"{point[0]:.1f} mm from the reed end")
        for points, line in ((piece.outside, piece.inside), (piece.inside, piece.outside))
        for point in points
        for ends in pairwise(line)
    ]
    return min(walls, key=lambda wall: wall.mm)


def _distance(point: tuple[float, float], ends: tuple[tuple[float, float], ...]) -> float:
    """From a point to the line between two others [mm]."""
    (z, r), (z0, r0), (z1, r1) = point, *ends
    length = (z1 - z0) ** 2 + (r1 - r0) ** 2
    share = min(1.0, max(0.0, ((z - z0) * (z1 - z0) + (r - r0) * (r1 - r0)) / length)) if length else 0.0
    return hypot(z - z0 - share * (z1 - z0), r - r0 - share * (r1 - r0))


def _rims(piece: Piece) -> Iterator[Wall]:
    """Round holes, on flats that are raised."""
    holes = {hole.id: hole for hole in piece.holes}
    for flat in (each for each in piece.flats if not each.sunk):
        yield Wall(0.5 * (flat.diameter_mm - holes[flat.hole].round_mouth_mm), f"the rim of hole {flat.hole}")


def _webs(piece: Piece) -> Iterator[Wall]:
    """Between two holes, at the bore; between a hole and an end or the socket's floor."""
    for one, other in combinations(piece.holes, 2):
        low = min(foot_height_mm(each, radius_at(piece.inside, each.z_mm)) for each in (one, other))
        yield Wall(gap_mm(one, other, low), f"between holes {one.id} and {other.id}")
    start = piece.socket.depth_mm if piece.socket else 0.0
    for hole in piece.holes:
        room = min(hole.z_mm - start, piece.length_mm - hole.z_mm)
        yield Wall(room - 0.5 * hole.wide_mm, f"between hole {hole.id} and an end")


def _floors(piece: Piece) -> Iterator[Wall]:
    """Between the bore and a flat that is sunk."""
    for flat in piece.flats:
        if flat.sunk:
            half = 0.5 * flat.diameter_mm
            bore = max(radius_at(piece.inside, flat.z_mm + side * half) for side in (-1.0, 1.0))
            yield Wall(flat.top_mm - bore, f"under the flat of hole {flat.hole}")
