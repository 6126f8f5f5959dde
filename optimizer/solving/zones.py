"""Zones kept clear for fittings as records."""

from collections.abc import Sequence

import numpy as np

from optimizer.geometry.fittings import fitting_table
from optimizer.geometry.layout import Layout
from optimizer.geometry.measured_layout import measured
from optimizer.project.model import Project
from optimizer.records.fittings import FittingRecord
from optimizer.records.pieces import PieceRecord
from optimizer.solving.rods import piece_at


def fitting_records(project: Project, layout: Layout, pieces: Sequence[PieceRecord]) -> list[FittingRecord]:
    """Every fitting where it lies; layout: fields (H,) [mm]; pieces: finished."""
    if not project.fittings:
        return []
    table = fitting_table(project)
    placed = table.placed(measured(layout, project))
    return [
        FittingRecord(
            **each.model_dump(include={"id", "azimuth_deg", "length_mm", "width_mm", "clear_mm"}),
            position_mm=round(float(place), 2),
            room_mm=round(float(np.min(room)), 2),
            nearest=table.names[int(np.argmin(room))],
            piece=piece_at(float(place), pieces),
        )
        for each, place, room in zip(project.fittings, placed.position, placed.room, strict=True)
    ]
