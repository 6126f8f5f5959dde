"""The lowest instruments at their sizes: lossy ducts of three metres and more, against published formulas.

A closed cylinder: Zwikker & Kosten, *Sound Absorbing Materials* (1949), for what the wall does, with SciPy's Bessel
functions, and Levine & Schwinger, Phys. Rev. 73 (1948) 383, for an open end without a flange at low frequency: 0.6133
of the radius longer. A cone: the same series impedance and shunt admittance at each place, as the line's two equations
(Chaigne & Kergomard, *Acoustics of Musical Instruments*, 2016), integrated by SciPy.
"""

import numpy as np
import pytest
from ducts import cents
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from scipy.special import jv

from acoustics.air import air
from acoustics.plain_duct import PlainDuct

SPEED = 347.0
THIN_MM = 1e-3
"""So thin is the wall at the open end, as for Levine & Schwinger."""


def line(f, radius):
    """Series impedance and shunt admittance a metre [Pa s/m4, m2/(Pa s)] of a tube."""
    c, rho, viscosity, conductivity, heat, gamma = (float(part) for part in air(273.15 * ((SPEED / 331.45) ** 2 - 1.0)))
    omega, area = 2.0 * np.pi * f, np.pi * radius**2

    def share(diffusivity):
        x = radius * np.sqrt(omega / diffusivity) * np.sqrt(-1j)
        return 2.0 * jv(1, x) / (x * jv(0, x))

    series = 1j * omega * rho / area / (1.0 - share(viscosity / rho))
    return series, 1j * omega * area / (rho * c**2) * (1.0 + (gamma - 1.0) * share(conductivity / (rho * heat)))


def at_the_end(f, radius):
    """Impedance of the open end [Pa s/m3]: Levine & Schwinger to second order of k a."""
    c, rho = (float(part) for part in air(273.15 * ((SPEED / 331.45) ** 2 - 1.0))[:2])
    ka = 2.0 * np.pi * f * radius / c
    return rho * c / (np.pi * radius**2) * (0.25 * ka**2 + 0.6133j * ka)


def cylinder_susceptance(f, radius, length):
    series, shunt = line(f, radius)
    own = np.sqrt(series / shunt)
    return (1.0 / (own * np.tanh(np.sqrt(series * shunt) * length + np.arctanh(at_the_end(f, radius) / own)))).imag


def cone_susceptance(f, narrow, wide, length):
    def back(s, state):
        series, shunt = line(f, wide + (narrow - wide) * s / length)
        return [series * state[1], shunt * state[0]]

    end = at_the_end(f, wide)
    found = solve_ivp(back, (0.0, length), [1.0 + 0j, 1.0 / end], rtol=1e-8, atol=1e-14, method="DOP853")
    return (found.y[1, -1] / found.y[0, -1]).imag


def resonances_of(duct_points):
    outer = [[place, radius + THIN_MM] for place, radius in duct_points]
    return PlainDuct(duct_points, outer, sound_speed=SPEED).resonances(20.0, 400.0).frequency


@pytest.mark.parametrize(("length_mm", "lowest_hz"), [(2900.0, 29.0), (3380.0, 25.0)])
def test_a_closed_cylinder_30_mm_wide_resonates_down_to_25_hz_as_published(length_mm, lowest_hz):
    found = resonances_of([[0.0, 15.0], [length_mm, 15.0]])[:5]
    wide = 2.0 ** (30.0 / 1200.0)
    expected = [brentq(cylinder_susceptance, f / wide, f * wide, args=(0.015, 1e-3 * length_mm)) for f in found]
    assert found[0] == pytest.approx(lowest_hz, rel=0.02)
    assert np.max(np.abs(cents(found, expected))) < 0.1


def test_a_closed_cone_resonates_down_to_43_hz_as_published():
    # 3.7 m from 6 to 60 mm, its missing tip closed off.
    found = resonances_of([[0.0, 3.0], [3700.0, 30.0]])[:4]
    wide = 2.0 ** (30.0 / 1200.0)
    expected = [brentq(cone_susceptance, f / wide, f * wide, args=(3e-3, 30e-3, 3.7), rtol=1e-7) for f in found]
    assert found[0] == pytest.approx(43.0, rel=0.1)
    assert np.max(np.abs(cents(found, expected))) < 0.5
