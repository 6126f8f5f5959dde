"""Keys of a finished layout as records."""

from collections import defaultdict
from collections.abc import Sequence
from typing import Any, TypeAlias

import numpy as np

from optimizer.geometry.axle_plans import axle_plans, axle_table, post_table
from optimizer.geometry.axles import AxlePlan, Levers, lever_rows
from optimizer.geometry.layout import Layout
from optimizer.geometry.measured_layout import Geometry, measured
from optimizer.geometry.posts import Posts, with_posts
from optimizer.geometry.space import Places
from optimizer.geometry.touches import key_plans
from optimizer.limits.keys import ReachTable, touch_reaches
from optimizer.project.fingers import row_places
from optimizer.project.model import Key, Project
from optimizer.records.keys import AxleRecord, KeyRecord, LeverRecord, PostRecord, TouchReachRecord
from optimizer.records.layout import HoleRecord
from optimizer.records.pieces import PieceRecord
from optimizer.records.rows import RowFingerRecord
from optimizer.solving.rods import Rod, passage, piece_at

Finished: TypeAlias = tuple[Sequence[HoleRecord], Sequence[PieceRecord], Sequence[RowFingerRecord]]
"""What stands where axles run: holes, pieces, fingers in rows."""


def key_records(
    project: Project,
    layout: Layout,
    holes: Sequence[HoleRecord] = (),
    pieces: Sequence[PieceRecord] = (),
    fingers: Sequence[RowFingerRecord] = (),
) -> list[KeyRecord]:
    """Every key, with touch, levers and axle where its finger has a place.

    Parameters
    ----------
    project : whose keys they are
    layout : fields (H,) [mm]
    holes, pieces, fingers : finished, that axles pass and stand on, fingers in rows; none: nothing is in their way
    """
    plans = axle_plans(project)
    placed: dict[str, dict[str, Any]] = {}
    if plans:
        at, table = measured(layout, project), axle_table(project)
        axles = _axle_records(project, plans, post_table(project).posts(at), (holes, pieces, fingers))
        levers = table.levers(at)
        reaches, turns = _reach_records(at), table.axles(at).azimuth
        for number, key in enumerate(axle.plan.key for axle in plans):
            placed[key.id] = {
                **_touch_fields(at.touches, number),
                "reach": reaches.get(number, []),
                "levers": _lever_records(project, plans, levers, number),
                "axle": axles.get(key.id),
                "turns_at_deg": None if key.pressed else round(degrees(turns[number]), 2),
            }
    return [
        KeyRecord(
            **{name: getattr(key, name) for name in ("id", "touch", "moved_by", "opens", "closes")},
            **placed.get(key.id, {"touch_position_mm": None}),
        )
        for key in project.keys
    ]


def _reach_records(at: Geometry) -> dict[int, list[TouchReachRecord]]:
    """What holds the touch of each plan of a key within reach, by the plan's number."""
    rows, found = touch_reaches(at.project), defaultdict(list)
    for row, distance in zip(rows, ReachTable(rows, len(key_plans(at.project))).distances(at), strict=True):
        said = {"origin": row.origin, "distance_mm": round(float(distance), 2), "limit_mm": round(row.limit_mm, 2)}
        found[row.plan].append(TouchReachRecord.model_validate(said))
    return found


def degrees(azimuth_rad: float) -> float:
    """An azimuth [degrees], above -180 and up to 180, rounded to 0.01."""
    return 180.0 - round(float(np.mod(180.0 - np.degrees(azimuth_rad), 360.0)), 2)


def _touch_fields(at: Places, number: int) -> dict[str, float]:
    return {
        "touch_position_mm": round(float(at.position[number]), 2),
        "touch_azimuth_deg": round(degrees(at.azimuth[number]), 2),
    }


def _lever_records(project: Project, plans: Sequence[AxlePlan], spans: Levers, number: int) -> list[LeverRecord]:
    keywork = project.keywork
    rows = enumerate(zip(*lever_rows(plans), strict=True))
    return [
        LeverRecord(
            hole=project.holes[hole].id,
            length_mm=round(float(spans.length[row]), 2),
            touch_arm_mm=round(float(spans.touch_arm[row]), 2),
            pad_arm_mm=round(float(spans.pad_arm[row]), 2),
            twisted_mm=round(float(spans.twisted[row]), 2),
            stiffness_n_per_mm=round(
                keywork.finger_force_n * float(spans.pad_arm[row] / (spans.gives[row] * spans.touch_arm[row])), 3
            ),
            lost_motion_mm=round(float(spans.lost[row]), 3),
            lost_motion_max_mm=round(keywork.lost_motion_max_share * float(spans.opening[row]), 3),
        )
        for row, (axle, hole) in rows
        if axle == number
    ]


def _axle_records(
    project: Project,
    plans: Sequence[AxlePlan],
    feet: Posts,
    finished: Finished,
) -> dict[str, AxleRecord]:
    """By key, the axles that stand on posts of their own."""
    standing = [axle.plan.key for axle in with_posts(plans)]
    found = {}
    for number, key in enumerate(standing):
        turn = round(degrees(feet.feet.azimuth[number]), 2)
        ends = [_post_record(project, feet, row, finished[1]) for row in (number, number + len(standing))]
        found[key.id] = _axle_record(project, key, turn, ends, finished)
    return found


def _axle_record(
    project: Project,
    key: Key,
    azimuth_deg: float,
    ends: Sequence[PostRecord],
    finished: Finished,
) -> AxleRecord:
    """From post to post, with as many posts between as their pitch asks for, evenly spread."""
    holes, pieces, fingers = finished
    keywork, stock = project.keywork, project.keywork.axle_stock
    low, high = (post.position_mm for post in ends)
    rod = Rod(low, high, azimuth_deg, keywork.axle_height_mm, stock.outer_mm)
    spans = max(1, int(np.ceil((high - low) / keywork.post_pitch_mm)))
    between = [round(low + (high - low) * step / spans, 2) for step in range(1, spans)]
    return AxleRecord(
        azimuth_deg=azimuth_deg,
        length_mm=round(high - low, 2),
        stock=keywork.stock,
        outer_diameter_mm=stock.outer_mm,
        inner_diameter_mm=stock.inner_mm,
        modulus_gpa=keywork.stock_modulus_gpa,
        post_diameter_mm=keywork.post_diameter_mm,
        posts=[
            ends[0],
            *(
                PostRecord(position_mm=place, room_mm=None, nearest=None, piece=piece_at(place, pieces))
                for place in between
            ),
            ends[1],
        ],
        **passage(
            project,
            rod,
            (*key.opens, *key.closes),
            holes,
            pieces,
            [finger for finger in fingers if finger.key not in (None, key.id)],
        )._asdict(),
    )


def _post_record(project: Project, feet: Posts, row: int, pieces: Sequence[PieceRecord]) -> PostRecord:
    room = np.concatenate([np.asarray(feet.to_holes[row]), np.asarray(feet.to_joints[row])])
    names = [hole.id for hole in project.holes] + [place.finger for place in row_places(project)]
    joints = feet.to_joints.shape[-1] - len(project.bends)
    names += [*(f"joint {n + 1}" for n in range(joints)), *(f"bend {bend.id}" for bend in project.bends)]
    nearest, place = int(np.argmin(room)), round(float(feet.feet.position[row]), 2)
    return PostRecord(
        position_mm=place,
        room_mm=round(float(room[nearest]), 2),
        nearest=names[nearest],
        piece=piece_at(place, pieces),
    )
