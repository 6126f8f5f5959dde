"""The outer level in one hand: what is asked of Optuna, how it answers, and what it remembers of the front."""

import optuna

from optimizer.project.loading import LoadedProject
from optimizer.search.memory import Memory
from optimizer.search.proposals import START, Proposal, Questions
from optimizer.search.sampler import FrontSampler


class Asking:
    """Questions, sampler and memory of a project's search."""

    def __init__(self, loaded: LoadedProject, seed: int) -> None:
        self.questions = Questions(loaded.project, loaded.notes, seed)
        self.memory = Memory(loaded.project)
        self.sampler = FrontSampler(lambda: self.memory.members, seed, {START: "neighbour"})

    def proposal(self, trial: optuna.Trial) -> Proposal:
        """A trial's proposal; it may start from a layout of the front."""
        return self.questions.asked(trial, self.memory.members)
