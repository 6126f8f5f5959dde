"""The layout that a path means: of a run or a file, or that of a project which leaves nothing to a search."""

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from optimizer.records.files import RecordError
from optimizer.records.layout import LayoutRecord
from optimizer.records.named_layouts import chosen_layout, is_project, runs_of
from optimizer.words import counted, listed, typed

if TYPE_CHECKING:
    from optimizer.project.loading import LoadedProject

WRITTEN = "as-written"
"""Id of a layout that stands in its project."""


def layout_meant(path: Path, results: Path, wanted: str | None = None, feasible: bool = False) -> LayoutRecord:
    """The layout that a run folder, a layout file or a project file means.

    Parameters
    ----------
    path : of one of them
    results : where runs of a project that leaves something open are looked for
    wanted, feasible : of a run, see `chosen_file`

    Raises
    ------
    RecordError
        when there is none such; of a project that leaves something open: with what makes or shows a run of it
    ProjectError
        for a project with something to mend
    """
    if not is_project(path):
        return chosen_layout(path, wanted, feasible)
    from optimizer.project.loading import load_project

    loaded = load_project(path, rule_out=False)
    left = left_open(loaded)
    if not left:
        from optimizer.solving.assemble import assemble
        from optimizer.solving.problem import Problem

        return assemble(Problem(loaded), np.empty(0), WRITTEN, {})
    raise RecordError(*no_layout_yet(path, left, runs_of(results, loaded)))


def left_open(loaded: "LoadedProject") -> str:
    """What a project leaves to a search, in words; empty where that is nothing."""
    from optimizer.geometry.choices import open_covers, optional_notes
    from optimizer.geometry.layout import parametrise

    numbers, covers = len(parametrise(loaded.project).names), len(open_covers(loaded.project))
    ways = len(optional_notes(loaded.notes))
    parts = [(numbers, "number"), (covers, "cover"), (ways, "choice of fingering")]
    return listed([counted(count, what) for count, what in parts if count])


def no_layout_yet(path: Path, left: str, runs: list[tuple[Path, bool]]) -> list[str]:
    """What to do with a project that has no layout: show a run of it, or search it; runs: with whether their project
    reads as it does now."""
    search = f"holewright search {typed(path)}"
    lines = [f"{path} is a project that leaves {left} open; layouts come from a search:  {search}"]
    if runs:
        run, same = runs[0]
        more = f" ({counted(len(runs) - 1, 'other run')} of it beside)" if len(runs) > 1 else ""
        state = "there is a run of it" if same else "there is a run of it as it read before"
        lines.append(f"{state}:  {run}{more}")
    return lines
