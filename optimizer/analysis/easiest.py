"""Of the layouts that a path names the one that asks least of a hand."""

from dataclasses import dataclass
from pathlib import Path

from optimizer.analysis.hand_fit import HandFit, fit, saved_fit
from optimizer.analysis.written_layout import layout_meant
from optimizer.project.hand import Hand
from optimizer.project.included import read_included
from optimizer.project.loading import load_project
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.named_layouts import is_project, layout_files, project_of_run, run_of


@dataclass(frozen=True)
class Easiest:
    """A layout and how it lies under the hand; of how many it was chosen, and how many of these the hand can play."""

    record: LayoutRecord
    fit: HandFit
    of: int
    playable: int


def hand_for(path: Path, hand: Path | None) -> Hand | None:
    """The hand of a file, else that of the project or of the run's project, else none.

    Raises
    ------
    IncludedError, RecordError, ProjectError
        when the file or the run cannot be read
    """
    if hand is not None:
        return read_included(hand, Hand, "hand").model
    if is_project(path):
        return load_project(path, rule_out=False).project.hand
    folder = run_of(path)
    return project_of_run(folder, None).project.hand if (folder / "run.json").exists() else None


def easiest(path: Path, results: Path, layout: str | None, hand: Hand | None) -> Easiest:
    """Lay each layout of a run, the one named, or that of a layout or project file under a hand; default the one it was
    made for.

    Raises
    ------
    RecordError
        when there is no such layout; see `layout_meant` for results
    """
    if is_project(path):
        records = [layout_meant(path, results)]
    else:
        records = [read_record(file, LayoutRecord) for file in layout_files(path, layout)]
    found = []
    for record in records:
        found.append((record, fit(record, hand) if hand else saved_fit(record)))
    record, best = min(found, key=lambda one: (len(one[1].troubles), one[1].beyond_mm, one[1].strain_percent))
    return Easiest(record, best, len(found), sum(not each.troubles for _, each in found))
