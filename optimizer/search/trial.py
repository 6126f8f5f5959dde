"""One trial: what Optuna proposes, turned into a solve and a finished record. Runs on a worker.

A start is the textbook's, the best in tune of a batch of shaken ones, or a layout of the front. Discrete choices are
data of a layout, so that a worker builds its problem once.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from optimizer.geometry.choices import Choices, plain_choices
from optimizer.project.loading import parse_project
from optimizer.records.layout import LayoutRecord
from optimizer.records.layout_ids import layout_id
from optimizer.search.proposals import Proposal
from optimizer.solving.assemble import assemble
from optimizer.solving.problem import Problem
from optimizer.solving.refine import Outcome
from optimizer.solving.starts import Starts
from optimizer.solving.stock import of_stock, solve

NEIGHBOUR_SCATTER = 0.2
"""A start beside a neighbour is shaken less than one from the textbook, by this factor."""


@dataclass(frozen=True)
class Result:
    """A finished trial: the record as JSON."""

    number: int
    record_json: str


class Solver:
    """A project read once, at the first proposal, solving one proposal after another."""

    def __init__(self, text: str, source: str) -> None:
        self.text, self.source = text, source

    @cached_property
    def problem(self) -> Problem:
        """The project as a solver sees it."""
        return Problem(parse_project(self.text, self.source))

    @cached_property
    def starts(self) -> Starts:
        """Where its solves start."""
        return Starts(self.problem)

    def solve(self, proposal: Proposal) -> Result:
        """Solve a proposal, round the layout, and judge it by its real resonances."""
        record = self._record(*self.settled(proposal), proposal)
        return Result(proposal.number, record.model_dump_json(indent=1))

    def attempt(self, proposal: Proposal) -> Result | str:
        """The result of a proposal, or why there is none."""
        try:
            return self.solve(proposal)
        except Exception as error:
            return str(error) or type(error).__name__

    def settled(self, proposal: Proposal) -> tuple[Problem, Outcome]:
        """The problem with the proposal's choices made, and where its solve comes to rest."""
        choices = proposal.choices or plain_choices(self.problem.project, self.problem.loaded.notes)
        problem, start = self.problem.chosen(
            choices, self._start(proposal, choices), (proposal.numbers or {}).get("joint_mm", ())
        )
        return problem, solve(problem, start, proposal.emphasis)

    def _start(self, proposal: Proposal, choices: Choices) -> np.ndarray:
        """Start vector x (n,): a neighbour's numbers a little shaken, or the textbook's."""
        seed = proposal.seed + proposal.number
        if proposal.numbers is None:
            if proposal.pattern == "screened":
                return self.starts.screened(proposal.scatter, seed, choices.bore_scale)
            tapered = proposal.pattern == "tapered"
            return self.starts.at(proposal.size, proposal.scatter, seed, choices.bore_scale, tapered)
        return self.starts.beside(proposal.numbers, NEIGHBOUR_SCATTER * proposal.scatter, seed)

    def _record(self, problem: Problem, outcome: Outcome, proposal: Proposal) -> LayoutRecord:
        provenance: dict[str, str | int | float] = {
            "trial": proposal.number,
            "seed": proposal.seed,
            "start_size": proposal.size,
            "start_scatter": proposal.scatter,
            "start_pattern": proposal.pattern,
            "start_neighbour": proposal.parent,
            "solver_steps": outcome.steps,
            "solver_settled": int(outcome.settled),
            **of_stock(outcome),
            **{f"emphasis_{name}": value for name, value in proposal.emphasis._asdict().items()},
        }
        return assemble(problem, np.asarray(outcome.x), layout_id(proposal.number), provenance)
