"""What one solve makes small and what it keeps to, linearised where it stands.

Minimises 1/2 |r(x)|^2 + 1/2 w max|e(x)|^2 subject to g(x) <= 0 and bounds. Residuals are scaled so that 5 cents, a
strain of 0.3 and a step or bend of 0.1 weigh the same. Constraints are elastic: the largest violation is penalised
exactly. Tuning may have a flat bottom: of the notes' root mean square and of max|e| only what lies beyond it counts.
Source: Nocedal & Wright, *Numerical Optimization* (2006), chapters 10 and 18.
"""

from typing import NamedTuple, Protocol

import numpy as np

from acoustics.arrays import Array
from optimizer.geometry.layout import Parametrisation
from optimizer.geometry.surface import NEVER_MM
from optimizer.project.objectives import same_cents
from optimizer.solving.problem import Evaluation

TUNING_SCALE_CENTS = 5.0
STRETCH_SCALE = 0.3
UNEVEN_SCALE = 0.1

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
    """How much each objective counts in one solve, as multipliers of its scaled mean square; below same_tuning_cents
    tuning counts nothing, nor does the worst note below `objectives.same_cents`."""

    tuning: float = 1.0
    worst_note: float = 0.0
    stretch: float = 0.0
    unevenness: float = 0.0
    same_tuning_cents: float = 0.0


class Linear(NamedTuple):
    """Residuals r (R,), notes e (N,) under the worst-note term, constraints g (m,), and their slopes; note_free: so far
    off a note counts nothing."""

    residual: Array
    residual_slope: Array
    note: Array
    note_slope: Array
    constraint: Array
    constraint_slope: Array
    note_free: float = 0.0


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
        strain=np.full(values.strain.size, np.sqrt(emphasis.stretch / max(values.strain.size, 1)) / STRETCH_SCALE),
        uneven=np.full(values.uneven.size, np.sqrt(emphasis.unevenness / max(values.uneven.size, 1)) / UNEVEN_SCALE),
        constraint=np.ones(values.constraint.size),
    )
    scaled = [factor * value for factor, value in zip(factors, values, strict=True)]
    scaled_slopes = [factor[:, None] * slope for factor, slope in zip(factors, slopes, strict=True)]
    free = {name: cents / TUNING_SCALE_CENTS for name, cents in same_cents(emphasis.same_tuning_cents).items()}
    scaled[0], scaled_slopes[0] = _beyond(scaled[0], scaled_slopes[0], np.sqrt(emphasis.tuning) * free["tuning"])
    judged = problem.main & (problem.weight > 0)
    return Linear(
        np.concatenate(scaled[:3]),
        np.concatenate(scaled_slopes[:3]),
        values.errors[judged] / TUNING_SCALE_CENTS,
        slopes.errors[judged] / TUNING_SCALE_CENTS,
        np.where(np.any(slopes.constraint, axis=1), values.constraint + ROUNDING_MM, NEVER_MM),
        slopes.constraint,
        free["worst_note"],
    )


def _beyond(residual: Array, slope: Array, width: float) -> tuple[Array, Array]:
    """Residuals (N,) and slopes (N, n) of what lies beyond a width w of their length R: r becomes (1 - w/R) r.

    Half their square is then max(R - w, 0)^2 / 2 with its gradient, and their slopes squared are its curvature but for
    that of each residual: 1 - w/R of J'J, and all of it along r, where R itself grows.
    """
    if width == 0.0:
        return residual, slope
    length = float(np.linalg.norm(residual))
    if length <= width:
        return np.zeros_like(residual), np.zeros_like(slope)
    share, outward = 1.0 - width / length, residual / length
    across = np.sqrt(share)
    return share * residual, across * slope + (1.0 - across) * np.outer(outward, outward @ slope)


def merit_of(linear: Linear, worst_weight: float, penalty: float) -> float:
    """Exact-penalty merit of a linearisation's centre; source: module docstring.

    Parameters
    ----------
    linear : residuals (R,), notes (N,) and constraints (m,) there
    worst_weight : how much the worst note counts
    penalty : of the largest violation [1/mm]
    """
    worst = max(float(np.max(np.abs(linear.note), initial=0.0)) - linear.note_free, 0.0)
    violation = float(np.max(linear.constraint, initial=0.0))
    return 0.5 * float(linear.residual @ linear.residual) + 0.5 * worst_weight * worst**2 + penalty * violation
