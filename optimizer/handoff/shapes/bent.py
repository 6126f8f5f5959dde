"""Pieces of a folded body: each as if it were straight, and where its bends take what is drawn that way.

A piece's own frame has its reed end at z = 0 and its first tube along z; azimuths on it are carried from there through
its bends, so that it can be drawn, drilled and wrapped tube by tube. By Pappus's theorem a bend has the volume of a
straight piece as long as its centre line.
"""

import math
from collections.abc import Sequence

import numpy as np

from acoustics.arrays import Floats
from optimizer.geometry.fold import Fold
from optimizer.handoff.shapes.outline import Outline, radius_at
from optimizer.handoff.shapes.parts import Part
from optimizer.handoff.shapes.shape import PieceBend
from optimizer.records.layout import LayoutRecord


def bends_of(record: LayoutRecord, part: Part) -> tuple[PieceBend, ...]:
    """The bends that are a part of a piece, whole as they are between joints."""
    within = [bend for bend in record.bore.bends if part.begin_mm <= bend.at_mm < part.end_mm]
    fold = Fold(record.bore.bends)
    return tuple(
        PieceBend(
            bend.at_mm - part.begin_mm,
            bend.radius_mm,
            math.degrees(fold.carried_azimuth(part.begin_mm, bend.at_mm, math.radians(bend.toward_deg))),
        )
        for bend in within
    )


def in_its_frame(record: LayoutRecord, part: Part) -> LayoutRecord:
    """The same layout with azimuths as they are in a piece's own frame; itself where the body is not folded."""
    if not record.bore.bends:
        return record
    fold = Fold(record.bore.bends)

    def turned(position_mm: float, azimuth_deg: float) -> float:
        carried = math.degrees(fold.carried_azimuth(part.begin_mm, position_mm, math.radians(azimuth_deg)))
        return round((carried + 180.0) % 360.0 - 180.0, 6)

    holes = [
        hole.model_copy(update={"azimuth_deg": turned(hole.position_mm, hole.azimuth_deg)}) for hole in record.holes
    ]
    keys = [
        key.model_copy(
            update={
                "axle": key.axle.model_copy(
                    update={"azimuth_deg": turned(key.axle.posts[0].position_mm, key.axle.azimuth_deg)}
                )
            }
        )
        if key.axle is not None and key.axle.posts
        else key
        for key in record.keys
    ]
    return record.model_copy(update={"holes": holes, "keys": keys})


def front_at(bends: Sequence[PieceBend], z_mm: float) -> float:
    """Azimuth in a piece's own frame at which the player's front lies [degrees], above -180 and up to 180: 0 up to its
    first bend, and each bend mirrors it.

    Parameters
    ----------
    bends : of the piece, from its reed end
    z_mm : the place along it, on a straight tube
    """
    front = 0.0
    for bend in bends:
        if bend.z_mm < z_mm:
            front = 180.0 + 2.0 * bend.toward_deg - front
    return 180.0 - (180.0 - front) % 360.0


def cut_at(line: Outline, bends: Sequence[PieceBend]) -> Outline:
    """An outline with points where bends begin and end."""
    places = [place for bend in bends for place in (bend.z_mm, bend.end_mm)]
    more = [(place, radius_at(line, place)) for place in places if all(place != z for z, _ in line)]
    return tuple(sorted((*line, *more), key=lambda point: point[0])) if more else line


def stepped(line: Outline, bends: Sequence[PieceBend], count: int) -> Outline:
    """An outline with so many steps in each bend, so that it can be bent."""
    if not bends:
        return line
    found = list(cut_at(line, bends))
    for bend in bends:
        places = bend.z_mm + bend.length_mm * np.arange(1, count) / count
        found += [(float(place), radius_at(line, float(place))) for place in places]
    return tuple(sorted(found, key=lambda point: point[0]))


def bent(corners: Floats, bends: Sequence[PieceBend]) -> Floats:
    """Where corners (n, 3) of a straight piece lie on the bent one [mm].

    Parameters
    ----------
    corners : in the piece's own frame, as if it were straight
    bends : of the piece, from its reed end
    """
    along, found = corners[:, 2], np.array(corners, float)
    frame, start, passed = np.eye(3), np.zeros(3), 0.0
    for bend in bends:
        turn = math.radians(bend.toward_deg)
        inside, ahead = frame @ [math.cos(turn), math.sin(turn), 0.0], frame @ [0.0, 0.0, 1.0]
        start = start + (bend.z_mm - passed) * ahead
        beyond = along > bend.z_mm
        angle = np.clip((along - bend.z_mm) / bend.radius_mm, 0.0, math.pi)[:, None]
        middle = start + bend.radius_mm * (np.sin(angle) * ahead + (1.0 - np.cos(angle)) * inside)
        flat = corners[:, :2] @ frame[:, :2].T
        inward = (flat @ inside)[:, None]
        here = middle + flat + inward * ((np.cos(angle) - 1.0) * inside - np.sin(angle) * ahead)
        here -= np.maximum(along - bend.end_mm, 0.0)[:, None] * ahead
        found = np.where(beyond[:, None], here, found)
        start = start + 2.0 * bend.radius_mm * inside
        half_turn = 2.0 * np.outer(np.cross(inside, ahead), np.cross(inside, ahead)) - np.eye(3)
        frame, passed = half_turn @ frame, bend.end_mm
    return found
