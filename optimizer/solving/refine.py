"""One constrained solve: Gauss-Newton steps inside a trust region, each a small quadratic programme.

What is minimised is told in `linearised`, how a step is found in `quadratic_step`. As constraints are elastic, a solve
always returns a layout. Source: Nocedal & Wright, *Numerical Optimization* (2006), chapters 10 and 18.
"""

from dataclasses import dataclass

import numpy as np

from optimizer.solving.linearised import KEPT_MM, ROUNDING_MM, Emphasis, Linear, Posed, linearise, merit_of
from optimizer.solving.quadratic_step import PENALTY_MOST, best_step
from optimizer.solving.time_left import TimeLeft

PENALTY_FIRST = 100.0

RADIUS_LEAST = 1e-5
"""Trust region, in units of `layout.STEP`, below which a solve has come to rest."""

IDLE_STEPS, IDLE_TOLERANCES = 3, 100.0
"""So many steps one after the other, each gaining less than so many times the tolerance, end a solve: a creep along
what bends. A good step as long as the trust region lets it be is none: the next will be twice as long."""


@dataclass(frozen=True)
class Outcome:
    """Result of a solve: x (n,), merit, largest violation [mm], steps taken, whether it settled, multipliers (m,);
    broken_by_stock_mm: how much of the violation is there since sizes were taken from the stock."""

    x: np.ndarray
    merit: float
    violation_mm: float
    steps: int
    settled: bool
    multipliers: np.ndarray
    broken_by_stock_mm: float = 0.0


def refine(
    problem: Posed,
    x: np.ndarray,
    emphasis: Emphasis,
    max_steps: int = 80,
    tolerance: float = 1e-5,
    left: TimeLeft | None = None,
) -> Outcome:
    """Solve until a step promises less than `tolerance` of the merit, steps bring next to nothing, or time is up.

    Parameters
    ----------
    problem : what is solved
    x : (n,) where to begin, in units of `layout.STEP`
    emphasis : how much each objective counts
    max_steps : so many quadratic programmes at most
    tolerance : share of the merit
    left : time that no step is begun after
    """
    low, high = problem.parametrisation.low, problem.parametrisation.high
    radius, penalty = 2.0, PENALTY_FIRST
    here = linearise(problem, emphasis, x)
    multipliers = np.zeros(here.constraint.size)
    settled = False
    steps = idle = 0
    while steps < max_steps and not (left is not None and left.up):
        steps += 1
        solved = best_step(here, emphasis.worst_note, penalty, x, low, high, radius)
        if solved is None:
            radius *= 0.4
            if radius < RADIUS_LEAST:
                break
            continue
        step, moved, multipliers = solved
        penalty = _penalty(penalty, multipliers, moved)
        now = merit_of(here, emphasis.worst_note, penalty)
        gain = now - merit_of(moved, emphasis.worst_note, penalty)
        little = tolerance * (merit_of(here, emphasis.worst_note, 0.0) + 1e-3)
        if gain <= little:
            settled = True
            break
        there = linearise(problem, emphasis, x + step)
        ratio = (now - merit_of(there, emphasis.worst_note, penalty)) / gain
        held_back = ratio > 0.7 and float(np.max(np.abs(step), initial=0.0)) > 0.9 * radius
        if ratio > 0.05:
            idle = idle + 1 if ratio * gain <= IDLE_TOLERANCES * little and not held_back else 0
            x, here = np.clip(x + step, low, high), there
        radius = radius * 2.0 if held_back else radius * 0.4 if ratio < 0.25 else radius
        if radius < RADIUS_LEAST or idle == IDLE_STEPS:
            settled = True
            break
    violation = float(np.max(here.constraint, initial=0.0)) - ROUNDING_MM
    return Outcome(x, merit_of(here, emphasis.worst_note, 0.0), max(violation, 0.0), steps, settled, multipliers)


def _penalty(penalty: float, multipliers: np.ndarray, moved: Linear) -> float:
    """The penalty to judge a step by: above the multipliers where the step keeps all limits, so that it falls again
    when they do; where none does they say nothing but the penalty itself, and it grows."""
    enough = min(2.0 * float(np.sum(multipliers)), PENALTY_MOST)
    kept = float(np.max(moved.constraint, initial=0.0)) <= KEPT_MM
    return max(PENALTY_FIRST, enough) if kept else max(penalty, enough)
