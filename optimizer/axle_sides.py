"""On which side of its pad a key's axle lies, taken from one place to another: from a layout, or from a project.

By itself it follows from where the holes' ranges lie, so that it may turn over when some of them are held fast; posts
that are printed stay where they are.
"""

from collections.abc import Collection, Mapping
from typing import Any, Literal

from optimizer.axles import axle_plans
from optimizer.key_record import KeyRecord
from optimizer.project import Project
from optimizer.records import LayoutRecord

Side = Literal["clockwise", "counterclockwise"]


def settled_sides(project: Project) -> dict[str, Side]:
    """Side of every axle that has no azimuth of its own, by the key's id."""
    return {axle.plan.key.id: _side(axle.side) for axle in axle_plans(project) if axle.azimuth is None}


def made_sides(record: LayoutRecord, pieces: Collection[int]) -> dict[str, Side]:
    """Sides of a layout's axles that have a post on some of its pieces; 0 is the crook."""
    azimuths = {hole.id: hole.azimuth_deg for hole in record.holes}
    found: dict[str, Side] = {}
    for key in record.keys:
        turn = _turn_deg(key, azimuths)
        if turn and key.axle is not None and any(post.piece in pieces for post in key.axle.posts):
            found[key.id] = _side(turn)
    return found


def keys_table(table: Mapping[str, Any], sides: Mapping[str, Side]) -> dict[str, Any]:
    """A project's table of keys with some sides written into it, where no azimuth is given."""
    return {
        name: {**line, "axle_side": sides[name]} if name in sides and "axle_deg" not in line else line
        for name, line in table.items()
    }


def _turn_deg(key: KeyRecord, azimuths: Mapping[str, float]) -> float:
    """How far the axle is turned from the pad farthest from the touch, -180 to 180."""
    if key.axle is None or not key.levers:
        return 0.0
    pad = azimuths[max(key.levers, key=lambda lever: lever.twisted_mm).hole]
    return (key.axle.azimuth_deg - pad + 180.0) % 360.0 - 180.0


def _side(turn: float) -> Side:
    return "clockwise" if turn > 0 else "counterclockwise"
