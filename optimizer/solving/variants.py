"""The same problem with limits tightened, or with some of its numbers held."""

from dataclasses import replace

import numpy as np

from optimizer.geometry.layout import Parametrisation
from optimizer.solving.linearised import Posed
from optimizer.solving.problem import Evaluation


class Tightened:
    """A problem whose limits ask for more.

    Parameters
    ----------
    problem : whose limits they are
    constraint_mm : per constraint (m,) how much more room it asks for [mm]
    low, high : per free number (n,) how far each end of its range moves inward, in units of x
    """

    def __init__(self, problem: Posed, constraint_mm: np.ndarray, low: np.ndarray, high: np.ndarray) -> None:
        self._problem, self._more = problem, constraint_mm
        coding = problem.parametrisation
        self.parametrisation: Parametrisation = replace(coding, low=coding.low + low, high=coding.high - high)
        self.weight, self.main = problem.weight, problem.main

    def evaluate(self, x: np.ndarray) -> tuple[Evaluation, Evaluation]:
        """Values at x (n,) and their Jacobians (rows, n)."""
        values, slopes = self._problem.evaluate(x)
        return values._replace(constraint=values.constraint + self._more), slopes


class Held:
    """A problem some of whose free numbers stay; solved in the others.

    Parameters
    ----------
    problem : whose numbers they are
    x : (n,) where the numbers stay
    free : (n,) True for those that move
    """

    def __init__(self, problem: Posed, x: np.ndarray, free: np.ndarray) -> None:
        self._problem, self._x, self._free = problem, x, free
        coding = problem.parametrisation
        names = tuple(name for name, mine in zip(coding.names, free, strict=True) if mine)
        self.parametrisation: Parametrisation = replace(
            coding, low=coding.low[free], high=coding.high[free], names=names
        )
        self.weight, self.main = problem.weight, problem.main

    def whole(self, free: np.ndarray) -> np.ndarray:
        """All numbers (n,) from the free ones."""
        x = self._x.copy()
        x[self._free] = free
        return x

    def evaluate(self, x: np.ndarray) -> tuple[Evaluation, Evaluation]:
        """Values at the free numbers and their Jacobians by them.

        Parameters
        ----------
        x : (k,) the free numbers, in units of `layout.STEP`
        """
        values, slopes = self._problem.evaluate(self.whole(x))
        return values, Evaluation(*(slope[:, self._free] for slope in slopes))
