"""`search`, `resume` and `survey`: from projects to run folders."""

import os
import sys
import time
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from optimizer.commands.options import (
    RESULTS,
    Anyway,
    Hand,
    IdleMinutes,
    Learned,
    NoReport,
    ProjectFile,
    Results,
    RunFolder,
    SearchMinutes,
    SearchWorkers,
    Seed,
    Storage,
    Trials,
    file,
    given,
    option,
    pieces_reader,
)
from optimizer.commands.progress import Working
from optimizer.commands.project import conflicts_of, refuse_conflicts, tell_likely_mistakes
from optimizer.commands.report import finish
from optimizer.commands.show import run_records, show_run
from optimizer.project.faults import Fault, headed

if TYPE_CHECKING:
    from optimizer.project.loading import LoadedProject
    from optimizer.search.search_limits import Limits

ANYWAY = "`--anyway` searches all the same, for the layout that breaks them least"


def locked_as_told(values: Mapping[str, Any]) -> str | None:
    """What is wrong where only one of --locked and --pieces is given."""
    if (values["locked"] is None) == (values["pieces"] is None):
        return None
    return "--locked names a layout file and --pieces which of its pieces are printed; give both or neither"


def search(
    project: ProjectFile,
    minutes: SearchMinutes = None,
    trials: Trials = None,
    workers: SearchWorkers = None,
    seed: Seed = None,
    storage: Storage = None,
    idle_minutes: IdleMinutes = None,
    hand: Hand = None,
    learned: Learned = None,
    anyway: Anyway = False,
    results: Results = RESULTS,
    locked: Annotated[Path | None, file("--locked", "layout file (.json), some pieces of which are printed")] = None,
    pieces: Annotated[
        str | None, option("--pieces", pieces_reader, "LIST", "which of its pieces, counted from the reed, such as 1,2")
    ] = None,
    no_report: NoReport = False,
) -> int:
    """Search a project for layouts, keep the Pareto set, and recommend four of it."""
    begun = time.monotonic()
    from optimizer.solving.processes import on_one_core

    on_one_core()
    from optimizer.project.loading import load_project
    from optimizer.search.search_limits import limits_of

    loaded = load_project(project, hand, learned=learned)
    if locked is not None and pieces is not None:
        loaded = _with_locked(loaded, locked, [int(number) for number in pieces.split(",")])
    if not anyway:
        tell_likely_mistakes(loaded, sys.stderr)
        refuse_conflicts(loaded, ANYWAY)
    limits = limits_of(
        loaded.project.search, minutes=minutes, trials=trials, idle_minutes=idle_minutes, workers=workers, seed=seed
    )
    return _shown(_searched(loaded, limits, results, storage, begun), not no_report)


def resume(
    run: RunFolder,
    minutes: SearchMinutes = None,
    trials: Trials = None,
    workers: SearchWorkers = None,
    seed: Seed = None,
    storage: Storage = None,
    idle_minutes: IdleMinutes = None,
    no_report: NoReport = False,
) -> int:
    """Go on with a run that ended or was killed, or extend it.

    Raises
    ------
    Fault
        where the folder holds an instrument that is made
    """
    begun = time.monotonic()
    from optimizer.solving.processes import on_one_core

    on_one_core()
    from optimizer.project.loading import parse_project
    from optimizer.records.files import read_record
    from optimizer.records.run import RunRecord
    from optimizer.search.runs import resume as resumed
    from optimizer.search.search_limits import limits_of
    from optimizer.views.progress import ProgressLine

    record = read_record(run / "run.json", RunRecord)
    loaded = parse_project(record.project_text, str(run / "run.json"))
    if loaded.project.made:
        raise Fault(f"{run} holds an instrument that is made, and no search to go on with; search its project file")
    tell_likely_mistakes(loaded, sys.stderr)
    limits = limits_of(
        loaded.project.search, minutes=minutes, trials=trials, idle_minutes=idle_minutes, workers=workers,
        seed=record.seed if seed is None else seed,
    )  # fmt: skip
    progress = ProgressLine()
    try:
        resumed(run, limits, progress, progress.say, storage, begun)
    finally:
        progress.close()
    return _shown(run, not no_report)


def survey(
    projects: Annotated[list[Path], given("PROJECTS", "project files (.toml)")],
    minutes: SearchMinutes = None,
    trials: Trials = None,
    workers: SearchWorkers = None,
    seed: Seed = None,
    storage: Storage = None,
    idle_minutes: IdleMinutes = None,
    hand: Hand = None,
    anyway: Anyway = False,
    results: Results = RESULTS,
) -> int:
    """Search several projects; one table of their best layouts.

    Raises
    ------
    Fault
        after the others, for projects that were not searched as their limits conflict
    """
    from optimizer.solving.processes import on_one_core

    on_one_core()
    from optimizer.project.loading import load_project
    from optimizer.records.files import read_record
    from optimizer.records.layout import LayoutRecord
    from optimizer.search.search_limits import limits_of
    from optimizer.views.front_tables import conflict_row, front_row, survey_table
    from optimizer.views.table import markdown

    rows, feasible, conflicts = [], True, list[str]()
    for loaded in [load_project(path, hand) for path in projects]:
        begun = time.monotonic()
        print(loaded.project.instrument.name, file=sys.stderr)
        if not anyway:
            tell_likely_mistakes(loaded, sys.stderr)
        found = [] if anyway else conflicts_of(loaded)
        if found:
            conflicts += [f"{loaded.source}: {line}" for line in found]
            rows.append(conflict_row(loaded))
            continue
        limits = limits_of(
            loaded.project.search, minutes=minutes, trials=trials, idle_minutes=idle_minutes, workers=workers, seed=seed
        )
        folder = _searched(loaded, limits, results, storage, begun)
        for line in (*finish(folder, page=False), f"everything: {folder}"):
            print(line, file=sys.stderr)
        front, run = run_records(folder)
        best = read_record(folder / front.layouts[0].file, LayoutRecord) if front.layouts else None
        rows.append(front_row(front, run, best))
        feasible = feasible and front.feasible
        if run.ended_by in ("interrupt", "termination"):
            break
    print(markdown(survey_table(rows)))
    if conflicts:
        raise Fault(*conflicts, heading="not searched: limits that conflict")
    return 0 if feasible else 1


def _shown(run: Path, page: bool) -> int:
    """Finish a run that ended, and show what it recommends."""
    with Working("writing the report"):
        said = finish(run, page)
    return show_run(run, said=said)


def _with_locked(loaded: "LoadedProject", layout: Path, numbers: list[int]) -> "LoadedProject":
    from optimizer.analysis.printed_pieces import with_locked
    from optimizer.records.files import read_record
    from optimizer.records.layout import LayoutRecord

    with headed("cannot lock pieces"):
        return with_locked(loaded, read_record(layout, LayoutRecord), numbers)


def _searched(loaded: "LoadedProject", limits: "Limits", results: Path, storage: str | None, begun: float) -> Path:
    """Search with a line of progress, minutes counted from `begun` (time.monotonic); the run's folder."""
    from optimizer.search.database_faults import VARIABLE
    from optimizer.search.runs import search as searched
    from optimizer.views.progress import ProgressLine

    progress = ProgressLine()
    try:
        return searched(loaded, limits, results, progress, storage or os.environ.get(VARIABLE), begun).path
    finally:
        progress.close()
