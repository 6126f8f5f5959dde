"""One constrained solve: Gauss-Newton steps inside a trust region, each a small quadratic programme (PIQP).

Minimises 1/2 |r(x)|^2 + 1/2 w max|e(x)|^2 subject to g(x) <= 0 and bounds. Constraints are kept elastic: when no step
satisfies all of them, the largest violation is driven down first (exact penalty), so a solve always returns a layout.
Residuals are scaled so that 5 cents, a strain of 0.3 and a bend of 0.1 weigh the same.
Source: Nocedal & Wright, *Numerical Optimization* (2006), chapters 10 and 18.
"""

from dataclasses import dataclass
from typing import NamedTuple, Protocol

import numpy as np
import piqp

from acoustics.arrays import Array
from optimizer.geometry.layout import Parametrisation
from optimizer.geometry.surface import NEVER_MM
from optimizer.solving.problem import Evaluation

TUNING_SCALE_CENTS = 5.0
REACH_SCALE = 0.3
EVENNESS_SCALE = 0.1
PENALTY_FIRST, PENALTY_MOST = 100.0, 1e4
"""Beyond this the violation is driven down first anyway, and the rest would drown in it."""

RADIUS_LEAST = 1e-5
"""Trust region, in units of `layout.STEP`, below which a solve has come to rest."""

IDLE_STEPS, IDLE_TOLERANCES = 3, 100.0
"""So many steps one after the other, each gaining less than so many times the tolerance, end a solve: a creep along
what bends. A good step as long as the trust region lets it be is none: the next will be twice as long."""

WIDE = 50.0
"""A box around x that no step reaches."""

KEPT_MM = 1e-4
"""A limit that is broken by less is kept."""

ROUNDING_MM = 0.02
"""Constraints are solved with this much to spare, so that rounding a layout to print does not break them."""


class Posed(Protocol):
    """What a solve asks of a problem: x's bounds, weight (N,) and main (N,) of the notes, values and Jacobians."""

    @property
    def parametrisation(self) -> Parametrisation:
        """Coding of x, with its bounds (n,)."""

    @property
    def weight(self) -> np.ndarray:
        """How much each note counts (N,)."""

    @property
    def main(self) -> np.ndarray:
        """Which notes are no alternates (N,)."""

    def evaluate(self, x: np.ndarray) -> tuple[Evaluation, Evaluation]:
        """Values at x (n,) and their Jacobians (rows, n)."""


class Emphasis(NamedTuple):
    """How much each objective counts in one solve, as multipliers of its scaled mean square."""

    tuning: float = 1.0
    worst_note: float = 0.0
    reach: float = 0.0
    evenness: float = 0.0


class Multipliers(NamedTuple):
    """Merit gained for each unit that a limit gives: constraints (m,) per mm, ends of x's ranges (n,) per unit of x."""

    constraint: np.ndarray
    low: np.ndarray
    high: np.ndarray


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


def linearise(problem: Posed, emphasis: Emphasis, x: np.ndarray) -> Linear:
    """Weighted residuals and constraints at x with their slopes; limits that nothing free moves are put out of force,
    or one that fixed numbers break would excuse all others.

    Parameters
    ----------
    problem : what is solved
    emphasis : how much each objective counts
    x : (n,) in units of `layout.STEP`
    """
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
        np.where(np.any(slopes.constraint, axis=1), values.constraint + ROUNDING_MM, NEVER_MM),
        slopes.constraint,
    )


def merit_of(linear: Linear, worst_weight: float, penalty: float) -> float:
    """Exact-penalty merit of a linearisation's centre; source: module docstring.

    Parameters
    ----------
    linear : residuals (R,), notes (N,) and constraints (m,) there
    worst_weight : how much the worst note counts
    penalty : of the largest violation [1/mm]
    """
    worst = float(np.max(np.abs(linear.note), initial=0.0))
    violation = float(np.max(linear.constraint, initial=0.0))
    return 0.5 * float(linear.residual @ linear.residual) + 0.5 * worst_weight * worst**2 + penalty * violation


def refine(
    problem: Posed,
    x: np.ndarray,
    emphasis: Emphasis,
    max_steps: int = 80,
    tolerance: float = 1e-5,
) -> Outcome:
    """Solve until a step promises less than `tolerance` of the merit, or steps bring next to nothing.

    Parameters
    ----------
    problem : what is solved
    x : (n,) where to begin, in units of `layout.STEP`
    emphasis : how much each objective counts
    max_steps : so many quadratic programmes at most
    tolerance : share of the merit
    """
    low, high = problem.parametrisation.low, problem.parametrisation.high
    radius, penalty = 2.0, PENALTY_FIRST
    here = linearise(problem, emphasis, x)
    multipliers = np.zeros(here.constraint.size)
    settled = False
    steps = idle = 0
    while steps < max_steps:
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


def multipliers_at(problem: Posed, emphasis: Emphasis, x: np.ndarray) -> Multipliers | None:
    """Multipliers of the limits where a solve came to rest: those of one more quadratic programme in a wide box,
    without the worst note; None when it was not solved, or some limit cannot be kept.

    Parameters
    ----------
    problem : what was solved
    emphasis : how much each objective counts
    x : (n,) where it came to rest
    """
    here, n = linearise(problem, emphasis, x), x.size
    low, high = problem.parametrisation.low, problem.parametrisation.high
    solver = piqp.DenseSolver()
    solver.settings.eps_abs = solver.settings.eps_rel = 1e-10
    _pose(solver, here, 0.0, PENALTY_MOST, np.maximum(low - x, -WIDE), np.minimum(high - x, WIDE))
    if solver.solve() != piqp.PIQP_SOLVED or solver.result.x[n] > KEPT_MM:
        return None
    ends = (np.maximum(np.array(side)[:n], 0.0) for side in (solver.result.z_bl, solver.result.z_bu))
    m = here.constraint.size
    return Multipliers(np.maximum(np.array(solver.result.z_u)[:m], 0.0) if m else np.zeros(0), *ends)


def best_step(
    linear: Linear,
    worst_weight: float,
    penalty: float,
    x: np.ndarray,
    low: np.ndarray,
    high: np.ndarray,
    radius: float,
) -> tuple[np.ndarray, Linear, np.ndarray] | None:
    """Best step of the linearised problem in a box.

    Parameters
    ----------
    linear : the linearisation at x
    worst_weight : how much the worst note counts
    penalty : of the largest violation [1/mm]
    x, low, high : (n,) where it stands, and its bounds
    radius : of the trust region, in units of `layout.STEP`

    Returns
    -------
    step (n,), the linearisation moved by it, and the constraints' multipliers (m,); None when the quadratic programme
    was not solved
    """
    n = x.size
    solver = piqp.DenseSolver()
    solver.settings.eps_abs = solver.settings.eps_rel = 1e-9
    floor, ceiling = np.maximum(low - x, -radius), np.minimum(high - x, radius)
    chosen = np.flatnonzero(may_bind(linear, floor, ceiling))
    near = linear._replace(constraint=linear.constraint[chosen], constraint_slope=linear.constraint_slope[chosen])
    _pose(solver, near, worst_weight, penalty, floor, ceiling)
    if solver.solve() != piqp.PIQP_SOLVED:
        return None
    step = np.clip(np.array(solver.result.x)[:n], floor, ceiling)
    moved = linear._replace(
        residual=linear.residual + linear.residual_slope @ step,
        note=linear.note + linear.note_slope @ step,
        constraint=linear.constraint + linear.constraint_slope @ step,
    )
    multipliers = np.zeros(linear.constraint.size)
    if chosen.size:
        multipliers[chosen] = np.maximum(np.array(solver.result.z_u)[: chosen.size], 0.0)
    return step, moved, multipliers


def may_bind(linear: Linear, floor: np.ndarray, ceiling: np.ndarray) -> np.ndarray:
    """Which limits (m,) some step within the box could break: the others are no part of the quadratic programme.

    Parameters
    ----------
    linear : the linearisation at x
    floor, ceiling : (n,) of the step
    """
    slope = linear.constraint_slope
    worst = linear.constraint + np.maximum(slope, 0.0) @ ceiling + np.minimum(slope, 0.0) @ floor
    return np.asarray(worst > 0.0)


def _pose(
    solver: piqp.DenseSolver,
    linear: Linear,
    worst_weight: float,
    penalty: float,
    floor: np.ndarray,
    ceiling: np.ndarray,
) -> None:
    """Set up the quadratic programme: unknowns are the step (n,), the violation and the worst note, both >= 0."""
    n, m = floor.size, linear.constraint.size
    notes = linear.note.size if worst_weight > 0 else 0
    quadratic = np.zeros((n + 2, n + 2), order="F")
    quadratic[:n, :n] = linear.residual_slope.T @ linear.residual_slope + 1e-8 * np.eye(n)
    quadratic[n, n] = 1e-8
    quadratic[n + 1, n + 1] = worst_weight + 1e-8
    cost = np.concatenate([linear.residual_slope.T @ linear.residual, [penalty, 0.0]])
    bounds = {"x_l": np.append(floor, [0.0, 0.0]), "x_u": np.append(ceiling, [1e6, 1e6])}
    if m + notes == 0:
        solver.setup(quadratic, cost, **bounds)
        return
    rows = np.zeros((m + 2 * notes, n + 2), order="F")
    rows[:m, :n], rows[:m, n] = linear.constraint_slope, -1.0
    limits = -np.asarray(linear.constraint)
    if notes:
        rows[m : m + notes, :n], rows[m + notes :, :n] = linear.note_slope, -linear.note_slope
        rows[m:, n + 1] = -1.0
        limits = np.concatenate([limits, -linear.note, linear.note])
    solver.setup(quadratic, cost, G=rows, h_u=limits, **bounds)
