"""The most likely numbers of an instrument given its measured notes, and how sure they are.

Maximum a posteriori by Gauss-Newton on the exact model. A note further off than its deviation counts less and less, as
by Student's t of 4 degrees of freedom (Lange, Little & Taylor, J. Am. Stat. Assoc. 84 (1989) 881, from memory), and
never more than by least squares, so that one leaking pad does not move everything.
"""

from typing import NamedTuple, Protocol

import numpy as np

from acoustics.arrays import Floats

FREEDOM = 4.0
ROUNDS, HALVINGS, SETTLED = 40, 6, 1e-4


class Model(Protocol):
    """Notes (N,) that follow from numbers (P,), each counted in its standard deviation before anything was measured."""

    @property
    def names(self) -> list[str]:
        """Of the numbers (P,)."""

    def cents(self, theta: Floats) -> Floats:
        """The notes (N,) [cents]."""

    def slopes(self, theta: Floats, cents: Floats) -> Floats:
        """Slopes (N, P) of the notes [cents], which are (N,) there."""


class Reading(NamedTuple):
    """Something that was measured by itself: its name, its slopes (P,), how far it lies from the layout, one standard
    deviation; all in the unit that it was measured in."""

    name: str
    row: Floats
    value: float
    sd: float


class Observed(NamedTuple):
    """What was measured: notes by their places among the model's (n,), their cents (n,), deviations (n,), and readings
    of what else was measured."""

    notes: np.ndarray
    cents: Floats
    sd: Floats
    readings: tuple[Reading, ...] = ()


class Found(NamedTuple):
    """Where the fit ended.

    Attributes
    ----------
    theta : (P,) in standard deviations before anything was measured
    cents : (N,) of every note of the model there
    slopes : (N, P) there
    rows : (m, P) slopes of what was measured, notes first, then readings
    residual : (m,) measured less fitted
    sd : (m,) as stated
    weight : (m,) of each, from 1 downward
    gain : (P, m) how each number follows what was measured
    covariance : (P, P) of theta
    """

    theta: Floats
    cents: Floats
    slopes: Floats
    rows: Floats
    residual: Floats
    sd: Floats
    weight: Floats
    gain: Floats
    covariance: Floats


def fitted(model: Model, observed: Observed) -> Found:
    """The most likely numbers.

    Parameters
    ----------
    model : what may differ
    observed : what was measured

    Raises
    ------
    ValueError
        when a step leaves a hole without size
    """
    theta = np.zeros(len(model.names))
    cents = model.cents(theta)
    for _ in range(ROUNDS):
        at = _at(model, observed, theta, cents)
        wanted = at.gain @ (at.residual + at.rows @ theta)
        step, least = wanted - theta, cost(at)
        for _ in range(HALVINGS):
            nearer = model.cents(theta + step)
            if cost(_seen(model, observed, theta + step, nearer, at.slopes)) <= least:
                break
            step = 0.5 * step
        theta, cents = theta + step, nearer
        if np.max(np.abs(step)) < SETTLED:
            break
    return _at(model, observed, theta, cents)


def cost(at: Found) -> float:
    """What the fit makes least: squares of theta, readings and of notes up to their deviation, beyond it Student's."""
    square = (at.residual / at.sd) ** 2
    far = 1.0 + (FREEDOM + 1.0) * np.log((FREEDOM + np.maximum(square, 1.0)) / (FREEDOM + 1.0))
    return float(np.sum(np.where(at.weight < 1.0, far, square)) + np.sum(at.theta**2))


def _at(model: Model, observed: Observed, theta: Floats, cents: Floats) -> Found:
    at = _seen(model, observed, theta, cents, model.slopes(theta, cents))
    covariance, gain = posterior(at.rows, at.sd / np.sqrt(at.weight))
    return at._replace(gain=gain, covariance=covariance)


def _seen(model: Model, observed: Observed, theta: Floats, cents: Floats, slopes: Floats) -> Found:
    read = np.array([reading.row for reading in observed.readings]).reshape(-1, len(theta))
    off = [reading.value - reading.row @ theta for reading in observed.readings]
    residual = np.concatenate([observed.cents - cents[observed.notes], off])
    sd = np.concatenate([observed.sd, [reading.sd for reading in observed.readings]])
    weight = np.minimum(1.0, (FREEDOM + 1.0) / (FREEDOM + (residual / sd) ** 2))
    weight[len(observed.notes) :] = 1.0
    rows = np.concatenate([slopes[observed.notes], read])
    nothing = np.zeros((0, 0))
    return Found(theta, cents, slopes, rows, residual, sd, weight, nothing, nothing)


def posterior(rows: Floats, sd: Floats) -> tuple[Floats, Floats]:
    """Covariance (P, P) and gain (P, m) of numbers that deviated by 1 before rows (m, P) of them were measured to
    within sd (m,)."""
    among = rows @ rows.T + np.diag(sd**2)
    gain = np.asarray(np.linalg.solve(among, rows).T, float)
    covariance = np.eye(rows.shape[1]) - gain @ rows
    return 0.5 * (covariance + covariance.T), gain


def covariance_of(gain: Floats, rows: Floats, sd: Floats) -> Floats:
    """Covariance (P, P) of the error of numbers that follow what was measured by any gain (P, m), the best or not.

    Parameters
    ----------
    gain : (P, m)
    rows : (m, P) slopes of what was measured
    sd : (m,) its deviations

    Source: Bucy & Joseph, *Filtering for Stochastic Processes* (1968), from memory.
    """
    left = np.eye(rows.shape[1]) - gain @ rows
    return np.asarray(left @ left.T + (gain * sd**2) @ gain.T)
