"""The limits of a project on a layout that is changed at the bench: what held before must hold after, and what was
broken already must not be broken further.

Holes and bell are what changes here; limits of the hand, of pads, of pieces and of venting see the wider hole.
"""

import numpy as np

from acoustics.arrays import Floats
from optimizer.analysis.as_saved import as_saved
from optimizer.geometry.layout import with_numbers
from optimizer.geometry.measured_layout import Fixed, Geometry
from optimizer.project.loading import LoadedProject
from optimizer.records.layout import LayoutRecord, saved_numbers
from optimizer.solving.problem import Problem

TOLD_MM = 0.01
"""Limits broken by less are kept, as layouts are rounded."""

OF_LIMITS = ("pad", "ring", "ream", "undercut", "bell cut")
"""Kinds of changes that limits see; crook and bore move or line the body whole."""


class KeptLimits:
    """Limits of a project, counted from one layout of it.

    Attributes
    ----------
    names : (m,) of the limits
    broken : sentences, of those that the layout breaks already
    """

    def __init__(self, loaded: LoadedProject, record: LayoutRecord) -> None:
        problem = Problem(loaded)
        self.problem, x = as_saved(problem, record)
        self.layout = self.problem.layout(x)
        items, values = problem.constraints.items, self._values(record)
        self.names = [item.name for item in items]
        self.least = np.maximum(values, 0.0)
        self.broken = [
            f"not so already, by {off:.2f} mm, and not to get worse: {item.sentence}"
            for item, off in zip(items, values, strict=True)
            if off > TOLD_MM
        ]

    def broken_by(self, record: LayoutRecord) -> Floats:
        """How far each limit (m,) is broken [mm] by a layout that differs in holes and bell; kept at 0 and below."""
        return self._values(record) - self.least

    def _values(self, record: LayoutRecord) -> Floats:
        project = self.problem.project
        numbers = saved_numbers(record, project)
        wanted = {name: numbers[name] for name in ("position_mm", "diameter_mm", "chimney_mm", "end_mm", "bore_scale")}
        wanted |= {name: numbers[name] for name in ("touch_offset_mm", *record.bore.shaped_by)}
        layout = with_numbers(self.layout, _arrays(wanted))
        holes = [
            hole.model_copy(update={"top_ratio": made.top_diameter_mm / made.diameter_mm})
            for hole, made in zip(project.holes, record.holes, strict=True)
        ]
        seen = Fixed(project.model_copy(update={"holes": holes}))
        return np.asarray(self.problem.constraints.broken_by(Geometry(layout, seen)), float)


def _arrays(numbers: dict[str, list[float] | float]) -> dict[str, Floats]:
    return {name: np.asarray(value, float) for name, value in numbers.items()}
