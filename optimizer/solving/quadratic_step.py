"""One step of a solve: the small quadratic programme of its linearisation in a box (PIQP), and its multipliers.

Constraints are kept elastic: when no step satisfies all of them, the largest violation is driven down first.
"""

from typing import NamedTuple

import numpy as np
import piqp

from optimizer.solving.linearised import KEPT_MM, Emphasis, Linear, Posed, linearise

PENALTY_MOST = 1e4
"""Beyond this the violation is driven down first anyway, and the rest would drown in it."""

WIDE = 50.0
"""A box around x that no step reaches."""


class Multipliers(NamedTuple):
    """Merit gained for each unit that a limit gives: constraints (m,) per mm, ends of x's ranges (n,) per unit of x."""

    constraint: np.ndarray
    low: np.ndarray
    high: np.ndarray


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
        limits = np.concatenate([limits, linear.note_free - linear.note, linear.note_free + linear.note])
    solver.setup(quadratic, cost, G=rows, h_u=limits, **bounds)
