"""The outer search: Optuna proposes, a pool of workers solves, the driver tells.

Each trial is one constrained solve (`trial.Solver`). Optuna chooses what gradients cannot: which trade-off between
the objectives to aim at, and where to start. One driver owns the run folder and the Optuna storage; a worker reads
the project once.

A resumed run tells the study of trials whose layout was saved, and queues the numbers of those under way. With one
worker there is never more than one trial under way, so that a seed gives the same trials whoever solves them.
"""

import errno
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import replace
from functools import partial
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING, Any

import optuna

from optimizer.project.loading import LoadedProject, parse_project
from optimizer.records.files import RecordError, read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.layout_ids import trial_number
from optimizer.records.run import RunRecord
from optimizer.search.database_faults import StorageError
from optimizer.search.driver import Driver, Report, SearchError, Status
from optimizer.search.journal import mended_journal
from optimizer.search.journal_mark import mark_of
from optimizer.search.lock import sole_writer
from optimizer.search.open_pool import open_pool
from optimizer.search.outer_level import Asking
from optimizer.search.pool import Pool
from optimizer.search.proposals import opening
from optimizer.search.run_folder import RunFolder, create_run, has_begun, reopen_run, saved_layouts
from optimizer.search.search_limits import Limits
from optimizer.search.study import (
    enqueue_missing,
    finished_trials,
    new_study,
    params_of_trials,
    reopened_study,
    trials_behind,
)
from optimizer.solving.doubt import sameness
from optimizer.words import counted, typed

if TYPE_CHECKING:
    from optimizer.search.database import Database

FULL = {errno.ENOSPC, errno.EDQUOT}
"""What the system says of a disk, or of a user's share of it, without room."""

__all__ = ["Limits", "SearchError", "Status", "StorageError", "resume", "search"]


def search(
    loaded: LoadedProject,
    limits: Limits,
    results: Path,
    report: Report,
    storage: str | None = None,
    begun: float | None = None,
) -> RunFolder:
    """Run a search to its limits, or until interrupted; returns the closed run folder.

    Parameters
    ----------
    loaded : the project
    limits : when to stop and how wide to run
    results : folder of all runs
    report : is given the progress
    storage : URL of the database to keep the study in; default a journal in the run folder
    begun : since when its minutes count (time.monotonic) [s]; default now

    Raises
    ------
    SearchError
        when workers cannot be started, Ray dies, the folder cannot be written to, or the first trials all fail
    StorageError
        when the database does not serve
    """
    begun = time.monotonic() if begun is None else begun
    kept = _database(storage) if storage else None
    try:
        results.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise SearchError(f"the results folder {results} cannot be used: {error.strerror}") from None
    with _stop_on_signals() as stop, open_pool(loaded, limits.workers) as pool:
        shown = kept.shown if kept else None
        try:
            folder = create_run(
                results, loaded, limits.seed, limits.minutes, limits.trials, pool.count, shown, pool.kind
            )
        except OSError as error:
            raise SearchError(f"no run folder can be made in {results}: {error.strerror}") from None
        place = replace(kept, study=folder.path.name) if kept else folder.journal
        with _in_words(folder.path), sole_writer(folder.path), _told(place):
            folder.count_as_same(sameness(loaded))
            asking = Asking(loaded, limits.seed)
            study = new_study(place, folder.front.names, asking.sampler, opening(asking.questions))
            _drive(Driver(folder, study, asking, pool, limits, report, begun), stop)
    return folder


def resume(
    path: Path,
    limits: Limits,
    report: Report,
    told: Callable[[str], None],
    storage: str | None = None,
    begun: float | None = None,
) -> RunFolder:
    """Go on with a run that ended or was killed, with limits of its own; its project is the one in its folder.

    Parameters
    ----------
    path : the run folder
    limits : when to stop and how wide to run
    report : is given the progress
    told : is given one line on what was found
    storage : URL of the run's database, given again
    begun : since when its minutes count (time.monotonic) [s]; default now

    Raises
    ------
    RunInUseError
        when another search writes to the folder
    RecordError
        when the folder is not a run's, or a file in it is broken
    SearchError, StorageError
        as for `search`
    """
    begun = time.monotonic() if begun is None else begun
    run = read_record(path / "run.json", RunRecord)
    loaded = parse_project(run.project_text, run.project_file)
    names, asking = loaded.project.objective_names, Asking(loaded, limits.seed)
    place = _place_of(path, run, storage)
    with _in_words(path), sole_writer(path), _told(place):
        layouts = saved_layouts(path)
        study = _study_of(place, names, asking, layouts, told)
        trials = finished_trials(study)
        again = len(study.get_trials(deepcopy=False, states=(optuna.trial.TrialState.WAITING,)))
        found = f"{counted(trials[0], 'finished trial')} and {counted(len(layouts), 'layout')}"
        told(f"found {found}; {again} waiting go first" if again else f"found {found}")
        if run.trials_done > trials[0]:
            gone = counted(run.trials_done - trials[0], "trial")
            told(f"{gone} that {path / 'run.json'} counts cannot be found any more, as after a power cut")
        with _stop_on_signals() as stop, open_pool(loaded, limits.workers) as pool:
            changes = _this_start(limits, pool, trials, place)
            first_start = not layouts and not has_begun(path)
            folder = reopen_run(path, names, layouts, changes)
            if first_start:
                folder.count_as_same(sameness(loaded))
            params = params_of_trials(study)
            for name, record in layouts.items():
                number = trial_number(name)
                known = {} if number is None else params.get(number, {})
                asking.memory.note(record, known, partial(layouts.__getitem__, name))
            _drive(Driver(folder, study, asking, pool, limits, report, begun), stop)
    return folder


def _database(storage: str) -> "Database":
    """The database of a URL; what it needs is loaded only where there is one."""
    from optimizer.search.database import database

    return database(storage)


def _this_start(limits: Limits, pool: Pool, trials: tuple[int, int], place: "Path | Database") -> dict[str, Any]:
    """What run.json says anew when a run is taken up."""
    return {
        "seed": limits.seed,
        "minutes": limits.minutes,
        "trials_wanted": limits.trials,
        "workers": pool.count,
        "pool": pool.kind,
        "trials_done": trials[0],
        "trials_failed": trials[1],
        "storage": None if isinstance(place, Path) else place.shown,
    }


def _place_of(path: Path, run: RunRecord, storage: str | None) -> "Path | Database":
    """Where a run's study is: the journal in its folder, or the database that its run.json names."""
    if run.storage is not None:
        from optimizer.search.database import database_of_run

        return database_of_run(run.storage, run.study or path.name, storage)
    if storage is not None:
        raise StorageError(f"{path} keeps its study in its own journal; resume it without --storage")
    return path / "journal.log"


def _told(place: "Path | Database") -> AbstractContextManager[None]:
    """Turn a database's complaints into sentences; a journal's are those of files."""
    return nullcontext() if isinstance(place, Path) else place.told()


def _study_of(
    place: "Path | Database",
    names: tuple[str, ...],
    asking: Asking,
    layouts: dict[str, LayoutRecord],
    told: Callable[[str], None],
) -> optuna.Study:
    """The study of a run; a new one where an early end left nothing."""
    if isinstance(place, Path):
        for cut_off in mended_journal(place, trials_behind(layouts)) if place.exists() else ():
            told(f"{place}: {cut_off}")
        if not place.exists() or not place.stat().st_size:
            return _study_anew(place, names, asking, layouts)
    elif not place.holds_study():
        return _study_anew(place, names, asking, layouts)
    study = reopened_study(place, names, asking.sampler, layouts)
    if not layouts and finished_trials(study) == (0, 0):
        enqueue_missing(study, opening(asking.questions))
    return study


def _study_anew(
    place: "Path | Database", names: tuple[str, ...], asking: Asking, layouts: dict[str, LayoutRecord]
) -> optuna.Study:
    """A new study where an end before the first proposal left none; with layouts, or a mark, there was one."""
    if layouts or (isinstance(place, Path) and mark_of(place).trials):
        what = str(place) if isinstance(place, Path) else f"the study {place.study} in {place.shown}"
        raise RecordError(f"{what} is missing or empty, but trials were done; the run cannot be taken up")
    return new_study(place, names, asking.sampler, opening(asking.questions))


@contextmanager
def _in_words(path: Path) -> Iterator[None]:
    """Turn what the system, or Ray, refuses a search into a sentence; its folder is left as it is."""
    try:
        yield
    except ConnectionError as error:
        raise SearchError(f"{error}; `holewright resume {typed(path)}` goes on from there") from error
    except FileNotFoundError as error:
        raise SearchError(f"{path}, or a file in it, was removed while the search wrote to it") from error
    except OSError as error:
        so = "; make room" if error.errno in FULL else ", but perhaps for the last second's; see to the disk"
        raise SearchError(
            f"{path} cannot be written to: {error.strerror or error}. What was finished is safe in it{so}, then "
            f"`holewright resume {typed(path)}`"
        ) from error


def _drive(driver: Driver, stop: "_Stop") -> None:
    """Run the driver to its end, and close its folder where the disk lets us."""
    try:
        ended = driver.run(lambda: stop.reason)
    except KeyboardInterrupt:  # in the middle of anything: what is on the disk counts, and no mark is set
        driver.folder.take_up(saved_layouts(driver.folder.path))
        driver.folder.close(driver.progress("interrupt"))
        return
    except BaseException as error:
        if not isinstance(error, OSError) or isinstance(error, ConnectionError):
            driver.close("error")
        raise
    driver.close(ended)


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
