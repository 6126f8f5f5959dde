"""Rows of touches of a finished layout as records."""

from typing import Any

from optimizer.geometry.layout import Layout
from optimizer.geometry.measured_layout import measured
from optimizer.project.fingers import row_places, row_spacing_mm
from optimizer.project.hand import SIDES
from optimizer.project.model import Project
from optimizer.records.rows import RowRecord
from optimizer.solving.keys import degrees


def row_records(project: Project, layout: Layout) -> list[RowRecord]:
    """Every row with the fingers in it."""
    at = measured(layout, project).row_fingers
    fingers: dict[str, list[dict[str, Any]]] = {side: [] for side in project.rows.by_side}
    for place, position, azimuth, radius in zip(row_places(project), *at, strict=True):
        fingers[place.finger[0]].append(
            {
                "finger": place.finger,
                "position_mm": round(float(position), 2),
                "azimuth_deg": degrees(azimuth),
                "body_diameter_mm": round(2.0 * float(radius), 2),
                "key": place.key,
            }
        )
    return [
        RowRecord.model_validate(
            {
                "hand": SIDES[side],
                "position_mm": float(layout.row_mm[number]),
                "azimuth_deg": row.azimuth_deg,
                "spacing_mm": round(row_spacing_mm(project, side), 2),
                "fingers": fingers[side],
            }
        )
        for number, (side, row) in enumerate(project.rows.by_side.items())
    ]
