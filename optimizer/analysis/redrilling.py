"""Which few holes of printed pieces to open up: all may grow at first, then those that matter least stay as made.

One problem has every candidate's diameter free from what it is; held numbers are left out of a solve
(`variants.Held`), so that the pieces kept as they are, any few holes, and all of them are solves of the same problem.
Holes are chosen by free solves; what comes of the choice, and of no choice, keeps to the stock.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.geometry.choices import Choices
from optimizer.geometry.layout import STEP
from optimizer.solving.fitting import STEPS, TUNING, Fitting, Solved, solved_until
from optimizer.solving.problem import Problem
from optimizer.solving.stock import refined, solve
from optimizer.solving.time_left import TimeLeft

GREW_MM = 0.05
"""A hole that grew by less stays as it is."""

STARTS_MOST = 24
KEPT_TIME = 0.4
"""Share of the time for solves with nothing redrilled."""

CARRIED_ON = 3
"""So many of the best solves with nothing redrilled are carried on from."""


@dataclass(frozen=True)
class Grown:
    """A hole's diameter as made and as solved [mm], and what RMS is lost when it alone stays as made [cents]."""

    hole: str
    from_mm: float
    to_mm: float
    worth_cents: float


@dataclass(frozen=True)
class Found:
    """Solves with nothing redrilled and with the chosen holes, all best first; how much every hole that grew was
    worth, most first; how many solves it took."""

    kept: list[Solved]
    redrilled: list[Solved]
    worth: list[Grown]
    solves: int


class Redrilling:
    """Solves of one project some of whose printed holes may grow, until a deadline (time.monotonic) [s]."""

    def __init__(self, fitting: Fitting, candidates: Sequence[str], deadline: float) -> None:
        self.fitting, self.count, self.left = fitting, 0, TimeLeft(deadline)
        names = fitting.problem.parametrisation.names
        places = {f"diameter_mm.{hole}": hole for hole in candidates}
        self.holes = {number: places[name] for number, name in enumerate(names) if name in places}

    def found(self, most: int, begun: float) -> Found:
        """Solve with nothing redrilled, then choose at most so many holes.

        Parameters
        ----------
        most : holes to drill
        begun : when the work began (time.monotonic) [s]
        """
        kept = sorted(self._starts(begun + KEPT_TIME * (self.left.deadline - begun)), key=_rank)
        if most == 0 or not self.holes or not self.left.for_more():
            return Found(kept, [], [], self.count)
        all_grown = min((self._solve(one.problem, one.outcome.x, set(), False) for one in kept[:CARRIED_ON]), key=_rank)
        made = self._made()
        grew = {n for n in self.holes if (all_grown.outcome.x - made)[n] * STEP["diameter_mm"] > GREW_MM}
        chosen, worth = self._chosen(all_grown, grew, most)
        still = set(self.holes) - chosen
        last = [self._solve(all_grown.problem, all_grown.outcome.x, still)]
        starts = [(one.problem, one.outcome.x) for one in kept[:CARRIED_ON]]
        for number in range(len(starts) + STARTS_MOST):
            if not self.left.for_more():
                break
            start = starts[number] if number < len(starts) else self._start(number - len(starts))
            last.append(self._solve(*start, still))
        return Found(kept, sorted(last, key=_rank), worth, self.count)

    def _made(self) -> np.ndarray:
        """The least of every free number (n,): for holes on printed pieces their diameter as made."""
        return self.fitting.problem.parametrisation.low

    def _starts(self, deadline: float) -> list[Solved]:
        """Solves with nothing redrilled, from one start after another."""
        return solved_until(lambda number: self._solve(*self._start(number), set(self.holes)), deadline, STARTS_MOST)

    def _start(self, number: int) -> tuple[Problem, np.ndarray]:
        return started(self.fitting, number)

    def _solve(self, problem: Problem, x: np.ndarray, still: set[int], in_stock: bool = True) -> Solved:
        """Solve from x with the holes of some numbers of x as made; whether with sizes of a stock that is named."""
        self.count += 1
        x, free = x.copy(), np.ones(x.size, bool)
        for number in still:
            x[number], free[number] = self._made()[number], False
        outcome = solve(problem, x, TUNING, STEPS, free) if in_stock else refined(problem.loose, x, TUNING, STEPS, free)
        errors = np.asarray(problem.evaluate(outcome.x)[0].errors)
        share = problem.weight / np.sum(problem.weight)
        self.left.done()
        return Solved(problem, outcome, float(np.sqrt(share @ errors**2)))

    def _chosen(self, best: Solved, grew: set[int], most: int) -> tuple[set[int], list[Grown]]:
        """The holes that matter most: each stays as made in turn, half of the surplus goes at once, the rest singly;
        once time is up those that grew most."""
        chosen, worth = set(grew), list[Grown]()
        while True:
            if not self.left.for_more(len(chosen)):
                grown = best.outcome.x - self._made()
                return set(sorted(chosen, key=lambda n: -grown[n])[:most]), worth
            still = set(self.holes) - chosen
            without = {n: self._solve(best.problem, best.outcome.x, still | {n}, False) for n in sorted(chosen)}
            ranking = sorted(without, key=lambda n: _rank(without[n]))
            if not worth:
                worth = [self._grown(n, best, without[n].cents - best.cents) for n in reversed(ranking)]
            surplus = len(chosen) - most
            if surplus <= 0:
                return chosen, worth
            gone = set(ranking[: max(1, surplus // 2)])
            chosen -= gone
            best = self._solve(best.problem, best.outcome.x, still | gone, False)

    def _grown(self, number: int, solved: Solved, worth: float) -> Grown:
        step, made = STEP["diameter_mm"], self._made()[number]
        to = float(solved.outcome.x[number]) * step
        return Grown(self.holes[number], round(float(made) * step, 4), round(to, 2), worth)


def started(fitting: Fitting, number: int) -> tuple[Problem, np.ndarray]:
    """A problem and start (n,): sizes and numbers of joints in turn, the fewest first."""
    project, plain = fitting.problem.project, fitting.plain
    low, high = project.sections.joints if project.sections else (0, 0)
    choices: Choices = plain._replace(joints=(0.5,) * (low + number % (high - low + 1)))
    dice = np.random.default_rng([fitting.seed, number])
    size = (0.5, 0.2, 0.8)[number // 2] if number < 6 else float(dice.uniform())
    scatter = 0.0 if number < 2 else 0.5
    start = fitting.starts.at(size, scatter, fitting.seed + number, 0.5, number % 4 == 3)
    return fitting.problem.chosen(choices, start)


def _rank(solved: Solved) -> tuple[float, float]:
    return solved.rank
