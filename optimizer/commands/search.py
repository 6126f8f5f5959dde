"""What the commands do, once parsed."""

import argparse
import os
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.commands.console import Complain
from optimizer.commands.show import read_run, run_show
from optimizer.project.loading import LoadedProject, ProjectError, count_line, load_project, parse_project
from optimizer.project.model import SearchSection
from optimizer.records.files import RecordError, read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.run import RunRecord
from optimizer.views.front_tables import conflict_row, front_row, survey_table
from optimizer.views.table import markdown

if TYPE_CHECKING:
    from optimizer.search.bounds import Limits


def _limits(wanted: SearchSection, options: argparse.Namespace, seed: int) -> "Limits":
    from optimizer.search.bounds import Limits

    unlimited = options.trials is None and options.idle_minutes is None
    return Limits(
        minutes=options.minutes or (wanted.minutes if unlimited else None),
        trials=options.trials or wanted.trials,
        workers=options.workers or wanted.workers,
        seed=seed if options.seed is None else options.seed,
        idle_minutes=options.idle_minutes,
    )


def _one_search(loaded: LoadedProject, options: argparse.Namespace) -> Path:
    from optimizer.search.runs import search
    from optimizer.search.storage import VARIABLE
    from optimizer.views.progress import ProgressLine

    wanted, progress = loaded.project.search, ProgressLine()
    try:
        storage = options.storage or os.environ.get(VARIABLE)
        return search(loaded, _limits(wanted, options, wanted.seed), options.results, progress, storage).path
    finally:
        progress.close()


def run_resume(options: argparse.Namespace, complain: Complain) -> int:
    """`resume`: go on with a run; exit codes as for `search`."""
    from optimizer.search.driver import SearchError
    from optimizer.search.lock import RunInUseError
    from optimizer.search.runs import StorageError, resume
    from optimizer.views.progress import ProgressLine

    problems = _option_problems(options)
    if problems:
        return complain("options to mend", problems)
    try:
        run = read_record(options.run / "run.json", RunRecord)
        wanted = parse_project(run.project_text, run.project_file).project.search
        progress = ProgressLine()
        try:
            resume(options.run, _limits(wanted, options, run.seed), progress, progress.say, options.storage)
        finally:
            progress.close()
    except ProjectError as error:
        return complain(count_line(error.problems, options.run / "run.json"), error.problems)
    except (SearchError, StorageError, RecordError, RunInUseError, OSError) as error:
        return complain("the search could not go on", [str(error)])
    return run_show(options.run, complain)


def _option_problems(options: argparse.Namespace) -> list[str]:
    least = {"minutes": 0.0, "idle_minutes": 0.0, "trials": 1, "workers": 1, "seed": 0}
    return [
        f"--{name.replace('_', '-')} must be {'at least ' + str(low) if low or name == 'seed' else 'more than 0'}, "
        f"but got {value:g}"
        for name, low in least.items()
        if (value := getattr(options, name)) is not None
        and not (value >= low if low or name == "seed" else value > low)
    ] + [
        f"--{name.replace('_', '-')} must be at most {high:g}, but got {value:g}"
        for name, high in {"minutes": 1e6, "idle_minutes": 1e6, "workers": 10_000, "seed": 2**32 - 1}.items()
        if (value := getattr(options, name)) is not None and value > high
    ]


def _piece_problems(options: argparse.Namespace) -> list[str]:
    """--locked and --pieces go together, and pieces are whole numbers."""
    if (options.locked is None) != (options.pieces is None):
        return ["--locked names a layout file and --pieces which of its pieces are printed; give both or neither"]
    if options.pieces is not None and not re.fullmatch(r"\d+(,\d+)*", options.pieces):
        return [f"--pieces must be numbers with commas between, such as 1,2, but got {options.pieces!r}"]
    return []


def run_search(options: argparse.Namespace, complain: Complain) -> int:
    """`search`: exit code 0 with a front, 1 when nothing feasible was found, 2 for something to mend."""
    from optimizer.analysis.printed_pieces import LockError, with_locked
    from optimizer.limits.conflicts import conflict_lines
    from optimizer.search.driver import SearchError
    from optimizer.search.lock import RunInUseError
    from optimizer.search.storage import StorageError

    problems = _option_problems(options) + _piece_problems(options)
    if problems:
        return complain("options to mend", problems)
    try:
        loaded = load_project(options.project, options.hand)
        if options.locked is not None:
            record = read_record(options.locked, LayoutRecord)
            loaded = with_locked(loaded, record, [int(number) for number in options.pieces.split(",")])
        conflicts = [] if options.anyway else conflict_lines(loaded)
        if conflicts:
            ask = "`--anyway` searches all the same, for the layout that breaks them least"
            return complain(f"{options.project}: limits that conflict", [*conflicts, ask])
        folder = _one_search(loaded, options)
    except ProjectError as error:
        return complain(count_line(error.problems, options.project), error.problems)
    except LockError as error:
        return complain(count_line(error.problems, options.locked), error.problems)
    except RecordError as error:
        return complain("cannot lock pieces", [str(error)])
    except (SearchError, StorageError, RunInUseError, OSError) as error:
        return complain("the search could not go on", [str(error)])
    return run_show(folder, complain)


def run_survey(options: argparse.Namespace, complain: Complain) -> int:
    """`survey`: search each project in turn, then print a Markdown table of the best-tuned layouts; exit code 2 where a
    project's limits conflict, which is then not searched."""
    from optimizer.limits.conflicts import conflict_lines
    from optimizer.search.driver import SearchError
    from optimizer.search.storage import StorageError

    problems = _option_problems(options)
    rows, feasible, conflicting = [], True, False
    try:
        projects = [load_project(path, options.hand) for path in options.projects]
        if problems:
            return complain("options to mend", problems)
        for loaded in projects:
            print(loaded.project.instrument.name, file=sys.stderr)
            conflicts = [] if options.anyway else conflict_lines(loaded)
            if conflicts:
                complain(f"{loaded.source}: limits that conflict", conflicts)
                rows.append(conflict_row(loaded))
                conflicting = True
                continue
            front, run, folder = read_run(_one_search(loaded, options))
            best = read_record(folder / front.layouts[0].file, LayoutRecord) if front.layouts else None
            rows.append(front_row(front, run, best))
            feasible = feasible and front.feasible
            if run.ended_by in ("interrupt", "termination"):
                break
    except ProjectError as error:
        return complain(count_line(error.problems, error.source), error.problems)
    except (SearchError, StorageError, RecordError, OSError) as error:
        return complain("the survey could not go on", [str(error)])
    print(markdown(survey_table(rows)))
    return 2 if conflicting else 0 if feasible else 1
