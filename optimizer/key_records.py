"""Keys of a finished layout as records."""

import numpy as np

from acoustics.arrays import Array
from optimizer.axle_limits import look
from optimizer.axle_ways import axle_plans
from optimizer.axles import AxlePlan, Levers, lever_rows, with_posts
from optimizer.key_places import Places, touches
from optimizer.key_record import AxleRecord, KeyRecord, LeverRecord, PostRecord
from optimizer.layout import Layout
from optimizer.posts import Rooms, Scene, columns_named, rooms, slots
from optimizer.project import Project


def key_records(project: Project, layout: Layout) -> list[KeyRecord]:
    """Every key, with touch, levers and axle where its finger has a place."""
    plans = axle_plans(project)
    standing = with_posts(plans)
    at = touches(layout, project, [axle.plan for axle in plans]) if plans else None
    seen = look(layout, project, plans, slots(project, standing)) if plans else None
    placed = {axle.plan.key.id: number for number, axle in enumerate(plans)}
    footed = {axle.plan.key.id: number for number, axle in enumerate(standing)}
    records = []
    for key in project.keys:
        said = KeyRecord(
            **{name: getattr(key, name) for name in ("id", "touch", "moved_by", "opens", "closes")},
            touch_position_mm=None,
        )
        if key.id in placed and at is not None and seen is not None:
            fields: dict[str, object] = _touch_fields(at, placed[key.id])
            fields["levers"] = _lever_records(project, plans, seen.levers, placed[key.id])
            if key.id in footed and seen.scene is not None:
                fields["axle"] = _axle_record(project, seen.scene, standing, footed[key.id])
            said = said.model_copy(update=fields)
        records.append(said)
    return records


def degrees(azimuth_rad: Array) -> float:
    """An azimuth [degrees], above -180 and up to 180, rounded to 0.01."""
    return 180.0 - round(float(np.mod(180.0 - np.degrees(float(azimuth_rad)), 360.0)), 2)


def _touch_fields(at: Places, number: int) -> dict[str, object]:
    return {
        "touch_position_mm": round(float(at.position[number]), 2),
        "touch_azimuth_deg": round(degrees(at.azimuth[number]), 2),
    }


def _lever_records(project: Project, plans: list[AxlePlan], spans: Levers, number: int) -> list[LeverRecord]:
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


def _axle_record(project: Project, found: Scene, plans: list[AxlePlan], number: int) -> AxleRecord:
    """An axle with its posts from the reed to the bell."""
    keywork, stock = project.keywork, project.keywork.axle_stock
    row = slots(project, plans)
    mine = [n for n, slot in enumerate(row) if slot.axle == number and bool(found.used[n])]
    whole = rooms(found, project, plans, row)
    posts = [_post_record(project, found, whole, plans, n) for n in mine]
    room = np.concatenate([np.asarray(part[number]) for part in whole[3:]])
    names = columns_named(project, plans) + [f"axle {axle.plan.key.id}" for axle in plans]
    return AxleRecord(
        azimuth_deg=round(degrees(found.rods.azimuth[number]), 2),
        height_mm=round(float(found.rods.height_mm[number]), 2),
        length_mm=round(float(found.rods.bell_mm[number] - found.rods.reed_mm[number]), 2),
        stock=keywork.stock,
        outer_diameter_mm=stock.outer_mm,
        inner_diameter_mm=stock.inner_mm,
        modulus_gpa=keywork.stock_modulus_gpa,
        post_diameter_mm=keywork.post_diameter_mm,
        posts=sorted(posts, key=lambda post: post.position_mm),
        span_mm=round(float(found.spans[number]), 2),
        room_mm=round(float(np.min(room)), 2),
        nearest=names[int(np.argmin(room))],
        bridges=sorted({post.joint for post in posts if post.joint is not None}),
    )


def _post_record(project: Project, found: Scene, whole: Rooms, plans: list[AxlePlan], number: int) -> PostRecord:
    row, room = slots(project, plans), np.concatenate([np.asarray(part[number]) for part in whole[:3]])
    cut, position = found.cut, float(found.posts.feet.position[number])
    crook = int(project.bore.crook_end_mm > 0.0)
    keys = [axle.plan.key.id for axle in plans]
    names = columns_named(project, plans) + [f"post {keys[slot.axle]}" for slot in row]
    names += [f"axle {key}" for key in keys] + [f"joint {n + 1 - crook}" for n in range(cut.used.size)]
    nearest, slot = int(np.argmin(room)), row[number]
    before = int(np.sum(np.asarray(cut.used) & (np.asarray(cut.middle_mm) < position)))
    return PostRecord(
        position_mm=round(position, 2),
        room_mm=round(float(room[nearest]), 2),
        nearest="crook" if names[nearest] == "joint 0" else names[nearest],
        piece=before + 1 - crook,
        joint=slot.number // 2 + 1 - crook if slot.kind == "bridge" else None,
    )
