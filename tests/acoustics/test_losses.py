"""Visco-thermal propagation against the exact Bessel form, tables and limits."""

import mpmath
import numpy as np
import pytest

from acoustics.air import air
from acoustics.losses import boundary_function, propagation

RADII = np.geomspace(0.4e-3, 40e-3, 7)
FREQUENCIES = np.geomspace(20.0, 5000.0, 7)


def exact_boundary_function(shear: float) -> complex:
    """2 J1(x) / (x J0(x)) at x = shear sqrt(-j), 30 digits."""
    with mpmath.workdps(30):
        x = mpmath.mpf(float(shear)) * mpmath.sqrt(mpmath.mpc(0, -1))
        return complex(2 * mpmath.besselj(1, x) / (x * mpmath.besselj(0, x)))


def exact_propagation(f: float, radius: float, theta: float) -> tuple[complex, complex]:
    """Zwikker & Kosten, Sound Absorbing Materials (1949), with Bessel functions of mpmath."""
    state = air(theta)
    c, rho, viscosity, conductivity, heat, gamma = (float(item) for item in state)
    omega, area = 2.0 * np.pi * f, np.pi * radius**2
    viscous = exact_boundary_function(radius * np.sqrt(omega * rho / viscosity))
    thermal = exact_boundary_function(radius * np.sqrt(omega * rho * heat / conductivity))
    series = 1j * omega * rho / (area * (1.0 - viscous))
    shunt = 1j * omega * area / (rho * c**2) * (1.0 + (gamma - 1.0) * thermal)
    return np.sqrt(series * shunt), np.sqrt(series / shunt)


@pytest.mark.parametrize("theta", [20.0, 27.0])
def test_propagation_matches_the_exact_bessel_form_over_its_range(theta):
    gamma, impedance = propagation(FREQUENCIES[:, None], RADII[None, :], air(theta))
    exact = np.array([[exact_propagation(f, a, theta) for a in RADII] for f in FREQUENCIES])
    assert np.max(np.abs(gamma / exact[..., 0] - 1.0)) < 1e-4
    assert np.max(np.abs(impedance / exact[..., 1] - 1.0)) < 1e-4


def test_boundary_function_keeps_its_stated_accuracy_for_every_width():
    # Bessel functions of mpmath at 30 digits; 5e-6 is what the function promises.
    shear = np.geomspace(0.01, 2000.0, 60)
    exact = np.array([exact_boundary_function(value) for value in shear])
    assert np.max(np.abs(boundary_function(shear) / exact - 1.0)) < 5e-6


@pytest.mark.parametrize(
    ("radius_mm", "f", "gamma", "impedance"),
    [
        (0.5, 440, 1.44827446 + 9.270978911j, 1.05296719 - 0.08028744j),
        (2, 100, 0.160237705 + 1.977018539j, 1.02830412 - 0.03547984j),
        (2, 500, 0.342596113 + 9.479532333j, 1.01272078 - 0.01411984j),
        (3.75, 440, 0.168764711 + 8.216697773j, 1.00723760 - 0.00768607j),
        (7.5, 146.83, 0.0486117944 + 2.734535037j, 1.00626500 - 0.00660049j),
        (7.5, 1500, 0.153505460 + 27.60053811j, 1.00196056 - 0.00199320j),
        (20, 440, 0.0311244212 + 8.08238319j, 1.00135749 - 0.00137312j),
    ],
)
def test_tabulated_tubes_at_20_degc(radius_mm, f, gamma, impedance):
    # Table computed with 40 digits from the same constants of air; the impedance is relative to rho c / S.
    state = air(20.0)
    found, z = propagation(float(f), radius_mm * 1e-3, state)
    assert abs(found / gamma - 1.0) < 1e-5
    assert abs(z / (state.rho * state.c / (np.pi * (radius_mm * 1e-3) ** 2)) / impedance - 1.0) < 1e-5


def test_tabulated_attenuation_at_20_degc_is_right_to_a_few_parts_in_ten_thousand():
    # The real part alone, which sets every peak's height. Source: the table above.
    gamma, _ = propagation(np.array([500.0, 1500.0, 440.0]), np.array([2e-3, 7.5e-3, 20e-3]), air(20.0))
    assert gamma.real == pytest.approx(np.array([0.342596113, 0.153505460, 0.0311244212]), rel=1e-4)


@pytest.mark.parametrize(
    ("radius", "f", "gamma"),
    [(2e-3, 500.0, 0.346262922 + 9.375486418j), (7.5e-3, 146.83, 0.0491132792 + 2.703494607j)],
)
def test_tabulated_tubes_at_27_degc(radius, f, gamma):
    # Same computation, at the working temperature.
    assert abs(propagation(f, radius, air(27.0))[0] / gamma - 1.0) < 1e-5


def test_narrow_tube_has_the_resistance_of_poiseuille_flow():
    # Hagen-Poiseuille: Re(Gamma Z_c) = 8 mu / (pi a^4), next term of the order of (shear number)^4 / 100.
    state, radius = air(20.0), 0.1e-3
    f = float(0.5**2 * state.viscosity / (2.0 * np.pi * state.rho * radius**2))
    gamma, impedance = propagation(f, radius, state)
    expected = float(8.0 * state.viscosity / (np.pi * radius**4))
    assert float((gamma * impedance).real) == pytest.approx(expected, rel=2e-3)


def test_wide_tube_has_the_attenuation_of_kirchhoff():
    # Kirchhoff 1868: alpha = sqrt(omega nu / 2) (1 + (gamma - 1) / sqrt(Pr)) / (a c), relative error of order 1/shear.
    state, radius, f = air(20.0), 40e-3, 5000.0
    omega = 2.0 * np.pi * f
    prandtl = state.viscosity * state.heat_capacity / state.conductivity
    wall = 1.0 + (state.gamma - 1.0) / np.sqrt(prandtl)
    expected = np.sqrt(omega * state.viscosity / state.rho / 2.0) * wall / (radius * state.c)
    shear = radius * np.sqrt(omega * state.rho / state.viscosity)
    assert float(propagation(f, radius, state)[0].real) == pytest.approx(float(expected), rel=float(2.0 / shear))


def test_losses_can_be_switched_off():
    # Plane waves in a rigid tube without losses: Gamma = j omega / c, Z_c = rho c / S.
    state = air(20.0)
    gamma, impedance = propagation(np.array([100.0, 1000.0]), 5e-3, state, lossless=True)
    assert gamma == pytest.approx(2j * np.pi * np.array([100.0, 1000.0]) / float(state.c), rel=1e-14)
    assert impedance == pytest.approx(np.full(2, float(state.rho * state.c) / (np.pi * 25e-6)), rel=1e-14)
