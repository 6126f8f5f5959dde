"""Whether what is left of a fit is what measuring alone would leave, and what single causes have to do with it."""

from typing import NamedTuple

import numpy as np
import scipy

from acoustics.arrays import Floats
from optimizer.prototype.map_fit import Found, Observed, covariance_of
from optimizer.prototype.played_model import TIERS, Played

FAIR = 0.1
"""Residuals are fair where larger ones would come by chance more often than this."""

SUSPECT = 3.0
"""A cause is named from so many standard deviations."""

LEAK_SHARE = 0.02
"""Share of a closed hole's area that a leak opens, to find its pattern over the notes."""


class Judged(NamedTuple):
    """What is left at a tier: numbers fitted (P,) True, theta (P,), cents (N,), covariance (P, P) of theta's error,
    squares, how many are expected, chance of more."""

    numbers: np.ndarray
    theta: Floats
    cents: Floats
    covariance: Floats
    chi_squared: float
    expected: float
    chance: float

    @property
    def fair(self) -> bool:
        """Whether measuring alone would leave as much."""
        return self.chance > FAIR


def tiers_until_fair(model: Played, observed: Observed, found: Found) -> list[Judged]:
    """Tier after tier until what is left is fair, or all are fitted; numbers of later tiers stay where they were, but
    for those that were gauged.

    Parameters
    ----------
    model : what may differ
    observed : what was measured
    found : the fit of all numbers
    """
    judged: list[Judged] = []
    gauged = np.isin(model.names, [reading.name for reading in observed.readings])
    for tier in range(1, len(TIERS) + 1):
        judged.append(_judged(model, observed, found, (model.tier <= tier) | gauged))
        if judged[-1].fair:
            break
    return judged


def _judged(model: Played, observed: Observed, found: Found, numbers: np.ndarray) -> Judged:
    theta = np.where(numbers, found.theta, 0.0)
    cents = found.cents if np.all(numbers) else model.cents(theta)
    sd = found.sd / np.sqrt(found.weight)
    gain = np.where(numbers[:, None], found.gain, 0.0)
    covariance = found.covariance if np.all(numbers) else covariance_of(gain, found.rows, sd)
    count = len(observed.notes)
    residual = np.concatenate([observed.cents - cents[observed.notes], found.residual[count:]])
    read = np.array([reading.value for reading in observed.readings])
    residual[count:] = read - found.rows[count:] @ theta
    left = np.eye(len(sd)) - found.rows @ gain
    rows = found.rows * numbers
    spread = left @ (rows @ rows.T + np.diag(sd**2)) @ left.T / np.outer(sd, sd)
    square = float(np.sum((residual / sd) ** 2))
    return Judged(numbers, theta, cents, covariance, square, *_chance(square, spread))


def _chance(square: float, spread: Floats) -> tuple[float, float]:
    """How large a sum of squares of normal numbers with a covariance (m, m) is on average, and the chance of more than
    a given one: by the scaled chi squared of the same two moments (Satterthwaite, Biometrics Bulletin 2 (1946) 110)."""
    mean, variance = float(np.trace(spread)), 2.0 * float(np.sum(spread**2))
    return mean, float(scipy.special.chdtrc(2.0 * mean**2 / variance, square * 2.0 * mean / variance))


def before(found: Found, observed: Observed, designed: Floats) -> tuple[float, float]:
    """Squares of what the measured notes lie off the layout, in what was stated, and the chance of more.

    Parameters
    ----------
    found : the fit
    observed : what was measured
    designed : (N,) the layout's own cents
    """
    rows = found.rows[: len(observed.notes)]
    off = observed.cents - designed[observed.notes]
    square = float(off @ np.linalg.solve(rows @ rows.T + np.diag(observed.sd**2), off))
    return square, float(scipy.special.chdtrc(len(off), square))


def alone(found: Found, count: int) -> tuple[Floats, Floats]:
    """What each measured note lies off what all others predict of it (n,) and the deviation of that (n,) [cents].

    Parameters
    ----------
    found : the fit
    count : how many of its rows are notes
    """
    sd = found.sd / np.sqrt(found.weight)
    free = 1.0 - np.einsum("mp,pm->m", found.rows, found.gain)
    return (found.residual / free)[:count], (sd / np.sqrt(free))[:count]


class Cause(NamedTuple):
    """Something that may be behind notes that nothing stated explains: its kind, what it is of, how many standard
    deviations it stands out, how large it would be in units of its pattern."""

    kind: str
    of: str
    score: float
    size: float


def causes(found: Found, observed: Observed, patterns: dict[tuple[str, str], Floats]) -> list[Cause]:
    """Causes from the likeliest down, each as if it alone came on top of what was stated.

    Parameters
    ----------
    found : the fit
    observed : what was measured
    patterns : (N,) what each of some causes brings to the notes [cents], by kind and what it is of

    The score is that of Rao (1948) for one more number (from memory): what the pattern gains in the squares of
    everything measured is its square.
    """
    count = len(observed.notes)
    rows = found.rows[:count]
    off = found.residual[:count] + rows @ found.theta
    whitened = np.linalg.inv(np.linalg.cholesky(rows @ rows.T + np.diag(observed.sd**2)))
    off = whitened @ off
    told = []
    for (kind, of), pattern in patterns.items():
        seen = whitened @ pattern[observed.notes]
        length = float(np.linalg.norm(seen))
        if length > 0.0:
            told.append(Cause(kind, of, float(seen @ off) / length, float(seen @ off) / length**2))
    return sorted(told, key=lambda cause: -abs(cause.score))
