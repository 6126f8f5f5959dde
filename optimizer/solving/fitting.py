"""One project solved a few times for tuning: what it can do in short time, with the limits as they are.

Unlike a search it spans no set of trade-offs: stretch and unevenness count only so far as they break ties.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np

from optimizer.geometry.choices import Choices, plain_choices
from optimizer.project.loading import LoadedProject
from optimizer.records.layout import LayoutRecord
from optimizer.solving.assemble import assemble
from optimizer.solving.linearised import Emphasis
from optimizer.solving.problem import Problem
from optimizer.solving.refine import Outcome
from optimizer.solving.starts import Starts
from optimizer.solving.stock import of_stock, solve
from optimizer.solving.time_left import TimeLeft

TUNING = Emphasis(tuning=1.0, stretch=1e-3, unevenness=1e-3)
STEPS = 60
SCATTER = 0.5
JUDGING_SECONDS = 4.0
"""Kept back of the time for judging the best solves by their real resonances."""

JUDGED = 3
"""So many of the best solves are judged by their real resonances before the last one is taken."""


class Solved(NamedTuple):
    """A solve before it is judged: its problem, where it came to rest, and how far out of tune it is [cents]."""

    problem: Problem
    outcome: Outcome
    cents: float

    @property
    def rank(self) -> tuple[float, float]:
        """Less is better: violation, then tuning."""
        return round(self.outcome.violation_mm, 2), self.cents


class Fitting:
    """A project, solved from one start after another.

    Parameters
    ----------
    loaded : the project
    offset_mm : per hole id, how far a plate's touch may lie from its hole where that is less than the project allows
    """

    def __init__(self, loaded: LoadedProject, offset_mm: Mapping[str, float] | None = None) -> None:
        self.problem = Problem(loaded)
        if offset_mm:
            self._narrow(offset_mm)
        self.starts = Starts(self.problem)
        self.plain = plain_choices(loaded.project, loaded.notes)
        self.seed = loaded.project.search.seed

    def _narrow(self, offset_mm: Mapping[str, float]) -> None:
        """Keep the touches of some holes nearer to them."""
        coding = self.problem.parametrisation
        low, high = coding.low.copy(), coding.high.copy()
        for hole, most in offset_mm.items():
            name = f"touch_offset_mm.{hole}"
            if name in coding.names:
                number = coding.names.index(name)
                share = min(1.0, most / max(self.problem.project.keywork.plate_offset_max_mm, 1e-9))
                low[number], high[number] = share * low[number], share * high[number]
        self.problem.parametrisation = replace(coding, low=low, high=high)

    def solve(self, number: int, choices: Choices | None = None) -> Solved:
        """Solve from the textbook's start (number 0) or another of its sizes, shaken."""
        chosen, dice = choices or self.plain, np.random.default_rng([self.seed, number])
        size, scatter = (0.5, 0.0) if number == 0 else (float(dice.uniform()), SCATTER)
        start = self.starts.at(size, scatter, self.seed + number, chosen.bore_scale, number % 2 == 1)
        return self.settled(*self.problem.chosen(chosen, start))

    def beside(self, numbers: Mapping[str, Any], choices: Choices | None = None) -> Solved:
        """Solve from another layout's numbers (see `saved.saved_numbers`)."""
        start = self.starts.beside(numbers, 0.0, 0)
        return self.settled(*self.problem.chosen(choices or self.plain, start, numbers.get("joint_mm", ())))

    def settled(self, problem: Problem, start: np.ndarray) -> Solved:
        """Solve a problem from a start (n,)."""
        outcome = solve(problem, start, TUNING, STEPS)
        errors, share = problem.evaluate(outcome.x)[0].errors, problem.weight / np.sum(problem.weight)
        return Solved(problem, outcome, float(np.sqrt(share @ np.asarray(errors) ** 2)))

    def judged(self, solves: list[Solved], name: str) -> LayoutRecord:
        """The record of the best solve that is feasible by its real resonances; else of the best one."""
        best: LayoutRecord | None = None
        for solved in sorted(solves, key=lambda solved: solved.rank)[:JUDGED]:
            provenance: dict[str, str | int | float] = {
                "seed": self.seed,
                "solves": len(solves),
                "solver_steps": solved.outcome.steps,
                "solver_settled": int(solved.outcome.settled),
                **of_stock(solved.outcome),
            }
            record = assemble(solved.problem, np.asarray(solved.outcome.x), name, provenance)
            if record.feasible:
                return record
            best = best or record
        assert best is not None
        return best


def solved_until(
    solve: Callable[[int], Solved], deadline: float, most: int, first: Sequence[Solved] = ()
) -> list[Solved]:
    """Solves from one start after another, as long as the next one is likely to end in time; one at the least.

    Parameters
    ----------
    solve : from a start by its number
    deadline : when to be done (time.monotonic) [s]
    most : so many from numbered starts at most
    first : what is solved already
    """
    left, solves = TimeLeft(deadline), list(first)
    for number in range(most):
        if solves and not left.for_more():
            break
        solves.append(solve(number))
        left.done()
    return solves
