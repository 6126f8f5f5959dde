"""On which side of its pad a key's axle lies, taken from one place to another: from a layout, or from a project.

By itself it follows from where the holes' ranges lie, so that it may turn over when some of them are held fast; posts
that are printed stay where they are.
"""

from collections.abc import Collection, Mapping
from typing import Any, Literal

from optimizer.geometry.axle_plans import axle_plans, farthest_pads
from optimizer.project.model import Project
from optimizer.records.layout import LayoutRecord

Side = Literal["clockwise", "counterclockwise"]

SAME_DEG = 0.1
"""Azimuths that differ by no more are one: a layout file rounds them to 0.01."""


def settled_sides(project: Project) -> dict[str, Side]:
    """Side of every axle that has no azimuth of its own, by the key's id."""
    return {axle.plan.key.id: _side(axle.side) for axle in axle_plans(project) if axle.azimuth is None}


def made_axles(record: LayoutRecord, pieces: Collection[int]) -> dict[str, float]:
    """Azimuths [degrees] of the axles with a post on some of a layout's pieces, by the key's id; 0 is the crook."""
    return {
        key.id: key.axle.azimuth_deg
        for key in record.keys
        if key.axle is not None and any(post.piece in pieces for post in key.axle.posts)
    }


def made_sides(project: Project, azimuths: Mapping[str, float]) -> dict[str, Side]:
    """Sides of axles made at some azimuths, each of the pad that the project leads it beside."""
    pads = farthest_pads(project) if azimuths else {}
    turns = {name: turn_deg(azimuth, pads[name].azimuth_deg) for name, azimuth in azimuths.items() if name in pads}
    return {name: _side(turn) for name, turn in turns.items()}


def side_problems(project: Project, azimuths: Mapping[str, float]) -> list[str]:
    """Where a project's keys do not lead their axles as they are made, or it cannot be told whether they do."""
    pads, sides, problems = farthest_pads(project) if azimuths else {}, made_sides(project, azimuths), []
    for key in project.keys:
        if key.id not in sides:
            continue
        made, pad = azimuths[key.id], pads[key.id]
        if key.axle_deg is not None:
            if abs(turn_deg(made, key.axle_deg)) > SAME_DEG:
                problems.append(f"keys.{key.id}.axle_deg: is printed at {made:g}, not {key.axle_deg:g}")
        elif min(abs(turn_deg(made, pad.azimuth_deg + straight)) for straight in (0.0, 180.0)) <= SAME_DEG:
            problems.append(
                f"keys.{key.id}: its rod is printed at {made:g}, in line with or opposite {pad.id}, so on which side "
                f"of it cannot be told; give axle_deg = {made:g}"
            )
        elif key.axle_side not in (None, sides[key.id]):
            problems.append(f"keys.{key.id}.axle_side: is printed {sides[key.id]}, not {key.axle_side}")
    return problems


def keys_table(table: Mapping[str, Any], sides: Mapping[str, Side]) -> dict[str, Any]:
    """A project's table of keys with some sides written into it, where no azimuth is given."""
    return {
        name: {**line, "axle_side": sides[name]} if name in sides and "axle_deg" not in line else line
        for name, line in table.items()
    }


def turn_deg(azimuth: float, origin: float) -> float:
    """How far one azimuth is turned from another, -180 to 180, clockwise where positive [degrees]."""
    return (azimuth - origin + 180.0) % 360.0 - 180.0


def _side(turn: float) -> Side:
    return "clockwise" if turn > 0 else "counterclockwise"
