"""The outer level in one hand: what is asked of Optuna, how it answers, and what it remembers of the front."""

from collections.abc import Container, Mapping
from typing import Any

import optuna

from optimizer.project.loading import LoadedProject
from optimizer.project.model import Project
from optimizer.project.objectives import OBJECTIVES
from optimizer.records.layout import LayoutRecord, saved_numbers
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
    """The front's members; a new list whenever it changes."""

    def __init__(self, project: Project) -> None:
        self.project = project
        self.members: list[Member] = []

    def note(self, record: LayoutRecord, params: Mapping[str, Any], front: Container[str]) -> None:
        """Remember a layout if it is on the front, and forget those that left it."""
        shares = tuple(record.objectives[name] / OBJECTIVES[name].reference for name in self.project.objective_names)
        member = Member(record.id, dict(params), shares, saved_numbers(record, self.project))
        self.members = [one for one in (*self.members, member) if one.id in front]
