"""Sizes of a coupon against what was drawn: straight lines by generalised least squares, and what scatters about them.

A size is made = design x coefficients + what its print does to all alike + its own scatter + errors of reading: its
own, and those that all readings of one tool share. Reading errors are known. The scatter's variance is the one
by which the weighted sum of squares equals its degrees of freedom (Paule & Mandel, J. Res. Natl. Bur. Stand. 87, 1982),
its interval reaches to the quantiles of chi squared (Viechtbauer, Stat. Med. 26, 2007); prints differ by what is left
in the same way once they are not told apart. Intervals of coefficients are Student's with the degrees of freedom of
Satterthwaite (Biometrics 2, 1946).
"""

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import scipy

from acoustics.arrays import Floats

CERTAIN = 0.95
"""Chance with which an interval holds what is true."""

LEAST_MM = 1e-4
"""Scatter below which none is told from none."""

FREEDOM_MOST = 1e6
"""Degrees of freedom of what is as good as known."""


class Sizes(NamedTuple):
    """Sizes as they were read.

    Attributes
    ----------
    made : (n,) [mm]
    own : (n,) one standard deviation of what each was read by, its own [mm]
    shared : (n, tools) one standard deviation of each tool's error, which its readings share [mm]
    prints : (n,) number of the print that each belongs to
    moved : (n,) how much of what its print does to all alike each takes: -1 the other way round
    """

    made: Floats
    own: Floats
    shared: Floats
    prints: np.ndarray
    moved: Floats


class Estimate(NamedTuple):
    """A figure, one standard deviation of it, and the interval that holds it with 95 % [of the same unit]."""

    value: float
    sd: float
    low: float
    high: float


class Line(NamedTuple):
    """What was found.

    Attributes
    ----------
    coefficients : one for each column of the design
    covariance : (p, p) of these
    scatter : of a size about the line, reading taken off [mm]
    between : of whole prints [mm]; None where there is one alone
    """

    coefficients: list[Estimate]
    covariance: Floats
    scatter: Estimate
    between: Estimate | None


def fitted(design: Floats, sizes: Sizes) -> Line:
    """The line that sizes lie about. Where each print has one size alone, prints count as scatter.

    Parameters
    ----------
    design : (n, p)
    sizes : of n things

    Raises
    ------
    ValueError
        where no degree of freedom is left to tell the scatter by
    """
    known = sizes.shared @ sizes.shared.T
    together = _together(sizes)
    apart = np.hstack([design, together[:, 1:]])
    freedom = len(design) - int(np.linalg.matrix_rank(apart))
    if freedom < 1 and together.shape[1] > 1:
        return fitted(design, sizes._replace(prints=np.zeros(len(design), int)))
    if freedom < 1:
        raise ValueError("no degree of freedom is left")
    still = np.diag(sizes.own**2 + LEAST_MM**2) + known
    scatter = _variance(_misfit(apart, sizes.made, still, np.eye(len(design))), freedom)
    inside, prints = still + scatter.value**2 * np.eye(len(design)), together.shape[1]
    between = None
    if prints > 1:
        left = _misfit(apart, sizes.made, inside, together @ together.T)(0.0)
        alike = _misfit(design, sizes.made, inside, together @ together.T)
        between = _variance(lambda variance: alike(variance) - left, prints - 1)
    spread = (between.value**2 if between else 0.0) * together @ together.T
    inverse = np.linalg.inv(inside + spread)
    covariance: Floats = np.asarray(np.linalg.inv(design.T @ inverse @ design), float)
    taken = covariance @ design.T @ inverse
    parts = [(inside - known, float(freedom)), (known, FREEDOM_MOST), (spread, float(max(prints - 1, 1)))]
    shares = np.array([np.einsum("in,nm,im->i", taken, part, taken) for part, _ in parts])
    coefficients = [
        _interval(float(value), column, [count for _, count in parts])
        for value, column in zip(taken @ sizes.made, shares.T, strict=True)
    ]
    return Line(coefficients, covariance, scatter, between)


def _together(sizes: Sizes) -> Floats:
    """What each print does to its sizes (n, prints)."""
    return np.array([sizes.moved * (sizes.prints == each) for each in np.unique(sizes.prints)]).T


def _misfit(design: Floats, made: Floats, still: Floats, grows: Floats) -> Callable[[float], float]:
    """Weighted sum of squares about the best line (n, p), by how much of a covariance (n, n) is added to another."""
    spread, axes = scipy.linalg.eigh(grows, still)
    columns, sizes = axes.T @ design, axes.T @ made

    def misfit(variance: float) -> float:
        root = 1.0 / np.sqrt(1.0 + variance * np.maximum(spread, 0.0))
        left, right = columns * root[:, None], sizes * root
        return float(np.sum((right - left @ np.linalg.lstsq(left, right, rcond=None)[0]) ** 2))

    return misfit


def _variance(misfit: Callable[[float], float], freedom: int) -> Estimate:
    """Standard deviation whose square makes the misfit what it should be, with its interval."""
    half = 0.5 * (1.0 - CERTAIN)
    middle, low, high = (
        _root(misfit, target)
        for target in (freedom, scipy.special.chdtri(freedom, half), scipy.special.chdtri(freedom, 1.0 - half))
    )
    return Estimate(middle, 0.5 * (high - low) / float(scipy.special.stdtrit(FREEDOM_MOST, 1.0 - half)), low, high)


def _root(misfit: Callable[[float], float], target: float) -> float:
    if misfit(0.0) <= target:
        return 0.0
    most = 0.02
    while misfit(most) > target:
        most *= 4.0
    return math.sqrt(scipy.optimize.brentq(lambda variance: misfit(variance) - target, 0.0, most, xtol=1e-9, rtol=1e-6))


def _interval(value: float, variances: Floats, freedoms: list[float]) -> Estimate:
    """A figure's deviation and interval from parts of its variance with their degrees of freedom (parts,)."""
    variance = float(np.sum(variances))
    freedom = variance**2 / float(np.sum(variances**2 / np.array(freedoms)))
    wide = float(scipy.special.stdtrit(freedom, 0.5 * (1.0 + CERTAIN))) * math.sqrt(variance)
    return Estimate(value, math.sqrt(variance), value - wide, value + wide)
