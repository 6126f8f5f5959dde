"""Ways out of a reach, looked for and kept: what `relieve` and `reach` share."""

import argparse
import os
import sys
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from optimizer.analysis.reliefs import relieved
from optimizer.project.included import hand_taken_in, read_hand
from optimizer.project.loading import LoadedProject, load_project, parse_project
from optimizer.project.marks import SOURCE_MARK, mark_of
from optimizer.project.model import Project
from optimizer.records.chosen import front_of
from optimizer.records.fits import ReliefsRecord
from optimizer.records.layout import LayoutRecord, RecordError, read_record
from optimizer.records.run import RunRecord
from optimizer.records.saved import saved_numbers
from optimizer.solving.processes import processes
from optimizer.views.progress import clock


class FitProgress:
    """A line on standard error each time something is done: how much, for how long, about how much longer."""

    def __init__(self, what: str, limit_seconds: float) -> None:
        self.what, self.limit, self.begun = what, limit_seconds, time.monotonic()

    def __call__(self, done: int, of: int) -> None:
        """Say how many are done."""
        elapsed = time.monotonic() - self.begun
        left = min(max(self.limit - elapsed, 0.0), elapsed / done * (of - done)) if done else self.limit
        print(
            f"{clock(elapsed)} elapsed, about {clock(left if done < of else 0.0)} to go | {done} of {of} {self.what}",
            file=sys.stderr,
        )


def option_problems(options: argparse.Namespace) -> list[str]:
    """What is wrong with --minutes and --workers."""
    problems = []
    if not 0.0 < options.minutes <= 1e4:
        problems.append(f"--minutes must be more than 0 and at most 10000, but got {options.minutes:g}")
    if options.workers is not None and not 1 <= options.workers <= 1000:
        problems.append(f"--workers must be between 1 and 1000, but got {options.workers}")
    return problems


def project_or_run(path: Path, hand: Path | None) -> tuple[LoadedProject, Mapping[str, Any] | None]:
    """The project of a file, or that of a run folder with the numbers of its layout nearest in tune; under a hand."""
    if not path.is_dir():
        return load_project(path, hand, rule_out=False), None
    loaded = project_of_run(path, hand)
    front = front_of(path)
    if not front.layouts:
        return loaded, None
    best = front.best_tuned
    return loaded, saved_numbers(read_record(path / best.file, LayoutRecord), loaded.project)


def project_of_run(folder: Path, hand: Path | None) -> LoadedProject:
    """The project text that a run keeps, with another hand in it where one is named."""
    run = read_record(folder / "run.json", RunRecord)
    text = run.project_text if hand is None else hand_taken_in(run.project_text, read_hand(hand))
    return parse_project(text, run.project_file, rule_out=False)


def reliefs_file(path: Path, hand: Path | None) -> Path:
    """Where ways out are kept: in the run folder, or under results/ for a project file; by the hand named."""
    name = "-".join(["reliefs", *([hand.stem] if hand else [])]) + ".json"
    return path / name if path.is_dir() else Path("results") / f"{path.stem}-{name}"


def kept_reliefs(file: Path, project: Project, seconds: float) -> ReliefsRecord | None:
    """The ways out in a file, where there is one, of this very project, hand and program, of all kinds, and either all
    tried or given as much time as there is now."""
    try:
        record = read_record(file, ReliefsRecord)
    except RecordError:
        return None
    fits = record.made_for == mark_of(project, SOURCE_MARK) and not record.kinds
    return record if fits and (not record.untried or record.seconds >= seconds) else None


def looked_for(loaded: LoadedProject, numbers: Mapping[str, Any] | None, options: argparse.Namespace) -> ReliefsRecord:
    """Ways out of a project's reach, found within --minutes."""
    seconds = 60.0 * options.minutes
    progress = FitProgress("solves", seconds)
    progress(0, 1)
    with processes(options.workers, options.workers or os.cpu_count() or 1) as pool:
        return relieved(loaded, numbers, pool, seconds, progress, getattr(options, "only", ()))
