"""Optuna's study of a run: made, told, and taken up again after any kind of end.

A study's place is the path of a journal file or a database. The journal is written by one process, which holds the
run folder's lock; the journal itself needs none, so a killed driver leaves none behind. A line that was cut off by the
kill is dropped when the study is taken up again.
"""

import json
import os
import time
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import optuna
from optuna.storages import JournalStorage
from optuna.storages.journal import JournalFileBackend, JournalFileOpenLock
from optuna.trial import Trial, TrialState

from optimizer.records.files import RecordError
from optimizer.records.layout import LayoutRecord, layout_id
from optimizer.search.sampler import FrontSampler

if TYPE_CHECKING:
    from optimizer.search.database import Database

STUDY_NAME = "search"
FAILED_BY, AGAIN_OF = "failed_by", "again_of"
SYNC_SECONDS = 1.0


class _HeldByTheRun(JournalFileOpenLock):
    """The run folder's lock is the journal's, too."""

    def acquire(self) -> bool:
        """Nothing to wait for."""
        return True

    def release(self) -> None:
        """Nothing to let go of."""


class _Journal(JournalFileBackend):
    """A journal that forces its lines to the disk at most once in `SYNC_SECONDS`, and leaves the rest to the system.

    A killed process loses nothing of what it wrote; a machine that dies may lose the lines since the last time.
    """

    def __init__(self, path: Path) -> None:
        super().__init__(str(path), lock_obj=_HeldByTheRun(str(path)))
        self._path, self._synced_at = path, float("-inf")

    def append_logs(self, logs: list[dict[str, Any]]) -> None:
        """Add lines at the end."""
        lines = "".join(json.dumps(log, separators=(",", ":")) + "\n" for log in logs)
        with self._path.open("ab") as stream:
            stream.write(lines.encode())
            stream.flush()
            if time.monotonic() - self._synced_at > SYNC_SECONDS:
                os.fsync(stream.fileno())
                self._synced_at = time.monotonic()


def _kept_in(place: "Path | Database") -> dict[str, Any]:
    """Storage and name of the study, as Optuna takes them."""
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    if isinstance(place, Path):
        return {"storage": JournalStorage(_Journal(place)), "study_name": STUDY_NAME}
    return {"storage": place.open(), "study_name": place.study}


def new_study(
    place: "Path | Database", names: tuple[str, ...], sampler: FrontSampler, first: Iterable[Mapping[str, Any]] = ()
) -> optuna.Study:
    """A study in a new journal or in a database; `first` are the parameters of trials that wait to be solved first."""
    study = optuna.create_study(**_kept_in(place), sampler=sampler, directions=["minimize"] * len(names))
    enqueue_missing(study, first)
    return study


def enqueue_missing(study: optuna.Study, first: Iterable[Mapping[str, Any]]) -> None:
    """Let trials with these parameters wait, those that do not yet."""
    for params in first:
        study.enqueue_trial(dict(params), skip_if_exists=True)


def tell_result(study: optuna.Study, trial: Trial, record: LayoutRecord, names: Iterable[str]) -> None:
    """Tell the study what a trial came to."""
    trial.set_constraint("violation_mm", record.violation_mm)
    trial.set_constraint("wrong_notes", float(record.wrong_notes))
    study.tell(trial, [record.objectives[name] for name in names])


def tell_failure(study: optuna.Study, trial: Trial, why: str) -> None:
    """Tell the study that a trial came to nothing."""
    trial.set_user_attr(FAILED_BY, why)
    study.tell(trial, state=TrialState.FAIL)


def reopened_study(
    place: "Path | Database", names: tuple[str, ...], sampler: FrontSampler, layouts: Mapping[str, LayoutRecord]
) -> optuna.Study:
    """The study of an earlier start.

    A trial that was under way is told from its layout where that was saved, and else waits to be solved again with the
    numbers it had. Numbers of layouts that the study does not know, lost with the machine, are not given out again.
    """
    study = optuna.load_study(**_kept_in(place), sampler=sampler)
    again = {trial.user_attrs.get(AGAIN_OF) for trial in study.get_trials(deepcopy=False)}
    for frozen in study.get_trials(deepcopy=False, states=(TrialState.RUNNING,)):
        saved = layouts.get(layout_id(frozen.number))
        if saved is not None:
            tell_result(study, Trial(study, frozen._trial_id), saved, names)
            continue
        numbers = frozen.system_attrs.get("fixed_params", {}) | frozen.params
        if numbers and frozen.number not in again:
            study.enqueue_trial(numbers, user_attrs={AGAIN_OF: frozen.number})
        study.tell(frozen.number, state=TrialState.FAIL)
    while layouts and max(layouts) >= layout_id(len(study.get_trials(deepcopy=False))):
        study.add_trial(optuna.trial.create_trial(state=TrialState.FAIL))
    sampler.begin_at(len(study.get_trials(deepcopy=False)))
    return study


def drop_cut_line(journal: Path) -> None:
    """Cut a journal back to its last whole line, where a kill or a full disk broke off.

    Raises
    ------
    RecordError
        when another line than the last is broken
    """
    with journal.open("r+b") as stream:
        lines = stream.readlines()
        broken = [number for number, line in enumerate(lines) if not line.endswith(b"\n") or not _is_json(line)]
        if broken and broken[0] < len(lines) - 1:
            raise RecordError(f"{journal} is broken at line {broken[0] + 1}; the run cannot be taken up")
        if broken:
            stream.truncate(sum(map(len, lines[:-1])))
            os.fsync(stream.fileno())


def _is_json(line: bytes) -> bool:
    try:
        json.loads(line)
    except ValueError:
        return False
    return True


def params_of_layouts(study: optuna.Study) -> dict[str, dict[str, Any]]:
    """Parameters of every finished trial by the id of its layout."""
    trials = study.get_trials(deepcopy=False, states=(TrialState.COMPLETE,))
    return {layout_id(trial.number): trial.params for trial in trials}


def finished_trials(study: optuna.Study) -> tuple[int, int]:
    """How many trials a study calls done, and how many failed; those left under way by a stop are neither."""
    trials = study.get_trials(deepcopy=False)
    done = sum(trial.state == TrialState.COMPLETE for trial in trials)
    return done, sum(FAILED_BY in trial.user_attrs for trial in trials)
