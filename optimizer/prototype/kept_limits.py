"""The limits of a project on a layout that is changed at the bench: what held before must hold after, and what was
broken already must not be broken further.

Holes and bell are what changes here; limits of the hand, of pads and of pieces see the wider hole. What a search asks
of sensible holes (`[venting]`) is asked of a new design, not of a hole that is reamed into tune.
"""

import numpy as np

from acoustics.arrays import Floats
from optimizer.analysis.prices import choices_of, record_joints
from optimizer.geometry.layout import with_numbers
from optimizer.geometry.measured_layout import Fixed, Geometry
from optimizer.project.loading import LoadedProject
from optimizer.records.layout import LayoutRecord, saved_numbers
from optimizer.solving.problem import Problem

OF_NEW_DESIGNS = ("step", "size", "cutoff")
"""Kinds of limits that `[venting]` sets."""


class KeptLimits:
    """Limits of a project, counted from one layout of it.

    Attributes
    ----------
    names : (m,) of the limits
    """

    def __init__(self, loaded: LoadedProject, record: LayoutRecord) -> None:
        problem = Problem(loaded)
        numbers = saved_numbers(record, loaded.project)
        del numbers["joint_mm"]
        start = problem.parametrisation.encode(with_numbers(problem.parametrisation.lowest, _arrays(numbers)))
        self.problem, x = problem.chosen(choices_of(loaded, record), start, record_joints(record))
        self.layout = self.problem.layout(x)
        kinds = [item.name.partition(".")[0] for item in problem.constraints.items]
        self.asked = np.array([kind not in OF_NEW_DESIGNS for kind in kinds])
        self.names = [item.name for item, asked in zip(problem.constraints.items, self.asked, strict=True) if asked]
        self.least = np.maximum(self._values(record), 0.0)
        self.record = record

    def broken_by(self, holes_of: LayoutRecord) -> Floats:
        """How far each limit (m,) is broken [mm] by a layout that differs in holes and bell; kept at 0 and below."""
        return self._values(holes_of) - self.least

    def _values(self, record: LayoutRecord) -> Floats:
        project = self.problem.project
        numbers = saved_numbers(record, project)
        wanted = {name: numbers[name] for name in ("position_mm", "diameter_mm", "chimney_mm", "end_mm", "bore_scale")}
        wanted["touch_offset_mm"] = numbers["touch_offset_mm"]
        layout = with_numbers(self.layout, _arrays(wanted))
        holes = [
            hole.model_copy(update={"top_ratio": made.top_diameter_mm / made.diameter_mm})
            for hole, made in zip(project.holes, record.holes, strict=True)
        ]
        seen = Fixed(project.model_copy(update={"holes": holes}))
        values = np.asarray(self.problem.constraints.broken_by(Geometry(layout, seen)), float)
        return np.asarray(values[self.asked])


def _arrays(numbers: dict[str, list[float] | float]) -> dict[str, Floats]:
    return {name: np.asarray(value, float) for name, value in numbers.items()}
