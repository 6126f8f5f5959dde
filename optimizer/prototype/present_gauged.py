"""An instrument that is made with the sizes that gauges tell, in place of those that its tables have."""

from pathlib import Path
from typing import Any

from optimizer.prototype.gauge_readings import Drawn, Thing, read_gauges
from optimizer.prototype.present_tables import TableOfHoles
from optimizer.records.gauge import GaugedValue

KEYS = {"hole": "diameter_mm", "chimney": "chimney_mm", "position": "position_mm"}
"""Keys of a project's hole, by what is gauged of it."""


def with_gauges(readings: Path, holes: TableOfHoles, bore: dict[str, Any]) -> tuple[dict[str, Any], list[str]]:
    """The [bore] with what was gauged of it, and remarks; the holes are changed where they are.

    Parameters
    ----------
    readings : path of the table of readings
    holes : of the instrument
    bore : its [bore]

    Raises
    ------
    TableError
        with everything that is wrong with the readings
    """
    points = [(float(place), float(wide)) for place, wide in bore["points_mm"]]
    sizes: dict[Thing, float] = {("length", "bell"): points[-1][0]}
    for name, entry in holes.entries.items():
        sizes |= {(what, name): float(entry[key]) for what, key in KEYS.items()}
        sizes["hole_top", name] = sizes["hole", name] * _number(entry.get("top_ratio"), 1.0)
    values, remarks = read_gauges(readings, Drawn(sizes, points))
    for value in values:
        if value.what in KEYS:
            holes.entries[value.where][KEYS[value.what]] = value.value_mm
    for value in values:
        if value.what == "hole_top":
            entry = holes.entries[value.where]
            entry["top_ratio"] = round(value.value_mm / entry["diameter_mm"], 6)
    return _bored(bore, points, values), remarks


def _number(value: Any, otherwise: float) -> float:
    """A number of a project that is not checked yet."""
    return float(value) if isinstance(value, int | float) else otherwise


def _bored(bore: dict[str, Any], points: list[tuple[float, float]], values: list[GaugedValue]) -> dict[str, Any]:
    """The [bore] as wide as gauged where it was gauged, and as long."""
    read = {float(value.where): value.value_mm for value in values if value.what == "bore"}
    found = sorted([*(point for point in points if point[0] not in read), *read.items()], key=lambda point: point[0])
    length = [value.value_mm for value in values if value.what == "length"]
    if length:
        (s0, d0), (s1, d1) = found[-2:]
        found[-1] = length[0], d0 + (d1 - d0) * (length[0] - s0) / (s1 - s0)
    return bore | {"points_mm": [list(point) for point in found]}
