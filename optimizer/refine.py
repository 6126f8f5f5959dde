"""One constrained solve: Gauss-Newton steps inside a trust region, each a small quadratic programme (PIQP).

Minimises 1/2 |r(x)|^2 + 1/2 w max|e(x)|^2 subject to g(x) <= 0 and bounds. Constraints are kept elastic: when no step
satisfies all of them, the largest violation is driven down first (exact penalty), so a solve always returns a layout.
Source: Nocedal & Wright, *Numerical Optimization* (2006), chapters 10 and 18.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import piqp

from acoustics.arrays import Array
from optimizer.problem import Evaluation, Problem

TUNING_SCALE_CENTS = 5.0
REACH_SCALE = 0.3
EVENNESS_SCALE = 0.1
PENALTY_MOST = 1e4
"""Beyond this the violation is driven down first anyway, and the rest would drown in it."""

ROUNDING_MM = 0.02
"""Constraints are solved with this much to spare, so that rounding a layout to print does not break them."""


class Emphasis(NamedTuple):
    """How much each objective counts in one solve, as multipliers of its scaled mean square."""

    tuning: float = 1.0
    worst_note: float = 0.0
    reach: float = 0.0
    evenness: float = 0.0


class Linear(NamedTuple):
    """Residuals r (R,), notes e (N,) under the worst-note term, constraints g (m,), and their slopes."""

    residual: Array
    residual_slope: Array
    note: Array
    note_slope: Array
    constraint: Array
    constraint_slope: Array


@dataclass(frozen=True)
class Outcome:
    """Result of a solve: x (n,), merit, largest violation [mm], steps taken, whether it settled, multipliers (m,)."""

    x: np.ndarray
    merit: float
    violation_mm: float
    steps: int
    settled: bool
    multipliers: np.ndarray


def linearise(problem: Problem, emphasis: Emphasis, x: np.ndarray) -> Linear:
    """Weighted residuals and constraints at x with their slopes."""
    values, slopes = problem.evaluate(x)
    tuning = np.sqrt(emphasis.tuning * problem.weight / np.sum(problem.weight)) / TUNING_SCALE_CENTS
    factors = Evaluation(
        errors=tuning,
        strain=np.full(values.strain.size, np.sqrt(emphasis.reach / max(values.strain.size, 1)) / REACH_SCALE),
        bend=np.full(values.bend.size, np.sqrt(emphasis.evenness / max(values.bend.size, 1)) / EVENNESS_SCALE),
        constraint=np.ones(values.constraint.size),
    )
    scaled = [factor * value for factor, value in zip(factors, values, strict=True)]
    scaled_slopes = [factor[:, None] * slope for factor, slope in zip(factors, slopes, strict=True)]
    judged = problem.main & (problem.weight > 0)
    return Linear(
        np.concatenate(scaled[:3]),
        np.concatenate(scaled_slopes[:3]),
        values.errors[judged] / TUNING_SCALE_CENTS,
        slopes.errors[judged] / TUNING_SCALE_CENTS,
        values.constraint + ROUNDING_MM,
        slopes.constraint,
    )


def merit_of(linear: Linear, worst_weight: float, penalty: float) -> float:
    """Exact-penalty merit of a linearisation's centre."""
    worst = float(np.max(np.abs(linear.note), initial=0.0))
    violation = float(np.max(linear.constraint, initial=0.0))
    return 0.5 * float(linear.residual @ linear.residual) + 0.5 * worst_weight * worst**2 + penalty * violation


def refine(
    problem: Problem,
    x: np.ndarray,
    emphasis: Emphasis,
    max_steps: int = 80,
    tolerance: float = 1e-5,
) -> Outcome:
    """Solve from x until a step promises less than `tolerance` of the merit."""
    low, high = problem.parametrisation.low, problem.parametrisation.high
    radius, penalty = 2.0, 100.0
    here = linearise(problem, emphasis, x)
    multipliers = np.zeros(here.constraint.size)
    settled = False
    steps = 0
    while steps < max_steps:
        steps += 1
        step, multipliers, promised = _best_step(here, emphasis.worst_note, penalty, x, low, high, radius)
        penalty = max(penalty, min(2.0 * float(np.sum(multipliers)), PENALTY_MOST))
        now = merit_of(here, emphasis.worst_note, penalty)
        gain = now - promised
        if gain <= tolerance * (merit_of(here, emphasis.worst_note, 0.0) + 1e-3):
            settled = True
            break
        there = linearise(problem, emphasis, x + step)
        ratio = (now - merit_of(there, emphasis.worst_note, penalty)) / gain
        if ratio > 0.05:
            x, here = np.clip(x + step, low, high), there
        bold = float(np.max(np.abs(step))) > 0.9 * radius
        radius = radius * 2.0 if ratio > 0.7 and bold else radius * 0.4 if ratio < 0.25 else radius
        if radius < 1e-5:
            settled = True
            break
    violation = float(np.max(here.constraint, initial=0.0)) - ROUNDING_MM
    return Outcome(x, merit_of(here, emphasis.worst_note, 0.0), max(violation, 0.0), steps, settled, multipliers)


def _best_step(
    linear: Linear,
    worst_weight: float,
    penalty: float,
    x: np.ndarray,
    low: np.ndarray,
    high: np.ndarray,
    radius: float,
) -> tuple[np.ndarray, np.ndarray, float]:
    """Best step of the linearised problem in a box, the constraints' multipliers, and the merit it promises.

    Unknowns are the step d (n,), the elastic violation v and the worst note w, both scalars not below zero.
    """
    n, m, notes = x.size, linear.constraint.size, linear.note.size if worst_weight > 0 else 0
    quadratic = np.zeros((n + 2, n + 2), order="F")
    quadratic[:n, :n] = linear.residual_slope.T @ linear.residual_slope + 1e-8 * np.eye(n)
    quadratic[n, n] = 1e-8
    quadratic[n + 1, n + 1] = worst_weight + 1e-8
    cost = np.concatenate([linear.residual_slope.T @ linear.residual, [penalty, 0.0]])
    rows = np.zeros((m + 2 * notes, n + 2), order="F")
    rows[:m, :n], rows[:m, n] = linear.constraint_slope, -1.0
    if notes:
        rows[m : m + notes, :n], rows[m + notes :, :n] = linear.note_slope, -linear.note_slope
        rows[m:, n + 1] = -1.0
    limits = np.concatenate([-linear.constraint, *([-linear.note, linear.note] if notes else [])])
    floor = np.concatenate([np.maximum(low - x, -radius), [0.0, 0.0]])
    ceiling = np.concatenate([np.minimum(high - x, radius), [1e6, 1e6]])
    solver = piqp.DenseSolver()
    solver.settings.eps_abs = solver.settings.eps_rel = 1e-9
    if rows.shape[0]:
        solver.setup(quadratic, cost, G=rows, h_u=limits, x_l=floor, x_u=ceiling)
    else:
        solver.setup(quadratic, cost, x_l=floor, x_u=ceiling)
    solver.solve()
    solution = np.array(solver.result.x)
    step = np.clip(solution[:n], floor[:n], ceiling[:n])
    moved = Linear(
        linear.residual + linear.residual_slope @ step,
        linear.residual_slope,
        linear.note + linear.note_slope @ step,
        linear.note_slope,
        linear.constraint + linear.constraint_slope @ step,
        linear.constraint_slope,
    )
    multipliers = np.array(solver.result.z_u)[:m] if rows.shape[0] else np.zeros(0)
    return step, np.maximum(multipliers, 0.0), merit_of(moved, worst_weight, penalty)
