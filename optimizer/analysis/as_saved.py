"""A saved layout as a solver sees it again: the choices it was made with, and where it lies in x."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from optimizer.geometry.choices import Choices, open_covers, optional_notes
from optimizer.geometry.layout import with_numbers
from optimizer.project.loading import LoadedProject
from optimizer.records.layout import LayoutRecord, saved_numbers
from optimizer.solving.problem import Problem


def choices_of(loaded: LoadedProject, record: LayoutRecord) -> Choices:
    """The choices that a layout was made with."""
    plates = {hole.id for hole in record.holes if hole.cover == "plate"}
    played = {(note.written, note.register_number, note.touches) for note in record.notes}
    lines = [
        next((n for n in found if _key(loaded, n) in played), found[0])
        for found in optional_notes(loaded.notes).values()
    ]
    open_ones = tuple(hole for hole in open_covers(loaded.project) if hole in plates)
    return Choices(open_ones, tuple(lines), (0.5,) * max(len(record.pieces) - 1, 0))


def _key(loaded: LoadedProject, line: int) -> tuple[str, int, str]:
    note = loaded.notes[line]
    return note.written, note.register, note.touches


def record_joints(record: LayoutRecord) -> list[float]:
    """Middles of a layout's joints [mm]."""
    return [piece.to_mm for piece in record.pieces[:-1]]


def placed(
    problem: Problem, choices: Choices, numbers: Mapping[str, Any], joints_mm: Sequence[float]
) -> tuple[Problem, np.ndarray]:
    """A problem with a layout's choices made, and the layout's x (n,), each number within its range.

    Parameters
    ----------
    problem : of the layout's project
    choices : those of the layout
    numbers : see `saved_numbers`; joints aside
    joints_mm : middles of its joints [mm]
    """
    fields = {name: np.asarray(value, float) for name, value in numbers.items() if name != "joint_mm"}
    coding = problem.parametrisation
    return problem.chosen(choices, coding.encode(with_numbers(coding.lowest, fields)), joints_mm)


def as_saved(problem: Problem, record: LayoutRecord) -> tuple[Problem, np.ndarray]:
    """A problem with a layout's choices made, and the layout's x (n,).

    Parameters
    ----------
    problem : of the project that the layout was made for
    record : the layout
    """
    numbers = saved_numbers(record, problem.project)
    return placed(problem, choices_of(problem.loaded, record), numbers, record_joints(record))
