"""The outer level in one hand: what is asked of Optuna, how it answers, and what it remembers of the front."""

from collections.abc import Callable, Mapping
from typing import Any

import optuna

from optimizer.project.loading import LoadedProject
from optimizer.project.model import Project
from optimizer.project.objectives import OBJECTIVES
from optimizer.records.layout import LayoutRecord, saved_numbers
from optimizer.records.sameness import widths
from optimizer.records.verdict import LayoutVerdict
from optimizer.search.pareto import Front
from optimizer.search.proposals import START, Proposal, Questions
from optimizer.search.sampler import FrontSampler
from optimizer.solving.front_member import Member


class Asking:
    """Questions, sampler and memory of a project's search."""

    def __init__(self, loaded: LoadedProject, seed: int) -> None:
        self.questions = Questions(loaded.project, loaded.notes, seed)
        self.memory = Memory(loaded.project)
        self.sampler = FrontSampler(lambda: self.memory.members, seed, {START: "neighbour"})

    def proposal(self, trial: optuna.Trial) -> Proposal:
        """A trial's proposal; it may start from a layout of the front."""
        return self.questions.asked(trial, self.memory.members)


class Memory:
    """Members of a front as fine as the objectives' resolutions: what a maker cannot tell apart still tells the search
    where to go on. A new list whenever it changes; a resumed search begins with the layouts in its folder."""

    def __init__(self, project: Project) -> None:
        self.project = project
        self.members: list[Member] = []
        self._front = Front(widths(project.objective_names, None))

    def note(
        self, verdict: LayoutVerdict | LayoutRecord, params: Mapping[str, Any], whole: Callable[[], LayoutRecord]
    ) -> None:
        """Remember a layout that joins, and forget those that leave for it.

        Parameters
        ----------
        verdict : what it came to
        params : it was proposed with
        whole : reads all of it, where it joins
        """
        if not verdict.feasible or not self._front.offer(verdict.id, verdict.objectives)[0]:
            return
        record = whole()
        shares = tuple(record.objectives[name] / OBJECTIVES[name].reference for name in self.project.objective_names)
        member = Member(record.id, dict(params), shares, saved_numbers(record, self.project))
        self.members = [one for one in (*self.members, member) if one.id in self._front.members]
