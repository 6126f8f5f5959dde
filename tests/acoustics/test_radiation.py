"""Open ends against Levine & Schwinger's integrals, flange limits and finite elements."""

import numpy as np
import pytest
from formulas import levine_schwinger

from acoustics.radiation import (
    FLANGED_LENGTH,
    UNFLANGED_LENGTH,
    end_impedance,
    end_reflection,
    flanged_length,
)

C, RHO = 343.37, 1.2047


@pytest.mark.parametrize(
    ("ka", "magnitude", "length"),
    [
        (0.1, 0.99506670, 0.610987), (0.2, 0.98085857, 0.606380), (0.3, 0.95867656, 0.599609),
        (0.5, 0.89644140, 0.581836), (0.6, None, None), (1.0, 0.69510217, 0.527431), (2.0, 0.34617605, 0.416944),
    ],
)  # fmt: skip
def test_unflanged_end_follows_the_exact_integrals(ka, magnitude, length):
    # Two evaluations of Levine & Schwinger's integrals: the table, computed elsewhere, and SciPy's quadrature here.
    # The fit states |R| within 0.003; 0.007 a of length is 0.2 cent on a pipe 67 radii long.
    exact = levine_schwinger(ka)
    if magnitude is not None:
        assert exact == pytest.approx((magnitude, length), abs=2e-6)
    reflection = complex(end_reflection(ka))
    found_length = -np.angle(-reflection) / (2.0 * ka)
    assert abs(abs(reflection) - exact[0]) < 0.003
    assert abs(found_length - exact[1]) < 0.007


def test_unflanged_length_is_the_published_one():
    # Levine & Schwinger 1948 give 0.6133; their integral evaluates to 0.6127, within 0.001 of it.
    assert UNFLANGED_LENGTH == 0.6133
    assert levine_schwinger(1e-3)[1] == pytest.approx(UNFLANGED_LENGTH, abs=1e-3)
    assert float(flanged_length(7e-3, 7e-3)) == pytest.approx(0.6133, abs=1e-12)


def test_a_wall_without_end_is_the_infinite_flange():
    # Nomura, Yamamura & Inawashiro 1960: 0.8216; bounded by Rayleigh's pi/4 and 8/(3 pi).
    assert float(flanged_length(7e-3, 7e3)) == pytest.approx(0.8216, abs=1e-5)
    assert np.pi / 4.0 < FLANGED_LENGTH < 8.0 / (3.0 * np.pi)


@pytest.mark.parametrize(
    ("wall", "length"),
    [(0.05, 0.6387), (0.1, 0.6542), (0.2, 0.6761), (0.3, 0.6917), (0.5, 0.7135), (1, 0.7441), (2, 0.7714), (4, 0.7919)],
)
def test_end_with_a_wall_matches_finite_elements(wall, length):
    # Axisymmetric finite elements (general-purpose library), wall over radius. 0.004 of a radius of 7.5 mm on a pipe of
    # 300 mm is 0.17 cent, the uncertainty of the finite elements.
    assert float(flanged_length(1.0, 1.0 + wall)) == pytest.approx(length, abs=0.004)


def test_a_thicker_wall_lengthens_the_pipe():
    # Between the two limits the correction can only grow with the flange (Rayleigh's principle: less room to flow).
    lengths = flanged_length(1.0, 1.0 + np.geomspace(0.01, 1000.0, 40))
    assert np.all(np.diff(lengths) > 0.0)


def test_a_small_end_radiates_as_a_monopole():
    # Power of a monopole in free space: Re Z = rho omega^2 / (4 pi c), up to terms (ka)^2.
    f, radius = 30.0, 7.5e-3
    found = float(end_impedance(f, radius, radius, C, RHO).real)
    assert found == pytest.approx(RHO * (2.0 * np.pi * f) ** 2 / (4.0 * np.pi * C), rel=1e-3)


def test_a_small_end_is_a_mass_of_its_length():
    # Im Z = j omega rho l / S as k -> 0.
    f, radius = 30.0, 7.5e-3
    expected = 2.0 * np.pi * f * RHO * 0.6133 * radius / (np.pi * radius**2)
    assert float(end_impedance(f, radius, radius, C, RHO).imag) == pytest.approx(expected, rel=1e-3)


def test_an_end_never_gives_energy():
    ka = np.linspace(1e-3, 2.5, 100)
    assert np.all(np.abs(end_reflection(ka)) < 1.0)
    assert np.all(end_impedance(ka * C / (2.0 * np.pi * 7.5e-3), 7.5e-3, 9e-3, C, RHO).real > 0.0)
