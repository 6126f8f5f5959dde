"""Where the outer search looks next: between neighbours on the front where it is thin, or anywhere.

An Optuna sampler of constant cost: it looks at the layouts on the front alone, not at every trial so far. A trial
either explores, each parameter drawn from its whole range, or descends from two members of the front that are
neighbours in one objective, wide gaps preferred. Numbers are blended with some overshoot, choices are taken from either
and now and then drawn anew.
Source: blend crossover after Eshelman & Schaffer, *Foundations of Genetic Algorithms* 2 (1993) 187; gaps
objective by objective after Deb, Pratap, Agarwal & Meyarivan, IEEE Trans. Evol. Comput. 6 (2002) 182.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from optuna.distributions import BaseDistribution, FloatDistribution
from optuna.samplers import BaseSampler, RandomSampler
from optuna.study import Study
from optuna.trial import FrozenTrial

from optimizer.solving.front_member import Member

EXPLORING = 0.3
"""Share of trials drawn from the whole range."""

OVERSHOOT = 0.3
MUTATION = 0.1


class FrontSampler(BaseSampler):
    """Proposes from the front. `front` gives its present members; inherited: what a descendant takes for a parameter.

    Raises nothing of its own: with fewer than two parents it explores.
    """

    def __init__(
        self, front: Callable[[], Sequence[Member]], seed: int, inherited: Mapping[str, Any] | None = None
    ) -> None:
        self._front, self._seed, self._inherited = front, seed, dict(inherited or {})
        self.begin_at(0)
        self._pair: tuple[Member, Member] | None = None

    def begin_at(self, number: int) -> None:
        """Seed the dice for going on at a trial number, so that a resumed search does not repeat its draws."""
        self._dice = np.random.default_rng([self._seed, number])
        self._anywhere = RandomSampler(seed=int(self._dice.integers(2**32)))

    def infer_relative_search_space(self, study: Study, trial: FrozenTrial) -> dict[str, BaseDistribution]:
        """Parameters are drawn one by one."""
        return {}

    def sample_relative(
        self, study: Study, trial: FrozenTrial, search_space: dict[str, BaseDistribution]
    ) -> dict[str, Any]:
        """Parameters are drawn one by one."""
        return {}

    def before_trial(self, study: Study, trial: FrozenTrial) -> None:
        """Decide what the trial descends from."""
        members = self._front()
        if len(members) < 2 or self._dice.uniform() < EXPLORING:
            self._pair = None
            return
        self._pair = self._neighbours(members)

    def _neighbours(self, members: Sequence[Member]) -> tuple[Member, Member]:
        """Two members next to each other in one objective, the wide gaps much preferred; of equals, as where things are
        counted, any may be next."""
        objective = int(self._dice.integers(len(members[0].objectives)))
        values = np.array([member.objectives[objective] for member in members])
        order = np.lexsort((self._dice.uniform(size=values.size), values))
        gap = np.diff(values[order]) ** 2 + 1e-12
        place = int(self._dice.choice(gap.size, p=gap / gap.sum()))
        return members[order[place]], members[order[place + 1]]

    def sample_independent(
        self, study: Study, trial: FrozenTrial, param_name: str, param_distribution: BaseDistribution
    ) -> Any:
        """One parameter: blended from the parents, or drawn from its whole range."""
        if self._pair is not None:
            if param_name in self._inherited:
                return self._inherited[param_name]
            found = [parent.params[param_name] for parent in self._pair if param_name in parent.params]
            choice = not isinstance(param_distribution, FloatDistribution)
            if found and not (choice and self._dice.uniform() < MUTATION):
                return self._picked(found) if choice else self._blended(found[0], found[-1], param_distribution)
        return self._anywhere.sample_independent(study, trial, param_name, param_distribution)

    def _picked(self, found: Sequence[Any]) -> Any:
        return found[int(self._dice.integers(len(found)))]

    def _blended(self, first: float, second: float, distribution: BaseDistribution) -> float:
        assert isinstance(distribution, FloatDistribution)
        to, back = (math.log, math.exp) if distribution.log else (float, float)
        share = self._dice.uniform(-OVERSHOOT, 1.0 + OVERSHOOT)
        value = back(to(first) + share * (to(second) - to(first)))
        return float(min(max(value, distribution.low), distribution.high))
