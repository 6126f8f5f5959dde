"""The outer search: Optuna proposes, Ray workers solve, the driver tells.

Each trial is one constrained solve (`trial.Solver`). Optuna chooses what gradients cannot: which trade-off between
the objectives to aim at, and where to start. One driver owns the Optuna storage; a worker compiles the project once.
"""

import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import FrameType

import optuna
from optuna.storages import JournalStorage
from optuna.storages.journal import JournalFileBackend

from optimizer.cluster import Workers, open_workers
from optimizer.project_file import LoadedProject
from optimizer.records import FrontEntry
from optimizer.refine import Emphasis
from optimizer.run_folder import RunFolder, create_run
from optimizer.trial import Proposal, Result

POPULATION = 24
SHARE_RANGE = (1e-4, 30.0)
OPENING = (1e-4, 0.03, 1.0)
"""Emphases tried first, before the sampler has anything to learn from."""

LAST_SECONDS, FIRST_SECONDS = 10.0, 600.0
"""How long past its limit a search waits for running trials, and for its first when none is done yet."""

MAX_FAILURES = 5
"""So many trials failing before any succeeded end the search: something is wrong with the set-up."""


class SearchError(Exception):
    """A search that cannot go on; the message says why."""


@dataclass(frozen=True)
class Limits:
    """When to stop and how wide to run."""

    minutes: float | None
    trials: int | None
    workers: int | None
    seed: int


@dataclass(frozen=True)
class Status:
    """What a progress display shows."""

    elapsed: float
    limits: Limits
    done: int
    failed: int
    workers: int
    front: int
    best: dict[str, float]
    nearest: FrontEntry | None
    first_after: float | None


Report = Callable[[Status], None]


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
        study = _study(folder, loaded.project.search.objectives.names, limits.seed)
        driver = _Driver(folder, study, workers, limits, report, begun)
        ended = "error"
        try:
            ended = driver.run(stop)
        except KeyboardInterrupt:
            ended = "interrupt"
        finally:
            folder.close(ended, driver.done, driver.failed)
    return folder


def _study(folder: RunFolder, names: tuple[str, ...], seed: int) -> optuna.Study:
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    study = optuna.create_study(
        storage=JournalStorage(JournalFileBackend(str(folder.journal))),
        sampler=optuna.samplers.NSGAIISampler(population_size=POPULATION, seed=seed),
        directions=["minimize"] * len(names),
        study_name="search",
    )
    shared = [name for name in names if name != "tuning"]
    for share in OPENING:
        study.enqueue_trial({f"{name}_share": share for name in shared} | {"size": 0.5, "scatter": 0.0})
    for wanted in shared:
        shares = {f"{name}_share": 1.0 if name == wanted else OPENING[0] for name in shared}
        study.enqueue_trial(shares | {"size": 0.5, "scatter": 0.0})
    return study


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


class _Driver:
    """The loop: keep every worker busy, tell what came back, keep the front."""

    def __init__(
        self, folder: RunFolder, study: optuna.Study, workers: Workers, limits: Limits, report: Report, begun: float
    ) -> None:
        self.folder, self.study, self.workers, self.limits, self.report = folder, study, workers, limits, report
        self.begun = begun
        self.asked = self.done = self.failed = 0
        self.first_after: float | None = None
        self.best: dict[str, float] = {}
        self.open: dict[int, optuna.Trial] = {}

    def run(self, stop: _Stop) -> str:
        """Until a limit or a stop; the reason it ended."""
        ended = None
        while ended is None:
            while self._wanted() and self.workers.free():
                self.workers.submit(self._propose(self.study.ask()))
            self._collect(0.5)
            ended = stop.reason or self._limit_reached()
        if ended != "interrupt":
            begun = time.monotonic()
            while self.workers.busy() and stop.reason is None:
                self._collect(0.5)
                if time.monotonic() - begun > (LAST_SECONDS if self.done else FIRST_SECONDS):
                    break
        for number in self.open:
            self.study.tell(number, state=optuna.trial.TrialState.FAIL)
        return ended

    def _wanted(self) -> bool:
        return self.limits.trials is None or self.asked < self.limits.trials

    def _limit_reached(self) -> str | None:
        minutes = self.limits.minutes
        if minutes is not None and time.monotonic() - self.begun >= 60.0 * minutes:
            return "time"
        if not self._wanted() and not self.workers.busy():
            return "trials"
        return None

    def _propose(self, trial: optuna.Trial) -> Proposal:
        self.asked += 1
        self.open[trial.number] = trial
        names = self.folder.front.names
        shares = {
            name: trial.suggest_float(f"{name}_share", *SHARE_RANGE, log=True) for name in names if name != "tuning"
        }
        tuning = 1.0 if "tuning" in names else SHARE_RANGE[0]
        return Proposal(
            trial.number,
            Emphasis(tuning=tuning, **shares),
            size=trial.suggest_float("size", 0.0, 1.0),
            scatter=trial.suggest_float("scatter", 0.0, 1.5),
            seed=self.limits.seed,
        )

    def _collect(self, patience: float) -> None:
        for number, result in self.workers.finished(patience):
            if isinstance(result, Result):
                self._tell(result)
            else:
                self.failed += 1
                del self.open[number]
                self.study.tell(number, state=optuna.trial.TrialState.FAIL)
                if self.done == 0 and self.failed >= MAX_FAILURES:
                    raise SearchError(f"the first {self.failed} trials all failed; the last one said: {result}")
        self.folder.note_progress(self.done, self.failed)
        self.report(self._status())

    def _tell(self, result: Result) -> None:
        trial = self.open.pop(result.number)
        trial.set_constraint("violation_mm", result.violation_mm)
        trial.set_constraint("wrong_notes", float(result.wrong_notes))
        self.study.tell(trial, [result.objectives[name] for name in self.folder.front.names])
        self.done += 1
        self.first_after = self.first_after or time.monotonic() - self.begun
        self.folder.keep(result.record_json, result.feasible, (result.wrong_notes, result.violation_mm))
        if result.feasible:
            for name, value in result.objectives.items():
                self.best[name] = min(value, self.best.get(name, value))

    def _status(self) -> Status:
        return Status(
            time.monotonic() - self.begun,
            self.limits,
            self.done,
            self.failed,
            self.workers.count,
            len(self.folder.front.members),
            {name: self.best[name] for name in self.folder.front.names if name in self.best},
            self.folder.fallback,
            self.first_after,
        )
