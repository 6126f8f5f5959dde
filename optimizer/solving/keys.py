"""Keys of a finished layout as records."""

from collections.abc import Sequence

import numpy as np

from optimizer.geometry.axles import AxlePlan, Levers, Posts, axle_plans, axle_table, lever_rows, with_posts
from optimizer.geometry.layout import Layout
from optimizer.geometry.measured_layout import measured
from optimizer.geometry.space import Places
from optimizer.project.model import Project
from optimizer.records.keys import AxleRecord, KeyRecord, LeverRecord, PostRecord


def key_records(project: Project, layout: Layout) -> list[KeyRecord]:
    """Every key, with touch, levers and axle where its finger has a place."""
    plans = axle_plans(project)
    standing = with_posts(plans)
    at, spans, feet = _placed(project, layout) if plans else (None, None, None)
    placed = {axle.plan.key.id: number for number, axle in enumerate(plans)}
    footed = {axle.plan.key.id: number for number, axle in enumerate(standing)}
    records = []
    for key in project.keys:
        said = KeyRecord(
            **{name: getattr(key, name) for name in ("id", "touch", "moved_by", "opens", "closes")},
            touch_position_mm=None,
        )
        if key.id in placed and at is not None and spans is not None:
            found: dict[str, object] = _touch_fields(at, placed[key.id])
            found["levers"] = _lever_records(project, plans, spans, placed[key.id])
            if key.id in footed and feet is not None:
                found["axle"] = _axle_record(project, feet, footed[key.id], len(standing))
            said = said.model_copy(update=found)
        records.append(said)
    return records


def _placed(project: Project, layout: Layout) -> tuple[Places, Levers, Posts]:
    """Touches and levers of all keys, posts of those that have their own."""
    at, table = measured(layout, project), axle_table(project)
    return at.touches, table.levers(at), table.posts(at)


def degrees(azimuth_rad: float) -> float:
    """An azimuth [degrees], above -180 and up to 180, rounded to 0.01."""
    return 180.0 - round(float(np.mod(180.0 - np.degrees(azimuth_rad), 360.0)), 2)


def _touch_fields(at: Places, number: int) -> dict[str, object]:
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


def _axle_record(project: Project, feet: Posts, number: int, count: int) -> AxleRecord:
    """Its posts from the reed: the two at its ends, and as many between as their pitch asks for, evenly spread."""
    keywork, stock = project.keywork, project.keywork.axle_stock
    first, last = (_post_record(project, feet, row) for row in (number, number + count))
    length = last.position_mm - first.position_mm
    spans = max(1, int(np.ceil(length / keywork.post_pitch_mm)))
    between = [
        PostRecord(position_mm=round(first.position_mm + length * step / spans, 2), room_mm=None, nearest=None)
        for step in range(1, spans)
    ]
    return AxleRecord(
        azimuth_deg=round(degrees(feet.feet.azimuth[number]), 2),
        height_mm=keywork.axle_height_mm,
        length_mm=round(length, 2),
        stock=keywork.stock,
        outer_diameter_mm=stock.outer_mm,
        inner_diameter_mm=stock.inner_mm,
        modulus_gpa=keywork.stock_modulus_gpa,
        post_diameter_mm=keywork.post_diameter_mm,
        posts=[first, *between, last],
    )


def _post_record(project: Project, feet: Posts, row: int) -> PostRecord:
    room = np.concatenate([np.asarray(feet.to_holes[row]), np.asarray(feet.to_joints[row])])
    names = [hole.id for hole in project.holes] + [f"joint {n + 1}" for n in range(feet.to_joints.shape[-1])]
    nearest = int(np.argmin(room))
    return PostRecord(
        position_mm=round(float(feet.feet.position[row]), 2),
        room_mm=round(float(room[nearest]), 2),
        nearest=names[nearest],
    )
