"""One trial: what Optuna proposes, turned into a solve and a finished record. Runs on a worker."""

import time
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from optimizer.assemble import assemble
from optimizer.compiled_code import keep_compiled_code
from optimizer.problem import Problem
from optimizer.project_file import parse_project
from optimizer.records import LayoutRecord, layout_id
from optimizer.refine import Emphasis, Outcome, refine
from optimizer.start import Starts


@dataclass(frozen=True)
class Proposal:
    """The handful of numbers that a solve cannot choose for itself.

    emphasis per objective; size: start with small (0) or large (1) holes; scatter: how far the start is shaken
    """

    number: int
    emphasis: Emphasis
    size: float
    scatter: float
    seed: int


@dataclass(frozen=True)
class Result:
    """A finished trial: the record as JSON."""

    number: int
    record_json: str
    steps: int
    seconds: float


class Solver:
    """A project compiled once, at the first proposal, solving one proposal after another."""

    def __init__(self, text: str, source: str) -> None:
        self.text, self.source = text, source

    @cached_property
    def problem(self) -> Problem:
        """The compiled project."""
        keep_compiled_code()
        return Problem(parse_project(self.text, self.source))

    @cached_property
    def starts(self) -> Starts:
        """Where its solves start."""
        return Starts(self.problem)

    def solve(self, proposal: Proposal) -> Result:
        """Solve a proposal, round the layout, and judge it by its real resonances."""
        begun = time.perf_counter()
        start = self.starts.at(proposal.size, proposal.scatter, proposal.seed + proposal.number)
        outcome = refine(self.problem, start, proposal.emphasis)
        record = self._record(proposal, outcome)
        return Result(
            proposal.number,
            record.model_dump_json(indent=1),
            outcome.steps,
            time.perf_counter() - begun,
        )

    def _record(self, proposal: Proposal, outcome: Outcome) -> LayoutRecord:
        provenance: dict[str, str | int | float] = {
            "trial": proposal.number,
            "seed": proposal.seed,
            "start_size": proposal.size,
            "start_scatter": proposal.scatter,
            "solver_steps": outcome.steps,
            "solver_settled": int(outcome.settled),
            **{f"emphasis_{name}": value for name, value in proposal.emphasis._asdict().items()},
        }
        return assemble(self.problem, np.asarray(outcome.x), layout_id(proposal.number), provenance)
