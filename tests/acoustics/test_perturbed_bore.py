"""What a change of bore does to a resonance, to first order, against the slopes of the core.

With ke and pe the kinetic and the potential energy per length of a mode, the total of each 1: d omega / omega = 1/2
integral (dS/S) (ke - pe) dx. Source: Rayleigh, *Theory of Sound*, section 265; Fletcher & Rossing, *The Physics of
Musical Instruments* (1998), section 8.10 (section numbers from memory). Near the tip of a cone the energy of added
air is potential, so that the integral comes to -k^2 dV / (Omega L), Omega = pi tan^2 (half angle), L from the tip to
the open end.

The formula leaves out losses. The ducts are as large as a city, SCALE times an instrument, so that theirs are nothing.
"""

import numpy as np
from ducts import make_duct

from acoustics.air import air
from acoustics.reed import Reed
from acoustics.resonances import note_errors, spectrum

CENTS = 1200.0 / np.log(2.0)
SCALE = 1e5
C = float(air(20.0, 0.0, 0.0004).c)
TAPER, TIP = 20.0 / 1200.0, 0.05 * SCALE


def modes(duct, count):
    """Its first resonances (count,) [Hz]."""
    low, high = 40.0 / SCALE, 1500.0 / SCALE
    return spectrum(duct, np.zeros((1, 0)), low, high, step_cents=30.0)[0].frequency[:count]


def slopes(duct, f):
    """Of the notes at its resonances (n,), by every number of the duct [cents per SI unit]."""
    return note_errors(duct, np.zeros((f.size, 0)), f).slope


def by_rayleigh(place, radius, x, difference):
    """Slopes [cents/m] by the radius at each point (K,), for a mode's ke - pe at fine places x [m]."""
    hats = np.stack([np.interp(x, place, unit) for unit in np.eye(place.size)])
    return CENTS * 0.5 * np.trapezoid(2.0 * hats / np.interp(x, place, radius) * difference, x, axis=1)


def cone():
    """Places and radii [m] of a cone without its tip, and its duct, the tip's air in the reed."""
    place = np.linspace(0.0, 1.15 * SCALE, 24)
    radius = TAPER * (TIP + place)
    reed = Reed(np.pi * (TAPER * TIP) ** 2 * TIP / 3.0, np.inf, 0.0, np.inf, 0.0)
    points = list(zip(1e3 * place, 1e3 * radius, strict=True))
    return place, radius, make_duct(points, end_wall=3.0 * SCALE, reed=reed)


def test_a_cylinder_closed_at_the_reed_moves_as_rayleighs_formula_says():
    # p goes by cos kx and flow by sin kx, up to where the open end lies for the wave.
    place, radius = np.linspace(0.0, SCALE, 21), np.full(21, 0.025 * SCALE)
    duct = make_duct(list(zip(1e3 * place, 1e3 * radius, strict=True)), end_wall=3.0 * SCALE)
    f = modes(duct, 3)
    x = np.linspace(0.0, SCALE, 4001)
    for number, found in enumerate(slopes(duct, f).bore.radius):
        k = 2.0 * np.pi * f[number] / C
        whole = (number + 0.5) * np.pi / k
        expected = by_rayleigh(place, radius, x, -2.0 * np.cos(2.0 * k * x) / whole)
        np.testing.assert_allclose(found[:-1], expected[:-1], rtol=0.0, atol=5e-3 * np.abs(expected).max())


def test_a_cone_moves_as_rayleighs_formula_says():
    # From the tip on p goes by sin kx / x, flow by its slope.
    place, radius, duct = cone()
    f = modes(duct, 2)
    x = np.linspace(TIP, TIP + place[-1], 8001)
    for number, found in enumerate(slopes(duct, f).bore.radius):
        k = 2.0 * np.pi * f[number] / C
        whole = (number + 1.0) * np.pi / k
        difference = (np.cos(k * x) - np.sin(k * x) / (k * x)) ** 2 - np.sin(k * x) ** 2
        expected = by_rayleigh(place, radius, x - TIP, 2.0 * difference / whole)
        np.testing.assert_allclose(found[1:-1], expected[1:-1], rtol=0.0, atol=1e-2 * np.abs(expected).max())


def test_air_near_a_cones_tip_lowers_a_mode_by_the_square_of_its_frequency():
    # Pressure there is (sin kx / kx) of that at the tip, with x where the reed's air meets the cone.
    _, _, duct = cone()
    f = modes(duct, 2)
    k = 2.0 * np.pi * f / C
    whole = np.arange(1, 3) * np.pi / k
    expected = -CENTS * k**2 / (np.pi * TAPER**2 * whole) * np.sinc(k * TIP / np.pi) ** 2
    np.testing.assert_allclose(slopes(duct, f).reed.volume, expected, rtol=2e-3)
