"""The numbers of a saved layout, to start from or to compare: the way back from a record."""

import numpy as np

from optimizer.project.model import Project
from optimizer.records.layout import LayoutRecord


def saved_numbers(record: LayoutRecord, project: Project) -> dict[str, list[float] | float]:
    """Numbers of a record by their names in `layout.STEP`; joints that the record does without are left out."""
    holes = record.holes
    offset = [0.0 if hole.touch_position_mm is None else hole.touch_position_mm - hole.position_mm for hole in holes]
    return {
        "position_mm": [hole.position_mm for hole in holes],
        "diameter_mm": [hole.diameter_mm for hole in holes],
        "chimney_mm": [hole.chimney_mm for hole in holes],
        "touch_offset_mm": offset,
        "end_mm": record.bore.points_mm[-1][0],
        "reed_volume_cm3": record.reed.volume_cm3,
        "bore_scale": float(np.round(record.bore.points_mm[0][1] / project.bore.points_mm[0][1], 6)),
        "joint_mm": [piece.to_mm for piece in record.pieces[:-1]],
    }
