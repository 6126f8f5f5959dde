"""Cutoff of the open-hole lattice against its exact dispersion and worked values."""

import numpy as np
import pytest
import scipy

from acoustics.lattice import bends, local_cutoff

C = 343.37


@pytest.mark.parametrize(
    ("a", "b", "t", "spacing", "cutoff"),
    [(7.5, 3.75, 7, 20, 1719.6), (7.5, 4, 4, 60, 1189.9), (4.5, 2, 5, 18, 2024.0), (15, 10, 4, 28, 1579.6),
     (7, 2.5, 25, 40, 575.5)],
)  # fmt: skip
def test_cutoff_has_the_worked_values(a, b, t, spacing, cutoff):
    # Benade, Fundamentals of Musical Acoustics (1976), t_e = t + 1.5 b, coefficient 0.1125; computed elsewhere.
    found = local_cutoff(spacing * 1e-3, a * 1e-3, b * 1e-3, (t + 1.5 * b) * 1e-3, C)
    assert float(found) == pytest.approx(cutoff, abs=0.2)


@pytest.mark.parametrize(("a", "b", "t_e", "spacing"), [(7.5, 2.0, 8.0, 10.0), (4.5, 1.0, 6.0, 8.0)])
def test_cutoff_is_the_limit_of_the_exact_lattice(a, b, t_e, spacing):
    # Lossless lattice of half spacing s: the stop band ends where tan(ks) = delta^2 / (2 k t_e) (Kergomard 1981, from
    # memory); tan x = x (1 + x^2 / 3) puts the limit below x^2 / 6 too high.
    half, delta = 0.5e-3 * spacing, b / a

    def condition(k):
        return np.tan(k * half) - delta**2 / (2.0 * k * t_e * 1e-3)

    exact = scipy.optimize.brentq(condition, 1e-3, 0.99 * np.pi / 2.0 / half)
    found = float(local_cutoff(spacing * 1e-3, a * 1e-3, b * 1e-3, t_e * 1e-3, C)) * 2.0 * np.pi / C
    assert exact < found < exact * (1.0 + (found * half) ** 2 / 6.0)


def test_an_even_sequence_does_not_bend():
    # Second differences of a geometric sequence's logarithm vanish; one point out of line bends (1, -2, 1).
    even = 3.0 * 1.2 ** np.arange(6)
    assert np.max(np.abs(bends(even))) < 1e-12
    even[3] *= 1.1
    assert bends(even) == pytest.approx(np.log(1.1) * np.array([0, 1, -2, 1]), abs=1e-12)
