"""What the axles of a finished layout pass: cups they must be raised over, fingers in their way, joints, other posts.

A rod runs straight between its posts, at a height above the body. In the plane of a cup, across the body, it
lies (R + h) sin t beside the hole's axis and (R + h) cos t - R above the body, where t is the turn between them; it is
clear of the open pad, a disk as wide as the cup and so high, when it keeps the clearance of cups. It is raised until it
is clear of all but its own pads. A finger reaches up without end: no rod passes over its tip. Touches under rods, and
rods beside rods, are not looked at.
"""

import math
from collections.abc import Sequence
from itertools import combinations, count

from optimizer.geometry.space import Places, distance, from_axis, points
from optimizer.project.model import Project
from optimizer.records.keys import AxleRecord, KeyRecord
from optimizer.records.layout import HoleRecord
from optimizer.records.pieces import PieceRecord

TOUCHING_MM = 0.01
RAISED_BY_MM = 0.1


def with_rod_zones(
    project: Project, keys: Sequence[KeyRecord], holes: Sequence[HoleRecord], pieces: Sequence[PieceRecord]
) -> list[KeyRecord]:
    """Keys with their axles' heights, what they pass, and the piece that each post stands on."""
    return [
        key if key.axle is None else key.model_copy(update={"axle": _zoned(project, key, key.axle, holes, pieces)})
        for key in keys
    ]


def _zoned(
    project: Project, key: KeyRecord, axle: AxleRecord, holes: Sequence[HoleRecord], pieces: Sequence[PieceRecord]
) -> AxleRecord:
    others = [hole for hole in holes if hole.pad is not None and hole.id not in (*key.opens, *key.closes)]
    low, high = axle.posts[0].position_mm, axle.posts[-1].position_mm
    heights = {hole.id: cleared_mm(project, axle, hole) for hole in others}
    posts = [post.model_copy(update={"piece": _piece(post.position_mm, pieces)}) for post in axle.posts]
    return axle.model_copy(
        update={
            "height_mm": max([axle.height_mm, *heights.values()]),
            "passes_over": [name for name, height in heights.items() if height > axle.height_mm],
            "passes_fingers": [hole.id for hole in holes if hole.by != "key" and over_finger(project, axle, hole)],
            "crosses_joints": [number for number, piece in enumerate(pieces) if low < piece.from_mm < high],
            "posts": posts if pieces else axle.posts,
        }
    )


def _beside(axle: AxleRecord, hole: HoleRecord, at_mm: float, height_mm: float) -> tuple[float, float]:
    """Of a rod's middle, so high above the body, from the axis of a hole: way beside a place on it, way up [mm]."""
    radius, low, high = 0.5 * hole.body_diameter_mm, axle.posts[0].position_mm, axle.posts[-1].position_mm
    nearest = Places(min(max(at_mm, low), high), math.radians(axle.azimuth_deg), radius + height_mm)
    beside, up = from_axis(Places(at_mm, math.radians(hole.azimuth_deg), radius), points(nearest))
    return float(beside), float(up)


def _clear(project: Project, axle: AxleRecord, gap_mm: float) -> bool:
    return gap_mm >= 0.5 * axle.outer_diameter_mm + project.keywork.cup_clearance_mm - TOUCHING_MM


def cleared_mm(project: Project, axle: AxleRecord, hole: HoleRecord) -> float:
    """Least height of a rod's middle above the body that clears the open pad of a hole [mm]; no less than its own.

    Parameters
    ----------
    project : clearances and sizes [mm]
    axle : whose rod it is
    hole : the hole; without a pad nothing is in the way
    """
    if hole.pad is None:
        return axle.height_mm
    rim = max(hole.chimney_mm - project.bore.wall_mm, 0.0)
    top = rim + hole.pad.opening_mm + project.keywork.cup_height_mm
    for step in count():
        height = round(axle.height_mm + step * RAISED_BY_MM, 3)
        beside, up = _beside(axle, hole, hole.position_mm, height)
        gap = math.hypot(max(beside - 0.5 * hole.pad.cup_diameter_mm, 0.0), max(up - top, -up, 0.0))
        if _clear(project, axle, gap):
            return height
    raise AssertionError("count never ends")


def over_finger(project: Project, axle: AxleRecord, hole: HoleRecord) -> bool:
    """Whether a rod passes over the tip of the finger on a hole or on the plate over it."""
    at = hole.position_mm if hole.touch_position_mm is None else hole.touch_position_mm
    beside, up = _beside(axle, hole, at, axle.height_mm)
    return up > 0.0 and not _clear(project, axle, beside - 0.5 * project.hand.finger_breadth_mm)


def _piece(position_mm: float, pieces: Sequence[PieceRecord]) -> int:
    """Number of the piece, from the reed, that a place lies on; 0 on the crook."""
    return sum(position_mm >= piece.from_mm for piece in pieces)


def rod_sentences(keys: Sequence[KeyRecord], holes: Sequence[HoleRecord]) -> list[str]:
    """What has to be settled in CAD: fingers under rods, rods across joints, posts that stand in one place."""
    said = []
    for key in keys:
        if key.axle is None:
            continue
        said += [
            f"the axle of {key.id} runs where the finger on {name} lies: lead it along another side (axle_deg)"
            for name in key.axle.passes_fingers
        ]
        if key.axle.crosses_joints:
            joints = " and ".join(
                f"joint {number}" if number else "the crook's end" for number in key.axle.crosses_joints
            )
            said.append(f"the axle of {key.id} crosses {joints}: part it by a bridge, or it holds the pieces together")
    return said + _shared_posts(keys, holes)


def _shared_posts(keys: Sequence[KeyRecord], holes: Sequence[HoleRecord]) -> list[str]:
    """Posts of two axles nearer than they are wide; the body's diameter is taken at the nearest hole."""
    feet = [
        (key.id, post.position_mm, key.axle.azimuth_deg, key.axle.post_diameter_mm, _body_mm(holes, post.position_mm))
        for key in keys
        if key.axle is not None
        for post in key.axle.posts
    ]
    said = []
    for (one, first, turn, width, body), (other, second, against, *_) in combinations(feet, 2):
        here, there = (
            points(Places(place, math.radians(azimuth), 0.5 * body))
            for place, azimuth in ((first, turn), (second, against))
        )
        if one != other and distance(here, there) < width - TOUCHING_MM:
            said.append(f"posts of {one} and {other} meet at {first:.0f} mm: let one post carry both axles")
    return said


def _body_mm(holes: Sequence[HoleRecord], position_mm: float) -> float:
    """The body's diameter at the hole nearest to a place [mm]."""
    return min(holes, key=lambda hole: abs(hole.position_mm - position_mm)).body_diameter_mm
