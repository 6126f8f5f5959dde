"""Reed and cavity against added lengths, a damped oscillator and worked values."""

import numpy as np
import pytest
import scipy
from ducts import MM, cents, make_duct

from acoustics.air import air
from acoustics.duals import variables
from acoustics.reed import Reed, reed_admittance
from acoustics.scan import input_admittance

AIR = air(20.0)
C, RHO = float(AIR.c), float(AIR.rho)


def rigid(volume: float) -> Reed:
    return Reed(volume, np.inf, 0.0, np.inf, 0.0)


def first_resonance(duct, low: float, high: float, lossless: bool = False) -> float:
    return scipy.optimize.brentq(
        lambda f: complex(input_admittance(duct, (), f, lossless=lossless)).imag, low, high, xtol=1e-10
    )


def test_cavity_is_the_compliance_of_its_volume():
    # Y = j omega V / (rho c^2): adiabatic compression.
    found = complex(reed_admittance(300.0, rigid(1e-6), AIR))
    assert found == pytest.approx(2j * np.pi * 300.0 * 1e-6 / (RHO * C**2), rel=1e-12)


def test_volume_lengthens_a_cylinder_by_its_volume_over_the_section():
    # Low frequency: closed tubes of the same volume are alike, V = S DL, up to (k DL)^2 / 3 of DL: 1e-6 of the pipe.
    volume = 0.2e-6
    added = volume / (np.pi * 7.5e-3**2)
    with_volume = first_resonance(make_duct([(0, 7.5), (500, 7.5)], reed=rigid(volume)), 160.0, 175.0, lossless=True)
    longer = first_resonance(make_duct([(0, 7.5), (500 + added / MM, 7.5)]), 160.0, 175.0, lossless=True)
    assert abs(cents(with_volume, longer)) < 0.005


@pytest.mark.parametrize(
    ("volume_cm3", "first"),
    [(0.0, 167.346), (0.5, 166.416), (1.0, 165.496), (1.1, 165.313), (1.9, 163.866), (2.5, 162.798)],
)
def test_volume_on_a_pipe_gives_the_worked_shift(tier, volume_cm3, first):
    # a = 7.5 mm, L = 500 mm, unflanged, lossy, 20 degC; maxima of |Z|, computed elsewhere to 0.0005 Hz (0.005 cent),
    # the end length 0.6127 for 0.6133 (0.016 cent) there.
    duct = make_duct([(0, 7.5), (500, 7.5)], reed=rigid(volume_cm3 * 1e-6))
    peak = scipy.optimize.minimize_scalar(
        lambda f: -1.0 / abs(complex(input_admittance(duct, (), f))),
        bounds=(first - 0.3, first + 0.3), method="bounded", options={"xatol": 1e-6},
    )  # fmt: skip
    assert abs(cents(peak.x, first)) < 0.03


@pytest.mark.parametrize("state", [100.0, 440.0])
def test_a_light_reed_adds_its_volume_to_the_cavity(state):
    # Without inertia and damping, compliance is a volume like any other.
    split = complex(reed_admittance(state, Reed(0.6e-6, np.inf, 0.4e-6, np.inf, 0.0), AIR))
    assert split == pytest.approx(complex(reed_admittance(state, rigid(1e-6), AIR)), rel=1e-12)


def test_a_reed_at_its_resonance_only_dissipates():
    # Damped oscillator K = k (1 - r^2 + j r d): at r = 1 the admittance is real, omega V / (rho c^2 d).
    found = complex(reed_admittance(2500.0, Reed(0.0, np.inf, 1e-7, 2500.0, 0.25), AIR))
    assert found.real == pytest.approx(2.0 * np.pi * 2500.0 * 1e-7 / (RHO * C**2) / 0.25, rel=1e-12)
    assert abs(found.imag) < 1e-9 * found.real


def test_a_reed_is_a_spring_below_its_resonance_and_a_mass_above():
    # Y = j omega / (stiffness - mass omega^2) for small damping.
    reed = Reed(0.0, np.inf, 1e-7, 2500.0, 1e-4)
    for f in (500.0, 2000.0, 3000.0, 8000.0):
        expected = 2.0 * np.pi * f * 1e-7 / (RHO * C**2) / (1.0 - (f / 2500.0) ** 2)
        assert complex(reed_admittance(f, reed, AIR)).imag == pytest.approx(expected, rel=1e-4)


def test_the_half_power_width_of_the_reed_is_its_damping():
    # Re Y of a damped oscillator falls to half where f/f0 - f0/f = +-d; exact.
    reed = Reed(0.0, np.inf, 1e-7, 2500.0, 0.25)
    peak = complex(reed_admittance(2500.0, reed, AIR)).real
    for sign in (-1.0, 1.0):
        ratio = 0.5 * (sign * 0.25 + np.sqrt(0.25**2 + 4.0))
        assert complex(reed_admittance(2500.0 * ratio, reed, AIR)).real == pytest.approx(0.5 * peak, rel=1e-10)


def test_a_reed_never_gives_energy():
    f = np.geomspace(20.0, 10e3, 200)
    assert np.all(reed_admittance(f, Reed(1e-6, np.inf, 1e-7, 2500.0, 0.25), AIR).real > 0.0)


def test_a_reed_without_inertia_can_be_differentiated():
    # An infinite resonance frequency must not bring NaN.
    def susceptance(volume, resonance, f):
        return reed_admittance(f, Reed(volume, np.inf, 1e-7, resonance, 0.0), AIR).imag

    slopes = susceptance(*variables([1e-6, np.inf, 400.0])).slope
    assert all(np.isfinite(slope) for slope in slopes)
    assert float(slopes[0]) == pytest.approx(2.0 * np.pi * 400.0 / (RHO * C**2), rel=1e-12)
