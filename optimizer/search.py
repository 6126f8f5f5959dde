"""The outer search: Optuna proposes, Ray workers solve, the driver tells.

Each trial is one constrained solve (`trial.Solver`). Optuna chooses what gradients cannot: which trade-off between
the objectives to aim at, and where to start. One driver owns the run folder and the Optuna storage; a worker compiles
the project once.
"""

import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

import optuna

from optimizer.cluster import open_workers
from optimizer.driver import Driver, Limits, Report, SearchError, Status
from optimizer.memory import Memory
from optimizer.project_file import LoadedProject, parse_project
from optimizer.proposals import START, Questions, opening
from optimizer.records import LayoutRecord, RecordError, read_record
from optimizer.run_folder import RunFolder, create_run, reopen_run, saved_layouts
from optimizer.run_lock import sole_writer
from optimizer.run_records import RunRecord
from optimizer.sampler import FrontSampler
from optimizer.study import drop_cut_line, finished_trials, new_study, params_of_layouts, reopened_study

__all__ = ["Limits", "SearchError", "Status", "resume", "search"]


def search(loaded: LoadedProject, limits: Limits, results: Path, report: Report) -> RunFolder:
    """Run a search to its limits, or until interrupted; returns the closed run folder.

    Raises
    ------
    SearchError
        when workers cannot be started or the first trials all fail
    """
    begun = time.monotonic()
    try:
        results.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise SearchError(f"the results folder {results} cannot be used: {error.strerror}") from None
    with open_workers(loaded, limits.workers) as workers, _stop_on_signals() as stop:
        folder = create_run(results, loaded, limits.seed, limits.minutes, limits.trials, workers.count)
        with sole_writer(folder.path):
            asking = _asking(loaded, limits.seed)
            study = new_study(folder.journal, folder.front.names, _sampler(asking, limits.seed), opening(asking[0]))
            _drive(Driver(folder, study, asking, workers, limits, report, begun), stop)
    return folder


def resume(path: Path, limits: Limits, report: Report, told: Callable[[str], None]) -> RunFolder:
    """Go on with a run that ended or was killed, with limits of its own; its project is the one in its folder.

    told : is given one line on what was found

    Raises
    ------
    RunInUseError
        when another search writes to the folder
    RecordError
        when the folder is not a run's, or a file in it is broken
    SearchError
        as for `search`
    """
    begun = time.monotonic()
    run = read_record(path / "run.json", RunRecord)
    loaded = parse_project(run.project_text, run.project_file)
    names, asking = loaded.project.objective_names, _asking(loaded, limits.seed)
    with sole_writer(path):
        layouts = saved_layouts(path)
        journal = path / "journal.log"
        study = _study_of(journal, names, asking, layouts)
        trials = finished_trials(study)
        again = len(study.get_trials(deepcopy=False, states=(optuna.trial.TrialState.WAITING,)))
        told(f"found {trials[0]} finished trials and {len(layouts)} layouts; {again} waiting trials go first")
        with open_workers(loaded, limits.workers) as workers, _stop_on_signals() as stop:
            changes = {
                "seed": limits.seed,
                "minutes": limits.minutes,
                "trials_wanted": limits.trials,
                "workers": workers.count,
                "trials_done": trials[0],
                "trials_failed": trials[1],
            }
            folder = reopen_run(path, names, layouts, changes)
            params = params_of_layouts(study)
            for record in layouts.values():
                asking[1].note(record, params.get(record.id, {}), folder.front.members)
            _drive(Driver(folder, study, asking, workers, limits, report, begun), stop)
    return folder


def _asking(loaded: LoadedProject, seed: int) -> tuple[Questions, Memory]:
    return Questions(loaded.project, loaded.notes, seed), Memory(loaded.project)


def _sampler(asking: tuple[Questions, Memory], seed: int) -> FrontSampler:
    return FrontSampler(lambda: asking[1].members, seed, {START: "neighbour"})


def _study_of(
    journal: Path, names: tuple[str, ...], asking: tuple[Questions, Memory], layouts: dict[str, LayoutRecord]
) -> optuna.Study:
    """The study of a run's journal; a new one where an early end left nothing."""
    sampler = _sampler(asking, asking[0].seed)
    if journal.exists():
        drop_cut_line(journal)
        if journal.stat().st_size:
            return reopened_study(journal, names, sampler, layouts)
    if layouts:
        raise RecordError(f"{journal} is missing or empty, but there are layouts; the run cannot be taken up")
    return new_study(journal, names, sampler, opening(asking[0]))


def _drive(driver: Driver, stop: "_Stop") -> None:
    """Run the driver to its end and close its folder; a folder that cannot be written to is left as it is."""
    path = driver.folder.path
    try:
        _run_and_close(driver, stop)
    except OSError as error:
        raise SearchError(
            f"{path} cannot be written to: {error.strerror or error}. What was finished is safe in it; make room, then "
            f"`holewright resume {path}`"
        ) from error


def _run_and_close(driver: Driver, stop: "_Stop") -> None:
    try:
        ended = driver.run(lambda: stop.reason)
    except KeyboardInterrupt:
        ended = "interrupt"
    except OSError:
        raise
    except BaseException:
        driver.folder.close(driver.progress("error"))
        raise
    driver.folder.close(driver.progress(ended))


class _Stop:
    """Set by a signal; says which."""

    reason: str | None = None


@contextmanager
def _stop_on_signals() -> Iterator[_Stop]:
    """Turn Ctrl-C and a termination request into a wish to stop; a second Ctrl-C interrupts at once."""
    stop = _Stop()

    def handle(number: int, _frame: FrameType | None) -> None:
        if stop.reason is not None:
            raise KeyboardInterrupt
        stop.reason = "interrupt" if number == signal.SIGINT else "termination"

    before = {number: signal.signal(number, handle) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield stop
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
