"""What the axles of a finished layout pass: cups they must be raised over, fingers in their way, joints, other posts.

A rod runs straight between its posts, at a height above the body. In the plane of a cup, across the body, it
lies (R + h) sin t beside the hole's axis and (R + h) cos t - R above the body, where t is the turn between them; it is
clear of the open pad, a disk as wide as the cup and so high, when it keeps the clearance of cups. It is raised until it
is clear of all but its own pads. A finger reaches up without end: no rod passes over its tip. Touches under rods, and
rods beside rods, are not looked at.
"""

import math
from collections.abc import Collection, Sequence
from itertools import combinations, count
from typing import NamedTuple

from optimizer.geometry.fold import Fold
from optimizer.geometry.measured_layout import fixed_of
from optimizer.geometry.space import Places, distance
from optimizer.project.model import FINGERS, Project
from optimizer.records.keys import KeyRecord
from optimizer.records.layout import HoleRecord
from optimizer.records.pieces import PieceRecord
from optimizer.records.rows import RowFingerRecord
from optimizer.words import listed

TOUCHING_MM = 0.01
RAISED_BY_MM = 0.1


class Rod(NamedTuple):
    """A rod between the posts at its ends: where these stand [mm], its azimuth [degrees], how high above the body its
    middle lies by itself [mm], how thick it is [mm]."""

    from_mm: float
    to_mm: float
    azimuth_deg: float
    height_mm: float
    outer_diameter_mm: float


class Passage(NamedTuple):
    """How a rod gets past what is there, in the words of `AxleRecord`."""

    height_mm: float
    passes_over: list[str]
    passes_fingers: list[str]
    crosses_joints: list[int]


def passage(
    project: Project,
    rod: Rod,
    own: Collection[str],
    holes: Sequence[HoleRecord],
    pieces: Sequence[PieceRecord],
    fingers: Sequence[RowFingerRecord] = (),
) -> Passage:
    """The height that a rod needs, and what it passes.

    Parameters
    ----------
    project : clearances and sizes [mm]
    rod : as low as it would lie by itself
    own : holes whose pads it works, and need not clear
    holes, pieces, fingers : of the finished layout; fingers in rows that rest on other keys
    """
    others = [hole for hole in holes if hole.pad is not None and hole.id not in own]
    heights = {hole.id: cleared_mm(project, rod, hole) for hole in others}
    return Passage(
        height_mm=max([rod.height_mm, *heights.values()]),
        passes_over=[name for name, height in heights.items() if height > rod.height_mm],
        passes_fingers=[
            *(hole.id for hole in holes if hole.by != "key" and over_finger(project, rod, hole)),
            *(finger.finger for finger in fingers if over_finger(project, rod, finger)),
        ],
        crosses_joints=[number for number, piece in enumerate(pieces) if rod.from_mm < piece.from_mm < rod.to_mm],
    )


def _beside(
    fold: Fold, rod: Rod, hole: HoleRecord | RowFingerRecord, at_mm: float, height_mm: float
) -> tuple[float, float]:
    """Of a rod's middle, so high above the body, from the axis of a hole or finger: way beside it, way up [mm]."""
    radius, abreast = 0.5 * hole.body_diameter_mm, float(fold.carried(at_mm, fold.tube(rod.from_mm)))
    nearest = Places(min(max(abreast, rod.from_mm), rod.to_mm), math.radians(rod.azimuth_deg), radius + height_mm)
    beside, up = fold.from_axis(Places(at_mm, math.radians(hole.azimuth_deg), radius), fold.points(nearest))
    return float(beside), float(up)


def _clear(project: Project, rod: Rod, gap_mm: float) -> bool:
    return gap_mm >= 0.5 * rod.outer_diameter_mm + project.keywork.cup_clearance_mm - TOUCHING_MM


def cleared_mm(project: Project, rod: Rod, hole: HoleRecord) -> float:
    """Least height of a rod's middle above the body that clears the open pad of a hole [mm]; no less than its own.

    Parameters
    ----------
    project : clearances and sizes [mm]
    rod : as low as it would lie by itself
    hole : the hole; without a pad nothing is in the way
    """
    if hole.pad is None:
        return rod.height_mm
    rim = max(hole.chimney_mm - project.bore.wall_mm, 0.0)
    top = rim + hole.pad.opening_mm + project.keywork.cup_height_mm
    fold = fixed_of(project).fold
    for step in count():
        height = round(rod.height_mm + step * RAISED_BY_MM, 3)
        beside, up = _beside(fold, rod, hole, hole.position_mm, height)
        gap = math.hypot(max(beside - 0.5 * hole.pad.cup_diameter_mm, 0.0), max(up - top, -up, 0.0))
        if _clear(project, rod, gap):
            return height
    raise AssertionError("count never ends")


def over_finger(project: Project, rod: Rod, finger: HoleRecord | RowFingerRecord) -> bool:
    """Whether a rod passes over the tip of the finger in a row, on a hole or on the plate over it."""
    touch = finger.touch_position_mm if isinstance(finger, HoleRecord) else None
    fold = fixed_of(project).fold
    beside, up = _beside(fold, rod, finger, finger.position_mm if touch is None else touch, rod.height_mm)
    return up > 0.0 and not _clear(project, rod, beside - 0.5 * project.hand.finger_breadth_mm)


def piece_at(position_mm: float, pieces: Sequence[PieceRecord]) -> int | None:
    """Number of the piece, from the reed, that a place lies on; 0 on the crook, None where there are no pieces."""
    return sum(position_mm >= piece.from_mm for piece in pieces) if pieces else None


def rod_sentences(keys: Sequence[KeyRecord], holes: Sequence[HoleRecord], fold: Fold) -> list[str]:
    """What has to be settled in CAD: fingers under rods, rods across joints, posts that stand in one place."""
    said = []
    for key in keys:
        if key.axle is None:
            continue
        said += [
            f"the rod of {key.id} runs where {_finger_words(name)} lies: lead it along another side (axle_deg)"
            for name in key.axle.passes_fingers
        ]
        if key.axle.crosses_joints:
            joints = " and ".join(
                f"joint {number}" if number else "the crook's end" for number in key.axle.crosses_joints
            )
            said.append(f"the rod of {key.id} crosses {joints}: part it by a bridge, or it holds the pieces together")
    return said + _shared_posts(keys, holes, fold)


def _finger_words(name: str) -> str:
    """A finger in a row by its name, any other by the hole that it lies on."""
    return name if name in FINGERS else f"the finger on {name}"


class _Post(NamedTuple):
    """A post of a key: where it stands [mm], its azimuth [degrees], its width, the body's diameter there [mm]."""

    key: str
    position_mm: float
    azimuth_deg: float
    width_mm: float
    body_mm: float

    def meets(self, other: "_Post", fold: Fold) -> bool:
        """Whether that of another key stands in its place."""
        here, there = (
            fold.points(Places(post.position_mm, math.radians(post.azimuth_deg), 0.5 * self.body_mm))
            for post in (self, other)
        )
        return self.key != other.key and bool(distance(here, there) < self.width_mm - TOUCHING_MM)


def _shared_posts(keys: Sequence[KeyRecord], holes: Sequence[HoleRecord], fold: Fold) -> list[str]:
    """Posts of several axles nearer than they are wide, a sentence for all that stand in one place; the body's diameter
    is taken at the nearest hole."""
    posts = [
        _Post(key.id, post.position_mm, key.axle.azimuth_deg, key.axle.post_diameter_mm,
              _body_mm(holes, post.position_mm))
        for key in keys
        if key.axle is not None
        for post in key.axle.posts
    ]  # fmt: skip
    group = list(range(len(posts)))
    for (number, post), (against, other) in combinations(enumerate(posts), 2):
        if post.meets(other, fold):
            group = [group[number] if each == group[against] else each for each in group]
    said = []
    for first in sorted(set(group)):
        met = list(dict.fromkeys(post.key for post, each in zip(posts, group, strict=True) if each == first))
        if len(met) > 1:
            rods = "both rods" if len(met) == 2 else "all their rods"
            said.append(f"posts of {listed(met)} meet at {posts[first].position_mm:.0f} mm: let one post carry {rods}")
    return said


def _body_mm(holes: Sequence[HoleRecord], position_mm: float) -> float:
    """The body's diameter at the hole nearest to a place [mm]."""
    return min(holes, key=lambda hole: abs(hole.position_mm - position_mm)).body_diameter_mm
