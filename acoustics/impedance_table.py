"""Impedances between the points of a table, for searches that ask for very many; what is found is settled on the true
ones."""

import numpy as np

from acoustics.arrays import Complexes, Floats
from acoustics.balance import Impedance

STEP = 0.003
"""Of the logarithm of frequency: a tenth of the width of a resonance of quality 30."""


class ImpedanceTable:
    """Impedances of some cases, by cubic curves through four points.

    Parameters
    ----------
    impedance : the true ones
    cases : whose numbers it is asked by, of those that differ
    low, high : between which frequencies it may be asked [Hz]; beyond, as at the end
    """

    def __init__(self, impedance: Impedance, cases: np.ndarray, low: Floats, high: float) -> None:
        self.low, count = np.log(low) - STEP, int(np.ceil(np.log(high / np.min(low)) / STEP)) + 5
        f = np.exp(self.low[:, None] + STEP * np.arange(count))
        self.points = np.concatenate([impedance(cases[at : at + 1], f[at : at + 1]) for at in range(cases.size)])

    def __call__(self, rows: np.ndarray, f: Floats) -> Complexes:
        """Impedances (R, n) of cases, by their rows in the table, at f (R, n) [Hz]."""
        place = np.clip((np.log(f) - self.low[rows, None]) / STEP, 1.0, self.points.shape[1] - 2.001)
        at = place.astype(int)
        x, table, row = place - at, self.points, rows[:, None]
        found: Complexes = table[row, at - 1] * (-x * (x - 1.0) * (x - 2.0) / 6.0)
        found += table[row, at] * ((x + 1.0) * (x - 1.0) * (x - 2.0) / 2.0)
        found += table[row, at + 1] * (-(x + 1.0) * x * (x - 2.0) / 2.0)
        found += table[row, at + 2] * ((x + 1.0) * x * (x - 1.0) / 6.0)
        return found
