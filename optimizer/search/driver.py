"""The driver's loop: keep the pool busy, tell Optuna what came back, keep the front, know when to stop.

A finished trial's layout is on disk before the study is told of it: what the study calls finished is there at whatever
moment the driver dies.
"""

import os
import socket
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from optimizer.project.faults import Fault
from optimizer.project.objectives import OBJECTIVES
from optimizer.records.layout import LayoutRecord
from optimizer.records.run import FrontEntry, PoolKind, ProgressRecord
from optimizer.records.verdict import LayoutVerdict
from optimizer.search.outer_level import Asking
from optimizer.search.pool import Pool
from optimizer.search.proposals import Proposal
from optimizer.search.run_folder import RunFolder, now
from optimizer.search.search_limits import Limits
from optimizer.search.study import mark, tell_failure, tell_result
from optimizer.search.trial import Result
from optimizer.solving.time_left import grace
from optimizer.words import typed

if TYPE_CHECKING:
    import optuna

LAST_SHARE, FIRST_SECONDS = 0.3, 600.0
"""How long past its limit a search waits for running trials, as a share of what it may overrun: the rest is for closing
its folder and the report; and for its first layout [s] when it has none yet."""

SILENT_SECONDS = 600.0
"""So long a search without a limit of time waits for any of its trials to come back."""

PAUSE_MOST = 60.0
"""No pause between two looks at the workers counts as longer [s]: this process was held still, as on a laptop that was
closed, and so may they have been."""

LATEST = 20
"""By so many trials, the latest, it is told how long one may take."""

MAX_FAILURES = 5
"""So many trials failing before any succeeded end the search: something is wrong with the set-up."""

GAIN = 1e-4
"""Growth of the hypervolume, as a share of the box, that counts as a gain."""


class SearchError(Fault):
    """A search that cannot go on; the message says why."""


@dataclass(frozen=True)
class Status:
    """What a progress display shows; hypervolume as a share of the reference box; trouble: what keeps workers from
    coming."""

    elapsed: float
    limits: Limits
    done: int
    failed: int
    workers: int
    front: int
    best: dict[str, float]
    nearest: FrontEntry | None
    first_after: float | None
    hypervolume: float = 0.0
    pool: PoolKind = "local"
    trouble: str = ""

    @property
    def rate(self) -> float:
        """Trials per second since the first was done; 0 while nothing tells."""
        since = self.elapsed - (self.first_after or 0.0)
        return (self.done - 1) / since if self.first_after is not None and self.done > 1 and since > 0.0 else 0.0

    @property
    def seconds_left(self) -> float | None:
        """Seconds until the first limit is reached, by the rate since the first trial; None while nothing tells."""
        ways = []
        if self.limits.minutes is not None:
            ways.append(60.0 * self.limits.minutes - self.elapsed)
        if self.limits.trials is not None and self.rate > 0.0:
            ways.append((self.limits.trials - self.done - self.failed) / self.rate)
        return max(0.0, min(ways)) if ways else None


Report = Callable[[Status], None]


class Driver:
    """The loop. `done` and `failed` count the trials of this start."""

    def __init__(
        self,
        folder: RunFolder,
        study: "optuna.Study",
        asking: Asking,
        pool: Pool,
        limits: Limits,
        report: Report,
        begun: float,
    ) -> None:
        self.folder, self.study, self.pool, self.limits, self.report = folder, study, pool, limits, report
        self.begun = begun
        self.asking = asking
        self.asked = self.done = self.failed = 0
        self.first_after: float | None = None
        self.open: dict[int, optuna.Trial] = {}
        self._took: deque[float] = deque(maxlen=LATEST)
        self._given_at: dict[int, float] = {}
        self._awake_for, self._looked_at, self._heard_at = 0.0, time.monotonic(), 0.0
        self.gained_at: float | None = None
        self.gained_to = 0.0
        self.volume = folder.front.hypervolume()

    def run(self, stopped: Callable[[], str | None]) -> str:
        """Until a limit or a stop; the reason it ended."""
        self._note()
        ended = stopped()
        while ended is None:
            while self._wanted() and self.pool.free():
                self.pool.submit(self._propose(self.study.ask()))
            self._collect(0.5)
            ended = stopped() or self._limit_reached()
        if ended not in ("interrupt", "termination"):
            begun = time.monotonic()
            while (self.pool.busy() or not self.has_layout) and stopped() is None:
                if not self.has_layout and self.pool.free() and self._wanted():
                    self.pool.submit(self._propose(self.study.ask()))
                self._collect(0.5)
                if time.monotonic() - begun > (self._patience() if self.has_layout else FIRST_SECONDS):
                    break
        return ended

    @property
    def has_layout(self) -> bool:
        """Whether the search has a layout yet, be it one that breaks limits."""
        return self.done > 0 or self.folder.earlier[0] > 0

    @property
    def longest(self) -> float:
        """Seconds that a trial may take: the second longest of the latest, as one may have been held still."""
        return sorted(self._took)[-2:][0] if self._took else 0.0

    def _awake(self) -> float:
        """Seconds since the search began in which this process was not held still."""
        now = time.monotonic()
        self._awake_for += min(now - self._looked_at, PAUSE_MOST)
        self._looked_at = now
        return self._awake_for

    def _patience(self) -> float:
        """How long trials under way are waited for at the end [s]."""
        return LAST_SHARE * grace(60.0 * (self.limits.minutes or 0.0))

    def _wanted(self) -> bool:
        return (self.limits.trials is None or self.asked < self.limits.trials) and self._in_time()

    def _in_time(self) -> bool:
        """Whether a trial that begins now is likely to end before it is no longer waited for."""
        if self.limits.minutes is None or not self.has_layout:
            return True
        return time.monotonic() + self.longest <= self.begun + 60.0 * self.limits.minutes + self._patience()

    def _limit_reached(self) -> str | None:
        limits, now = self.limits, time.monotonic()
        if limits.minutes is not None and now - self.begun >= 60.0 * limits.minutes:
            return "time"
        if not self._in_time() and not self.pool.busy():
            return "time"
        if limits.idle_minutes is not None and now - (self.gained_at or now) >= 60.0 * limits.idle_minutes:
            return "no gain"
        if not self._wanted() and not self.pool.busy():
            return "trials"
        return None

    def _propose(self, trial: "optuna.Trial") -> Proposal:
        self.asked += 1
        self.open[trial.number], self._given_at[trial.number] = trial, self._awake()
        return self.asking.proposal(trial)

    def _collect(self, patience: float) -> None:
        for number, result in self.pool.finished(patience):
            self._heard_at = self._awake()
            self._took.append(self._heard_at - self._given_at.pop(number))
            if isinstance(result, Result):
                self._tell(result)
            else:
                self.failed += 1
                tell_failure(self.study, self.open.pop(number), result)
                if self.done == 0 and self.failed >= MAX_FAILURES:
                    raise SearchError(f"the first {self.failed} trials all failed; the last one said: {result}")
        self._note()
        silent = self._awake() - self._heard_at
        if self.limits.minutes is None and silent > SILENT_SECONDS:
            raise SearchError(
                f"no trial has come back for {SILENT_SECONDS / 60.0:.0f} minutes, trials under way: {len(self.open)}; "
                f"what was finished is safe, and `holewright resume {typed(self.folder.path)}` goes on from there"
            )

    def _note(self) -> None:
        """Say how far the search is: in the folder, and to who watches."""
        status = self.status()
        if self.folder.note_progress(self._progress(status, None)):
            mark(self.study, self.folder.entries)
        self.report(status)

    def _tell(self, result: Result) -> None:
        """The layout first, then the study: what the study calls finished is on disk whenever the driver dies."""
        verdict = LayoutVerdict.model_validate_json(result.record_json)
        changed = self.folder.keep(verdict, result.record_json)
        trial = self.open.pop(result.number)
        tell_result(self.study, trial, verdict, self.folder.front.names)
        self.done += 1
        self.first_after = self.first_after or time.monotonic() - self.begun
        self.asking.memory.note(verdict, trial.params, partial(LayoutRecord.model_validate_json, result.record_json))
        if changed:
            self.volume = self.folder.front.hypervolume()
        if self.gained_at is None or self.volume > self.gained_to + GAIN or (changed and self.volume == 0.0):
            self.gained_at, self.gained_to = time.monotonic(), self.volume

    def close(self, ended_by: str) -> None:
        """Close the folder of a search that ended so."""
        self.folder.close(self.progress(ended_by))
        mark(self.study, self.folder.entries)

    def progress(self, ended_by: str | None) -> ProgressRecord:
        """How far the search is, for other programs; ended_by None while it goes on."""
        return self._progress(self.status(), ended_by)

    def _progress(self, status: Status, ended_by: str | None) -> ProgressRecord:
        done, failed = self.folder.earlier
        return ProgressRecord(
            state="running" if ended_by is None else "ended",
            ended_by=ended_by,
            process=os.getpid(),
            host=socket.gethostname(),
            written=now(),
            elapsed_seconds=round(status.elapsed, 2),
            seconds_left=None if ended_by or status.seconds_left is None else round(status.seconds_left, 2),
            trials_done=done + status.done,
            trials_failed=failed + status.failed,
            trials_per_second=round(status.rate, 3),
            workers=status.workers,
            layouts=status.front,
            best=status.best,
            hypervolume=status.hypervolume,
            reference_point={name: OBJECTIVES[name].reference for name in self.folder.front.names},
        )

    def status(self) -> Status:
        """How far the search is."""
        return Status(
            time.monotonic() - self.begun,
            self.limits,
            self.done,
            self.failed,
            self.pool.count,
            len(self.folder.front.members),
            dict(self.folder.best),
            self.folder.fallback,
            self.first_after,
            self.volume,
            self.pool.kind,
            self.pool.trouble,
        )
