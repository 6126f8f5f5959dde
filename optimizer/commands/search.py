"""What the commands do, once parsed."""

import argparse
import os
import re
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console

from optimizer.analysis.hand_fit import fit
from optimizer.project.included import HandFileError, read_hand
from optimizer.project.loading import LoadedProject, ProjectError, count_line, load_project, parse_project
from optimizer.project.model import AirState, SearchSection
from optimizer.records.layout import LayoutRecord, RecordError, read_record
from optimizer.records.run import FrontRecord, ProgressRecord, RunRecord
from optimizer.views.front_tables import (
    SURVEY_COLUMNS,
    conflict_row,
    front_row,
    show_front,
    show_layout,
    show_notes,
    show_resonances,
)
from optimizer.views.reach_tables import show_fit

if TYPE_CHECKING:
    from optimizer.search.driver import Limits

Complain = Callable[[str, Sequence[str]], int]
Files = Sequence[tuple[Path | None, Callable[[Path], None]]]
"""Files that may be asked for, each with what writes it."""


def console() -> Console:
    """Where tables go: as wide as the terminal, or 160 columns; names in brackets are names, no markup."""
    return Console(width=None if sys.stdout.isatty() else 160, highlight=False, markup=False, emoji=False)


def show_and_write(show: Callable[[Console], None], files: Files, complain: Complain) -> int:
    """Show what there is, then write the files that were asked for and say so; exit code 0, or 2 where one cannot be
    written."""
    screen = console()
    show(screen)
    for path, write in files:
        if path is None:
            continue
        try:
            write(path)
        except OSError as error:
            return complain("cannot write", [f"{path}: {error.strerror or error}"])
        screen.print(f"written: {path}", soft_wrap=True)
    return 0


def _limits(wanted: SearchSection, options: argparse.Namespace, seed: int) -> "Limits":
    from optimizer.search.driver import Limits

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
    from optimizer.analysis.locking import LockError, with_locked
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
            front, run, folder = _read_run(_one_search(loaded, options))
            best = read_record(folder / front.layouts[0].file, LayoutRecord) if front.layouts else None
            rows.append(front_row(front, run, best))
            feasible = feasible and front.feasible
            if run.ended_by in ("interrupt", "termination"):
                break
    except ProjectError as error:
        return complain(count_line(error.problems, error.source), error.problems)
    except (SearchError, StorageError, RecordError, OSError) as error:
        return complain("the survey could not go on", [str(error)])
    for cells in (SURVEY_COLUMNS, ["---"] * len(SURVEY_COLUMNS), *rows):
        print("| " + " | ".join(cells) + " |")
    return 2 if conflicting else 0 if feasible else 1


def _read_run(folder: Path) -> tuple[FrontRecord, RunRecord, Path]:
    return read_record(folder / "pareto.json", FrontRecord), read_record(folder / "run.json", RunRecord), folder


def run_show(path: Path, complain: Complain, hand: Path | None = None) -> int:
    """`show`: a run folder's front, or one layout in full; hand: a hand file to lay one layout under."""
    screen = console()
    try:
        if not path.is_dir():
            record = read_record(path, LayoutRecord)
            other = None if hand is None else fit(record, read_hand(hand).hand)
            show_layout(screen, record)
            if other is not None:
                show_fit(screen, other)
            return 0
        front, run, folder = _read_run(path)
        shown = folder / "progress.json"
        progress = read_record(shown, ProgressRecord) if shown.exists() else None
        show_front(screen, front, run, str(folder), progress)
    except HandFileError as error:
        return complain("hand file to mend", error.problems)
    except RecordError as error:
        return complain("cannot show this", [str(error)])
    if front.layouts:
        screen.print(f"\nlook at one:  holewright show {folder / front.layouts[0].file}")
    screen.print(f"everything:   {folder}")
    screen.print("Cautions", style="bold")
    for caution in run.cautions:
        screen.print(f"  {caution}")
    return 0 if front.feasible else 1


def run_predict(options: argparse.Namespace, complain: Complain) -> int:
    """`predict`: note table of a layout in other air or against another pitch."""
    from optimizer.solving.verify import predict

    try:
        record = read_record(options.layout, LayoutRecord)
        air = _other_air(record.reference.air, options)
        other = None if options.hand is None else fit(record, read_hand(options.hand).hand)
    except HandFileError as error:
        return complain("hand file to mend", error.problems)
    except (RecordError, ValueError) as error:
        return complain("cannot predict", [str(error)])
    a4 = record.reference.a4_hz if options.a4 is None else options.a4
    if not 380.0 <= a4 <= 480.0:
        return complain("cannot predict", [f"--a4 must lie between 380 and 480 Hz, but got {a4:g}"])
    try:
        notes = predict(record, air, a4 / record.reference.a4_hz)
    except ValueError as error:
        return complain("cannot predict", [f"{options.layout} holds no playable geometry: {error}"])
    screen = console()
    screen.print(
        f"{record.instrument}, layout {record.id}: A4 = {a4:g} Hz, {air.reed_degC:g} degC at the reed, "
        f"{air.bell_degC:g} at the bell (designed for {record.reference.a4_hz:g} Hz, "
        f"{record.reference.air.reed_degC:g} and {record.reference.air.bell_degC:g} degC)"
    )
    errors = [note.cents for note in notes if note.cents is not None]
    if errors:
        mean = sum(errors) / len(errors)
        screen.print(f"on average {mean:+.1f} cents, from {min(errors):+.1f} to {max(errors):+.1f}")
    show_notes(screen, notes)
    if other is not None:
        show_fit(screen, other)
    return 0


def run_resonances(options: argparse.Namespace, complain: Complain) -> int:
    """`resonances`: all resonances to 4 kHz of one note's fingerings or of all."""
    from optimizer.solving.verify import all_resonances

    try:
        record = read_record(options.layout, LayoutRecord)
    except RecordError as error:
        return complain("cannot show resonances", [str(error)])
    notes = [note for note in record.notes if options.note in (None, note.written)]
    if not notes:
        written = ", ".join(dict.fromkeys(note.written for note in record.notes))
        return complain("cannot show resonances", [f"the layout has no note {options.note!r}; it has {written}"])
    show_resonances(console(), notes, all_resonances(record, notes))
    return 0


def _other_air(air: AirState, options: argparse.Namespace) -> AirState:
    changed = {"reed_degC": options.reed_degc, "bell_degC": options.bell_degc}
    for name, value in changed.items():
        if value is not None and not 0.0 <= value <= 40.0:
            raise ValueError(f"--{name.lower().replace('_', '-')} must lie between 0 and 40 degC, but got {value:g}")
    return air.model_copy(update={name: value for name, value in changed.items() if value is not None})
