"""Pieces of a folded body: each as if it were straight, and where its bends take what is drawn that way.

A piece's own frame has its reed end at z = 0 and its first tube along z; azimuths on it are carried from there through
its bends, so that it can be drawn, drilled and wrapped tube by tube. By Pappus's theorem a bend has the volume of a
straight piece as long as its centre line.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple, TypeVar

import numpy as np

from acoustics.arrays import Floats
from optimizer.geometry.fold import Fold
from optimizer.handoff.shapes.outline import Outline, radius_at
from optimizer.handoff.shapes.outline import part as part_of
from optimizer.handoff.shapes.parts import Part
from optimizer.handoff.shapes.shape import Flat, Foot, Hole, Piece, PieceBend
from optimizer.records.layout import LayoutRecord

Thing = TypeVar("Thing", Hole, Flat, Foot)

TURN_STEPS = 2001
"""Places along a bend among which the farthest is looked for: of a bend of 100 mm it is missed by 0.0001 mm."""


def bends_of(record: LayoutRecord, part: Part) -> tuple[PieceBend, ...]:
    """The bends that are a part of a piece, whole as they are between joints."""
    within = [bend for bend in record.bore.bends if part.begin_mm <= bend.at_mm < part.end_mm]
    fold = Fold(record.bore.bends)
    return tuple(
        PieceBend(
            bend.at_mm - part.begin_mm,
            bend.radius_mm,
            _carried_deg(fold, part, bend.at_mm, bend.toward_deg),
        )
        for bend in within
    )


def _carried_deg(fold: Fold, part: Part, position_mm: float, azimuth_deg: float) -> float:
    """An azimuth as it is in a piece's own frame, from -180 to 180 [degrees]."""
    carried = math.degrees(fold.carried_azimuth(part.begin_mm, position_mm, math.radians(azimuth_deg)))
    return round((carried + 180.0) % 360.0 - 180.0, 6)


def in_its_frame(record: LayoutRecord, part: Part) -> LayoutRecord:
    """The same layout with azimuths as they are in a piece's own frame; itself where the body is not folded."""
    if not record.bore.bends:
        return record
    fold = Fold(record.bore.bends)

    def turned(position_mm: float, azimuth_deg: float) -> float:
        return _carried_deg(fold, part, position_mm, azimuth_deg)

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


class Course(NamedTuple):
    """A straight tube as a frame of its own: azimuth 0 along its x, 90 degrees along its y, its centre line along z.

    begin_mm : where it begins along the centre line
    turn : (3, 3) its x, y, z as columns
    start : (3,) of its axis, where it begins [mm]
    """

    begin_mm: float
    turn: Floats
    start: Floats

    def at(self, place_mm: float, beside: Sequence[float] = (0.0, 0.0, 0.0)) -> Floats:
        """The point (3,) [mm] so far along the centre line, and so far off that along the tube's x, y, z."""
        return np.asarray(self.start + self.turn @ [*beside[:2], place_mm - self.begin_mm + beside[2]])


def courses(bends: Sequence[PieceBend]) -> list[Course]:
    """The straight tubes of a piece, from its reed end, in the piece's own frame.

    Parameters
    ----------
    bends : of the piece, from its reed end
    """
    found = [Course(0.0, np.eye(3), np.zeros(3))]
    for bend in bends:
        tube, turn = found[-1], math.radians(bend.toward_deg)
        inside, ahead = tube.turn @ [math.cos(turn), math.sin(turn), 0.0], tube.turn[:, 2]
        across = np.cross(inside, ahead)
        turned = (2.0 * np.outer(across, across) - np.eye(3)) @ tube.turn
        found.append(Course(bend.end_mm, turned, tube.at(bend.z_mm) + 2.0 * bend.radius_mm * inside))
    return found


def tube_number(tubes: Sequence[Course], place_mm: float) -> int:
    """Number, from 0, of the tube that a place along the centre line [mm] lies on; in a bend, of the one before it."""
    return max(sum(place_mm >= tube.begin_mm for tube in tubes) - 1, 0)


def as_held(fold: Fold) -> list[Course]:
    """The straight tubes of an instrument, azimuths as its record has them, to axes toward the front, toward the
    player's right and down the instrument. A tube that runs up is mirrored, as azimuths count alike on every tube."""
    return [
        Course(float(begin), np.diag([1.0, 1.0, float(fold.down(begin))]), np.array([front, right, fold.depth(begin)]))
        for begin, front, right in zip(fold.begin, fold.front, fold.right, strict=True)
    ]


def placed(fold: Fold, begin_mm: float) -> tuple[Floats, Floats]:
    """How a piece that begins at a place lies in the whole: a rotation (3, 3) and a shift (3,) [mm], to axes toward the
    front, toward the player's right and down the instrument."""
    turn = np.eye(3) if fold.down(begin_mm) > 0 else np.diag([1.0, -1.0, -1.0])
    tube, depth = fold.tube(begin_mm), fold.depth(np.array(begin_mm))
    return turn, np.array([float(fold.front[tube]), float(fold.right[tube]), float(depth)])


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


def straight_parts(piece: Piece) -> list[tuple[float, Piece]]:
    """A piece parted at its bends: where each straight tube begins along it [mm], and the tube as a piece of its own,
    what stands on it in the tube's own places; itself where it has no bends."""
    if not piece.bends:
        return [(0.0, piece)]
    ends = [0.0, *(end for bend in piece.bends for end in (bend.z_mm, bend.end_mm)), piece.length_mm]
    return [(low, _cut_out(piece, low, high)) for low, high in zip(ends[::2], ends[1::2], strict=True)]


def _cut_out(piece: Piece, low: float, high: float) -> Piece:
    """What of a piece lies between two places along it [mm], from z = 0 on."""

    def line(whole: Outline) -> Outline:
        return tuple((z - low, radius) for z, radius in part_of(whole, low, high))

    def on(things: Sequence[Thing]) -> tuple[Thing, ...]:
        return tuple(replace(each, z_mm=each.z_mm - low) for each in things if low <= each.z_mm < high)

    return replace(
        piece,
        length_mm=high - low,
        outside=line(piece.outside),
        inside=line(piece.inside),
        holes=on(piece.holes),
        flats=on(piece.flats),
        feet=on(piece.feet),
        bends=(),
    )


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
    for bend, tube in zip(bends, courses(bends), strict=False):
        turn = math.radians(bend.toward_deg)
        inside, ahead = tube.turn @ [math.cos(turn), math.sin(turn), 0.0], tube.turn[:, 2]
        beyond = along > bend.z_mm
        angle = np.clip((along - bend.z_mm) / bend.radius_mm, 0.0, math.pi)[:, None]
        middle = tube.at(bend.z_mm) + bend.radius_mm * (np.sin(angle) * ahead + (1.0 - np.cos(angle)) * inside)
        flat = corners[:, :2] @ tube.turn[:, :2].T
        inward = (flat @ inside)[:, None]
        here = middle + flat + inward * ((np.cos(angle) - 1.0) * inside - np.sin(angle) * ahead)
        here -= np.maximum(along - bend.end_mm, 0.0)[:, None] * ahead
        found = np.where(beyond[:, None], here, found)
    return found


def extent_mm(line: Outline, bends: Sequence[PieceBend]) -> float:
    """How much room what lies within an outline takes along its first tube [mm]: from end to end, or to the far side of
    a bend.

    Parameters
    ----------
    line : of the piece, as if it were straight
    bends : of the piece, from its reed end
    """
    places = np.array([place for place, _ in line])
    for bend in bends:
        places = np.concatenate([places, np.linspace(bend.z_mm, bend.end_mm, TURN_STEPS)])
    radii = [radius_at(line, float(place)) for place in places]
    turns = [math.radians(bend.toward_deg + side) for bend in bends for side in (0.0, 180.0)] or [0.0]
    corners = [
        [radius * math.cos(turn), radius * math.sin(turn), place]
        for place, radius in zip(places, radii, strict=True)
        for turn in turns
    ]
    return float(np.ptp(bent(np.array(corners), bends)[:, 2]))
