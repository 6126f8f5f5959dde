"""A study in a journal that nobody else writes: a trial costs the driver the same however many there were, and a
finished one is forgotten, as the journal keeps it and the search goes by its front alone."""

import threading
import uuid
from collections.abc import Collection, Container, Iterator
from pathlib import Path
from typing import Any

from optuna.storages import JournalStorage
from optuna.storages.journal._storage import JournalStorageReplayResult
from optuna.trial import FrozenTrial, TrialState

from optimizer.search.journal import Journal
from optimizer.search.journal_mark import Mark

FAILED_BY = "failed_by"
"""Why a trial came to nothing, among its user attributes."""


class OneWriter(JournalStorage):
    """A journal's storage that knows trials from the oldest unfinished one on, and counts those before.

    It need not look through its trials for those that wait when it knows of none.

    Parameters
    ----------
    path : of the journal
    wanted : numbers of trials whose parameters are kept when they are forgotten
    """

    def __init__(self, path: Path, wanted: Collection[int] = ()) -> None:
        self._worker_id_prefix, self._thread_lock = f"{uuid.uuid4()}-", threading.Lock()
        self._backend: Journal = Journal(path)
        self._replay_result: _Replay = _Replay(self._worker_id_prefix, self._backend, frozenset(wanted))
        self._may_wait = True
        self._sync_with_backend()
        self._replay_result.wanted = None

    @property
    def settled(self) -> Mark:
        """What the trials before the oldest unfinished one came to; its place is where the journal was opened."""
        return self._replay_result.settled

    def write_mark(self, wanted: Collection[int]) -> None:
        """Mark beside the journal what is settled.

        Parameters
        ----------
        wanted : numbers of trials whose parameters are to be known when the search is taken up; of others they are
            forgotten
        """
        settled = self._replay_result.settled
        params = {number: settled.params[number] for number in wanted if number in settled.params}
        self._replay_result.params = params
        self._backend.write_mark(settled.model_copy(update={"params": params}))

    def create_new_trial(self, study_id: int, template_trial: FrozenTrial | None = None) -> int:
        """A new trial, which may wait."""
        self._may_wait |= template_trial is not None
        return super().create_new_trial(study_id, template_trial)

    def get_all_trials(
        self, study_id: int, deepcopy: bool = True, states: Container[TrialState] | None = None
    ) -> list[FrozenTrial]:
        """Every trial that is known in one of the states."""
        waiting = states == (TrialState.WAITING,)
        if waiting and not self._may_wait:
            return []
        found = super().get_all_trials(study_id, deepcopy, states)
        if waiting:
            self._may_wait = bool(found)
        return found


class _Trials(dict[int, FrozenTrial]):
    """Trials by number, which is their id, too; counts those that were forgotten, as Optuna numbers by that."""

    forgotten = 0

    def __len__(self) -> int:
        return self.forgotten + super().__len__()


class _Numbers(list[int]):
    """The numbers of a study's trials, which are those of all that are known."""

    def __init__(self, trials: _Trials) -> None:
        self._trials = trials

    def __len__(self) -> int:
        return len(self._trials)

    def __iter__(self) -> Iterator[int]:
        return iter(self._trials)

    def __getitem__(self, number: Any) -> Any:
        return number

    def append(self, number: int) -> None:
        """Nothing, as the trial itself is known."""


class _Replay(JournalStorageReplayResult):
    """What a journal's lines come to.

    wanted : numbers of the trials whose parameters stay known; None for those of all
    """

    def __init__(self, worker: str, journal: Journal, wanted: frozenset[int] | None) -> None:
        super().__init__(worker)
        self._journal, self.wanted = journal, wanted
        self._trials: _Trials = _Trials()
        self._trials.forgotten = journal.mark.trials
        self._done, self._failed, self.params = journal.mark.done, journal.mark.failed, dict(journal.mark.params)

    @property
    def settled(self) -> Mark:
        """What the trials that were forgotten came to."""
        return Mark.model_construct(
            place=self._journal.mark.place,
            trials=self._trials.forgotten,
            done=self._done,
            failed=self._failed,
            params=self.params,
        )

    def _apply_create_study(self, log: dict[str, Any]) -> None:
        super()._apply_create_study(log)
        assert len(self._studies) == 1, "there is more than one study"
        self._study_id_to_trial_ids[next(iter(self._studies))] = _Numbers(self._trials)

    def _apply_create_trial(self, log: dict[str, Any]) -> None:
        while (oldest := self._trials.get(self._trials.forgotten)) and oldest.state.is_finished():
            self._forget(oldest)
        super()._apply_create_trial(log)

    def _forget(self, trial: FrozenTrial) -> None:
        """Count a trial with all before it finished."""
        del self._trials[trial.number], self._trial_id_to_study_id[trial.number]
        self._trials.forgotten += 1
        self._journal.settle_first()
        self._failed += FAILED_BY in trial.user_attrs
        if trial.state == TrialState.COMPLETE:
            self._done += 1
            if self.wanted is None or trial.number in self.wanted:
                self.params[trial.number] = trial.params
