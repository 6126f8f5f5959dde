"""Tone holes against exact integrals, finite elements and a worked example."""

import numpy as np
import pytest
import scipy
from ducts import MM, make_holes
from formulas import body_with_outer_length, no_friction
from hypothesis import given
from hypothesis import strategies as st

from acoustics import toneholes
from acoustics.air import air
from acoustics.hole_rises import mouth_share
from acoustics.openings import opening_lengths, saddle_length
from acoustics.toneholes import (
    hole_ports,
    inner_length,
    lid_admittance,
    matching_length,
    series_impedance,
    series_length,
    top_admittance,
)

AIR = air(20.0)
C, RHO = float(AIR.c), float(AIR.rho)


def shunt(*arguments, **options):
    """Shunt admittance (H,) of holes, arguments of `hole_ports`."""
    return hole_ports(*arguments, **options).admittance


@pytest.mark.parametrize("delta", [0.1, 0.2, 0.4, 0.6, 0.8, 1.0])
def test_matching_length_is_the_exact_volume(delta):
    # Mean over the hole's disk of the gap to the bore's wall, a - sqrt(a^2 - x^2), a = 1, by quadrature. One percent of
    # b delta / 8 is at most 0.0013 b, less than a thousandth of any hole's length.
    gap = scipy.integrate.quad(lambda x: 2.0 * np.sqrt(delta**2 - x**2) * (1.0 - np.sqrt(1.0 - x**2)), -delta, delta)[0]
    exact = gap / (np.pi * delta**2)
    assert float(matching_length(delta, delta)) == pytest.approx(exact, abs=0.01 * delta**2 / 8.0)


DELTA = np.arange(0.1, 1.05, 0.1)
INNER = (0.7947, 0.7476, 0.6915, 0.6286, 0.5602, 0.4872, 0.4103, 0.3303, 0.2474, 0.1609)


def test_inner_length_matches_finite_elements():
    # Static t_i / b, 3-D finite elements (Laplace), deep chimney.
    assert inner_length(1.0, DELTA, 0.0) == pytest.approx(np.array(INNER), abs=0.001)


def test_inner_length_matches_the_published_formula():
    # Nederveen, Jansen & van Hassel, Acta Acustica 84 (1998) 957 (from memory), analytic, good to delta = 0.8.
    delta = DELTA[:8]
    published = 0.82 + delta * (-0.193 + delta * (-1.09 + delta * (1.27 - 0.71 * delta)))
    assert inner_length(1.0, delta, 0.0) == pytest.approx(published, abs=0.01)


@pytest.mark.parametrize(
    ("delta", "lengths"),
    [(0.3, (0.6914, 0.6962, 0.7109)), (0.5, (0.5601, 0.5707, 0.6042)), (0.7, (0.4104, 0.4292, 0.4917))],
)
def test_inner_length_grows_with_frequency_as_in_finite_elements(delta, lengths):
    # t_i / b at ka = 0.02, 0.2, 0.4, 3-D finite elements (Helmholtz), t = 2b, a top without pressure, the hole told by
    # its lengths alone: its share of the bore's wave makes all of them longer. 0.004 b of a hole of 3 b total length is
    # 0.1 % of it.
    ka = np.array([0.02, 0.2, 0.4])
    chimney = np.tan(ka * delta * (2.0 + matching_length(1.0, delta))) / (ka * delta)
    found = (inner_length(1.0, delta, ka) + chimney) / mouth_share(ka * delta, 1.0) ** 2 - chimney
    assert found == pytest.approx(np.array(lengths), abs=0.004)


# C = -t_a / (b delta^2), 3-D finite elements (Laplace): delta, t/b, rigid top, pressure-release top.
SERIES = [
    (0.2, 0.1, 0.101, 0.566), (0.6, 0.1, 0.131, 0.497), (1.0, 0.1, 0.161, 0.432),
    (0.2, 0.5, 0.250, 0.352), (0.6, 0.5, 0.254, 0.335), (1.0, 0.5, 0.257, 0.317),
    (0.2, 1.5, 0.298, 0.301), (0.6, 1.5, 0.292, 0.294), (1.0, 1.5, 0.286, 0.288),
]  # fmt: skip


@pytest.mark.parametrize(("delta", "height", "closed", "released"), SERIES)
def test_series_length_matches_finite_elements(delta, height, closed, released):
    # One percent and the table's rounding; an open hole is defined as the mean of both tops.
    assert -float(series_length(1.0, delta, height, 0.0)) / delta**2 == pytest.approx(closed, rel=0.01, abs=0.0005)
    mean = 0.5 * (closed + released)
    assert -float(series_length(1.0, delta, height, 1.0)) / delta**2 == pytest.approx(mean, rel=0.01, abs=0.0005)


@pytest.mark.parametrize("wall", [0.25, 0.5, 1.0])
@pytest.mark.parametrize("delta", [0.3, 0.5, 0.7, 0.9])
def test_series_length_of_a_radiating_hole_lies_where_finite_elements_put_it(delta, wall):
    # 3-D finite elements with the outside meshed: C = 0.29 to 0.32 for all twelve flush holes; 0.005 for rounding.
    constant = -float(series_length(delta, delta, wall, 1.0)) / delta**3
    assert 0.285 < constant < 0.325


@pytest.mark.parametrize("openness", [0.0, 1.0])
def test_series_impedance_is_a_negative_mass_in_the_bore(openness):
    # Z_a = j omega rho t_a / (pi a^2): a wider place shortens the air column.
    holes = make_holes([100], [4], [5], [12])
    length = float(series_length(4e-3, 4.0 / 7.5, 5e-3, openness))
    found = complex(series_impedance(300.0, holes, np.array([7.5e-3]), np.array([openness]), AIR)[0])
    assert length < 0.0
    assert found == pytest.approx(2j * np.pi * 300.0 * RHO * length / (np.pi * 7.5e-3**2), rel=1e-12)


def test_a_closed_hole_is_the_volume_of_its_chimney():
    # Y = j omega V / (rho c^2) at low frequency, V between the lid and the bore's wall.
    holes = make_holes([100], [4], [5], [12])
    gap = scipy.integrate.quad(lambda x: 2.0 * np.sqrt(16.0 - x**2) * (7.5 - np.sqrt(7.5**2 - x**2)), -4.0, 4.0)[0]
    volume = (np.pi * 16.0 * 5.0 + gap) * 1e-9
    found = complex(shunt(20.0, holes, np.array([7.5e-3]), np.array([0.0]), AIR, lossless=True)[0])
    assert found == pytest.approx(2j * np.pi * 20.0 * volume / (RHO * C**2), rel=1e-3)


@pytest.mark.parametrize("recess", [-0.5, 0.3])
def test_a_pads_recess_adds_its_volume(recess):
    # Y = j omega V / (rho c^2) at low frequency; a bulge takes volume away.
    bore, state = np.array([7.5e-3]), np.array([0.0])
    flat, other = (make_holes([100], [4], [5], [12], recess=[height]) for height in (0.0, recess))
    change = complex(shunt(20.0, other, bore, state, AIR, lossless=True)[0])
    change -= complex(shunt(20.0, flat, bore, state, AIR, lossless=True)[0])
    assert change == pytest.approx(2j * np.pi * 20.0 * np.pi * 16e-6 * recess * MM / (RHO * C**2), rel=1e-3)


@pytest.mark.parametrize("share", [0.0, 0.02, 0.3])
def test_a_pad_absorbs_the_share_it_states(share):
    # Absorption coefficient of a surface at normal incidence, ISO 10534-2: 1 - |r|^2, r = (1 - y)/(1 + y).
    holes = make_holes([100], [4], [5], [12])._replace(lid_absorption=np.array([share]))
    heat = complex(lid_admittance(300.0, make_holes([100], [4], [5], [12]), AIR)[0])
    y = (complex(lid_admittance(300.0, holes, AIR)[0]) - heat) * RHO * C / (np.pi * 16e-6)
    assert 1.0 - abs((1.0 - y) / (1.0 + y)) ** 2 == pytest.approx(share, abs=1e-12)


def test_a_vanishing_closed_hole_does_nothing():
    holes = make_holes([100], [0.01], [0.01], [12])
    bore, state = np.array([7.5e-3]), np.array([0.0])
    reference = np.pi * 7.5e-3**2 / (RHO * C)
    assert abs(complex(shunt(1000.0, holes, bore, state, AIR)[0])) < 1e-7 * reference
    assert abs(complex(series_impedance(1000.0, holes, bore, state, AIR)[0])) < 1e-7 / reference


# Worked example: bore radius 7.5 mm, chimney 4 mm, 400 Hz, 20 degC; impedances computed elsewhere with exact Bessel
# functions [Pa s/m3]. Its outer lengths are matched through the body radius; friction ends at the chimneys.
EXAMPLE = [
    (3.5, 2.2419, 0.2101, 2.0405, 1767.0 + 668502.6j, 12618.5 + 678849.5j, 4.968e6 - 3.43319e8j),
    (4.0, 2.4803, 0.2771, 2.1436, None, 9110.9 + 543507.7j, 3.296e6 - 2.59217e8j),
    (4.5, 2.7006, 0.3547, 2.1918, None, 6995.9 + 445416.9j, 2.285e6 - 2.01453e8j),
]


@pytest.mark.parametrize(("radius", "outer", "matching", "inner", "lossless", "lossy", "closed"), EXAMPLE)
def test_worked_example_of_three_holes(monkeypatch, radius, outer, matching, inner, lossless, lossy, closed):
    monkeypatch.setattr(toneholes, "opening_friction", no_friction)
    holes = make_holes([100], [radius], [4.0], [body_with_outer_length(radius, outer)])
    bore = np.array([7.5e-3])
    assert float(matching_length(radius, radius / 7.5)) == pytest.approx(matching, abs=0.01 * radius**2 / 60.0)
    assert float(inner_length(radius, radius / 7.5, 0.0)) == pytest.approx(inner, abs=1e-4)

    def impedance(openness: float, lossless: bool = False) -> complex:
        return 1.0 / complex(shunt(400.0, holes, bore, np.array([openness]), AIR, lossless=lossless)[0])

    if lossless is not None:
        assert impedance(1.0, True).imag == pytest.approx(lossless.imag, rel=1e-3)
        assert impedance(1.0, True).real == pytest.approx(lossless.real, rel=5e-3)
    assert impedance(1.0).imag == pytest.approx(lossy.imag, rel=1e-3)
    assert impedance(1.0).real == pytest.approx(lossy.real, rel=5e-3)
    # The example's lid takes no heat; an isothermal one does, Cremer 1948 (memory), S (gamma - 1) sqrt(j omega alpha)
    # / (rho c^2), and stands nearly parallel to the whole short chimney.
    gamma, alpha = float(AIR.gamma), float(AIR.conductivity / (AIR.rho * AIR.heat_capacity))
    lid = np.pi * (radius * MM) ** 2 * (gamma - 1.0) * np.sqrt(2j * np.pi * 400.0 * alpha) / (RHO * C**2)
    unheated = 1.0 / (1.0 / impedance(0.0) - lid)
    assert unheated.imag == pytest.approx(closed.imag, rel=1e-3)
    assert unheated.real == pytest.approx(closed.real, rel=5e-3)


def test_a_half_open_hole_lies_between_closed_and_open():
    # More area passes more: the inertance of the shunt falls steadily as the hole opens (Rayleigh's principle).
    holes = make_holes([100], [4], [5], [12])
    states = np.linspace(0.05, 1.0, 20)
    path = [complex(shunt(100.0, holes, np.array([7.5e-3]), np.array([s]), AIR, lossless=True)[0]) for s in states]
    inertance = np.array([(1.0 / y).imag for y in path])
    assert np.all(inertance > 0.0)
    assert np.all(np.diff(inertance) < 0.0)
    closed = complex(shunt(100.0, holes, np.array([7.5e-3]), np.array([0.0]), AIR, lossless=True)[0])
    assert abs(closed) < abs(path[0]) < abs(path[-1])


@pytest.mark.parametrize("lossless", [True, False])
def test_a_nearly_closed_hole_is_nearly_closed(lossless):
    # No jump at closing: an opening of 1e-12 of the area passes next to nothing.
    holes = make_holes([100], [4], [5], [12])
    bore = np.array([7.5e-3])
    shut, ajar = (complex(shunt(400.0, holes, bore, np.array([s]), AIR, lossless=lossless)[0]) for s in (0.0, 1e-12))
    assert abs(ajar / shut - 1.0) < 1e-3


@pytest.mark.parametrize("ratio", [0.3, 0.5, 0.7, 0.9])
def test_inner_side_of_an_orifice_lies_between_its_bounds(ratio):
    # Below: Fok's function (1941) times Rayleigh's pi/4, the exact potential flow (series from memory). Above: Karal,
    # J. Acoust. Soc. Am. 25 (1953) 327, uniform velocity in the orifice, as a sum over the zeros of J1.
    zeros = scipy.special.jn_zeros(1, 4000)
    x = ratio * zeros
    above = 4.0 * np.sum(scipy.special.jv(1, x) ** 2 / (x * (zeros * scipy.special.jv(0, zeros)) ** 2))
    fok = np.polyval([-0.01641, 0.03015, -0.02287, 0.06793, 0.0, 0.33818, 0.0, -1.40925, 1.0], ratio)
    below = np.pi / 4.0 * fok
    holes = make_holes([100], [4], [5], [12])
    mouth, k = ratio * 4e-3, 2.0 * np.pi * 50.0 / C
    states = np.array([7.5e-3]), np.array([ratio**2])
    top = 1.0 / complex(top_admittance(50.0, holes, *states, AIR, lossless=True)[0])
    length = top.imag * np.pi * mouth**2 / (RHO * C * k)
    inside = (length - float(saddle_length(mouth, 12e-3))) / mouth
    assert below - 1e-3 < inside < above + 1e-3


@pytest.mark.parametrize("rim", [0.0, 2.0])
@pytest.mark.parametrize("gap", [0.0, 3.0])
@pytest.mark.parametrize("chimney", [3.0, 4.0, 6.0])
def test_an_opening_lowers_the_admittance_of_its_hole(rim, gap, chimney):
    # Seat and pad add the length that openings' own tests check; here: it reaches the shunt, against a bare saddle. The
    # seat's top stands as far above the crown as the chimney is higher than the wall of 4 mm.
    bore, state = np.array([7.5e-3]), np.array([1.0])
    free = make_holes([100], [4], [chimney], [11.5])
    near = make_holes([100], [4], [chimney], [11.5], rim=[rim], pad=[6], gap=[gap])
    difference = 1.0 / complex(shunt(50.0, near, bore, state, AIR, lossless=True)[0]) - 1.0 / complex(
        shunt(50.0, free, bore, state, AIR, lossless=True)[0]
    )
    extra = float(sum(opening_lengths(4.0, 11.5, rim, chimney - 4.0, 6.0, gap)) - saddle_length(4.0, 11.5)) * MM
    expected = 2.0 * np.pi * 50.0 * RHO * extra / (np.pi * 16e-6)
    assert difference.imag == pytest.approx(expected, rel=5e-3, abs=1e-12)


@given(
    f=st.floats(30.0, 4000.0),
    bore=st.floats(2e-3, 20e-3),
    delta=st.floats(0.05, 0.95),
    height=st.floats(0.2, 25.0),
    openness=st.one_of(st.just(0.0), st.just(1.0), st.floats(0.01, 1.0)),
    gap=st.one_of(st.just(0.0), st.floats(0.5, 10.0)),
)
def test_a_hole_never_gives_energy(f, bore, delta, height, openness, gap):
    # Passive one-port: Re Y >= 0.
    radius = delta * bore / MM
    holes = make_holes([100], [radius], [height], [bore / MM + height], [1.0], [radius + 2.0], [gap])
    y = complex(shunt(f, holes, np.array([bore]), np.array([openness]), AIR)[0])
    assert y.real >= -1e-12 * abs(y)
