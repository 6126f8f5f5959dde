"""The layout of an instrument that is made: judged as any is, and kept in a run folder for every command."""

from pathlib import Path
from typing import Any

import numpy as np

from optimizer.geometry.choices import plain_choices
from optimizer.geometry.layout import with_numbers
from optimizer.prototype.present_project import PresentProject
from optimizer.records.layout import LayoutRecord
from optimizer.records.layout_ids import PRESENT
from optimizer.records.run import ProgressRecord
from optimizer.search.run_folder import RunFolder, create_run, now
from optimizer.solving.assemble import assemble
from optimizer.solving.problem import Problem

ENDED_BY = "no search"


def present_layout(found: PresentProject) -> LayoutRecord:
    """The layout of the instrument, its notes by its real resonances, with the limits that it breaks and by how far."""
    problem, project = Problem(found.loaded), found.loaded.project
    lowest = problem.parametrisation.lowest
    touched = [found.touch_mm.get(hole.id, hole.position_mm[0]) - hole.position_mm[0] for hole in project.holes]
    start = problem.parametrisation.encode(with_numbers(lowest, {"touch_offset_mm": np.array(touched)}))
    choices = plain_choices(project, found.loaded.notes)
    chosen, x = problem.chosen(choices._replace(joints=(0.5,) * len(found.joints_mm)), start, sorted(found.joints_mm))
    return assemble(chosen, x, PRESENT, dict(found.read_from))


def present_run(found: PresentProject, results: Path) -> RunFolder:
    """A run folder that holds the instrument alone, in the results folder."""
    record = present_layout(found)
    folder = create_run(results, found.loaded, seed=0, minutes=None, trials=None, workers=0)
    folder.keep(record, record.model_dump_json(indent=1))
    folder.close(_at_rest(folder))
    return folder


def _at_rest(folder: RunFolder) -> ProgressRecord:
    """How far a run is that nothing searches."""
    nothing: dict[str, Any] = dict.fromkeys(("elapsed_seconds", "trials_per_second", "hypervolume"), 0.0)
    nothing |= dict.fromkeys(("process", "trials_done", "trials_failed", "workers"), 0)
    return ProgressRecord(
        state="ended", ended_by=ENDED_BY, host="", written=now(), seconds_left=None, best=dict(folder.best),
        layouts=len(folder.front.members), reference_point={}, **nothing,
    )  # fmt: skip
