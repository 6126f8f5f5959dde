"""What the axles of a finished layout pass: cups they must be raised over, fingers in their way, joints, other posts.

A rod runs straight between its posts. A cover that comes nearer to it, across and along the body, than half of both
widths and the clearance lies under it: over a cup the rod is raised until it clears the open pad, over a bare finger it
cannot go. Touches under rods, and rods beside rods, are not looked at.
"""

import math
from collections.abc import Sequence
from itertools import combinations

from optimizer.key_record import AxleRecord, KeyRecord
from optimizer.piece_record import PieceRecord
from optimizer.project import Project
from optimizer.records import HoleRecord

TOUCHING_MM = 0.01


def with_rod_zones(
    project: Project, keys: Sequence[KeyRecord], holes: Sequence[HoleRecord], pieces: Sequence[PieceRecord]
) -> list[KeyRecord]:
    """Keys with their axles' heights, what they pass, and the piece that each post stands on."""
    return [
        key if key.axle is None else key.model_copy(update={"axle": _zoned(project, key.axle, holes, pieces)})
        for key in keys
    ]


def _zoned(
    project: Project, axle: AxleRecord, holes: Sequence[HoleRecord], pieces: Sequence[PieceRecord]
) -> AxleRecord:
    under = [hole for hole in holes if lies_under(project, axle, hole)]
    low, high = axle.posts[0].position_mm, axle.posts[-1].position_mm
    ends = [piece.to_mm for piece in pieces[:-1]]
    posts = [post.model_copy(update={"piece": _piece(post.position_mm, pieces)}) for post in axle.posts]
    return axle.model_copy(
        update={
            "height_mm": max([axle.height_mm, *(cleared_mm(project, axle, hole) for hole in under)]),
            "passes_over": [hole.id for hole in under if hole.pad is not None],
            "passes_fingers": [hole.id for hole in under if hole.pad is None],
            "crosses_joints": [number + 1 for number, end in enumerate(ends) if low < end < high],
            "posts": posts if pieces else axle.posts,
        }
    )


def lies_under(project: Project, axle: AxleRecord, hole: HoleRecord) -> bool:
    """Whether a rod passes over what covers a hole."""
    width = hole.pad.cup_diameter_mm if hole.pad else project.hand.finger_breadth_mm
    turn = math.radians(hole.azimuth_deg - axle.azimuth_deg)
    across = hole.body_diameter_mm * abs(math.sin(turn / 2.0))
    low, high = axle.posts[0].position_mm, axle.posts[-1].position_mm
    along = max(low - hole.position_mm, hole.position_mm - high, 0.0)
    need = 0.5 * (width + axle.outer_diameter_mm) + project.keywork.cup_clearance_mm
    return math.hypot(across, along) < need - TOUCHING_MM


def cleared_mm(project: Project, axle: AxleRecord, hole: HoleRecord) -> float:
    """Height of a rod's middle above the body that clears the open pad of a hole; 0 for a bare finger [mm]."""
    if hole.pad is None:
        return 0.0
    rim = max(hole.chimney_mm - project.bore.wall_mm, 0.0)
    top = rim + hole.pad.opening_mm + project.keywork.cup_height_mm
    return round(top + project.keywork.cup_clearance_mm + 0.5 * axle.outer_diameter_mm, 2)


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
            f"the axle of {key.id} passes over the finger on {name}: lead it along the other side (axle_deg), or give "
            f"{name} a plate"
            for name in key.axle.passes_fingers
        ]
        if key.axle.crosses_joints:
            joints = " and ".join(f"joint {number}" for number in key.axle.crosses_joints)
            said.append(f"the axle of {key.id} crosses {joints}: part it by a bridge, or it holds the pieces together")
    return said + _shared_posts(keys, holes)


def _shared_posts(keys: Sequence[KeyRecord], holes: Sequence[HoleRecord]) -> list[str]:
    """Posts of two axles nearer than they are wide; the body's diameter is taken at the nearest hole."""
    feet = [
        (key.id, post.position_mm, key.axle.azimuth_deg, key.axle.post_diameter_mm)
        for key in keys
        if key.axle is not None
        for post in key.axle.posts
    ]
    said = []
    for (one, first, turn, width), (other, second, against, _) in combinations(feet, 2):
        body = min(holes, key=lambda hole: abs(hole.position_mm - first)).body_diameter_mm
        across = body * abs(math.sin(math.radians(turn - against) / 2.0))
        if one != other and math.hypot(first - second, across) < width - TOUCHING_MM:
            said.append(f"posts of {one} and {other} meet at {first:.0f} mm: let one post carry both axles")
    return said
