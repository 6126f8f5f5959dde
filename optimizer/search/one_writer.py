"""A study in a journal that nobody else writes: a trial costs the driver the same however many there were."""

import sys
from collections.abc import Container
from pathlib import Path
from typing import Any

from optuna.distributions import BaseDistribution
from optuna.storages import JournalStorage
from optuna.trial import FrozenTrial, TrialState

from optimizer.search.journal import Journal


class OneWriter(JournalStorage):
    """A journal's storage that need not look through all trials for those that wait when it knows of none.

    Finished trials share names and ranges of their parameters, half of what they would weigh.
    """

    def __init__(self, path: Path) -> None:
        self._may_wait = True
        self._ranges: dict[BaseDistribution, BaseDistribution] = {}
        super().__init__(Journal(path))

    def create_new_trial(self, study_id: int, template_trial: FrozenTrial | None = None) -> int:
        """A new trial, which may wait."""
        self._may_wait |= template_trial is not None
        return super().create_new_trial(study_id, template_trial)

    def get_all_trials(
        self, study_id: int, deepcopy: bool = True, states: Container[TrialState] | None = None
    ) -> list[FrozenTrial]:
        """Every trial in one of the states."""
        waiting = states == (TrialState.WAITING,)
        if waiting and not self._may_wait:
            return []
        found = super().get_all_trials(study_id, deepcopy, states)
        if waiting:
            self._may_wait = bool(found)
        return found

    def set_trial_state_values(self, trial_id: int, state: TrialState, values: Any = None) -> bool:
        """Note a trial's new state."""
        done = super().set_trial_state_values(trial_id, state, values)
        if state.is_finished():
            self._lighten(self.get_trial(trial_id))
        return done

    def _lighten(self, trial: FrozenTrial) -> None:
        ranges = trial.distributions.items()
        trial.distributions = {sys.intern(name): self._ranges.setdefault(one, one) for name, one in ranges}
        trial.params = {
            sys.intern(name): sys.intern(value) if isinstance(value, str) else value
            for name, value in trial.params.items()
        }
