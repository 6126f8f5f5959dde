"""Mutual radiation impedances against closed forms, finite elements, the Fourier solution and potential flow."""

import numpy as np
import pytest
import scipy
from curved_sources import exact_rise
from ducts import MM
from formulas import mutual
from hypothesis import given
from hypothesis import strategies as st

from acoustics.air import air
from acoustics.interaction import body_power, pair_impedance
from acoustics.radiation import bell_centre

AIR = air(20.0)
C, RHO = float(AIR.c), float(AIR.rho)


def test_two_openings_in_free_space_are_monopoles():
    # p = j rho omega U e^{-jkd} / (4 pi d), any textbook; a body a thousandth of the distance does not disturb it.
    f, d = 700.0, 0.09
    found = mutual(f, np.array([0.1, 0.1 + d, 1.3]), np.zeros(3), np.full(3, 1e-5))
    k = 2.0 * np.pi * f / C
    for i, j, distance in ((0, 1, d), (0, 2, 1.2), (1, 2, 1.2 - d)):
        expected = 2j * np.pi * f * RHO * np.exp(-1j * k * distance) / (4.0 * np.pi * distance)
        assert complex(found[i, j]) == pytest.approx(expected, rel=1e-4)


def test_mutual_impedances_are_reciprocal_and_the_bell_has_its_own_elsewhere():
    found = mutual(
        900.0, np.array([0.1, 0.12, 0.2, 0.3]), np.array([0.0, 1.0, -2.5, 0.0]), np.array([8, 9, 12, 15]) * MM
    )
    assert np.max(np.abs(found - found.T)) == 0.0
    assert found[-1, -1] == 0.0
    assert np.max(np.abs(np.diag(found).imag)) == 0.0
    assert np.min(np.abs(found[~np.eye(4, dtype=bool)])) > 0.0


def test_the_body_is_not_felt_from_afar():
    # Thirty radii away and at kR = 0.02 both are alone in free space but for (kR)^2.
    f, d, body = 100.0, 0.3, 0.01
    found = mutual(f, np.array([0.1, 0.1 + d, 0.9]), np.zeros(3), np.full(3, body))[0, 1]
    k = 2.0 * np.pi * f / C
    assert complex(found) == pytest.approx(2j * np.pi * f * RHO * np.exp(-1j * k * d) / (4.0 * np.pi * d), rel=2e-3)


@pytest.mark.parametrize(("ratio", "gain"), [(1.2, 1.353), (2, 1.213), (3, 1.125), (5, 1.048), (8, 1.012), (12, 1.000)])
def test_body_gain_matches_finite_elements(ratio, gain):
    # Two collinear holes on a rigid cylinder, 3-D finite elements of Laplace's equation, distance over body radius.
    # The imaginary part at low frequency over that of free space; 0.021 is the fit's largest residual.
    body, f = 0.012, 1.0
    d = ratio * body
    found = mutual(f, np.array([0.1, 0.1 + d, 5.0]), np.zeros(3), np.full(3, body))[0, 1].imag
    assert found / (2.0 * np.pi * f * RHO / (4.0 * np.pi * d)) == pytest.approx(gain, abs=0.021)


def test_distance_runs_along_the_body():
    # A hole on the other side of a body of radius R is half its girth away, whichever way round; static fields tell.
    across, along, round_about = (
        complex(pair_impedance(1.0, *place, 0.01, C, RHO)).imag
        for place in ((0.0, np.pi), (np.pi * 0.01, 0.0), (0.0, 3.0 * np.pi))
    )
    assert across == pytest.approx(along, rel=1e-4)
    assert round_about == pytest.approx(across, rel=1e-12)


def test_the_bell_surrounds_the_body():
    # Only the distance along counts, as between monopoles: omega rho / (4 pi d).
    for turn in (0.0, 2.0, np.pi):
        found = complex(pair_impedance(1.0, 0.03, turn, 0.01, C, RHO, with_bell=True)).imag
        assert 2.0 * np.pi * RHO / (4.0 * np.pi * found) == pytest.approx(0.03, rel=1e-4)


def exact_power(kr: float, kd: float, turn: float = 0.0) -> float:
    """Power two sources on an infinite rigid cylinder share, over that of one in free space.

    Fourier solution, Morse & Ingard, Theoretical Acoustics (1968), section 7.3 (from memory): the radiating wavenumbers
    k sin t along the axis, orders n around, power (2 / (pi x |H_n'(x)|))^2 with x = kR cos t.
    """

    def power(t):
        x = kr * np.cos(t)
        orders = (
            (1.0 if n == 0 else 2.0) * np.cos(n * turn) * (2.0 / (np.pi * x * abs(scipy.special.h2vp(n, x)))) ** 2
            for n in range(4)
        )
        return np.cos(t) * np.cos(kd * np.sin(t)) * sum(orders)

    return scipy.integrate.quad(power, 0.0, np.pi / 2.0, epsabs=1e-10, limit=200)[0]


@pytest.mark.parametrize(("kr", "error"), [(0.05, 0.001), (0.1, 0.001), (0.2, 0.004), (0.3, 0.01), (0.5, 0.015)])
def test_body_power_is_that_of_the_fourier_integral(kr, error):
    # The code keeps the long-wave limit of orders 0 and 1; what is left out is of order (kR)^4 ln(kR).
    around, dipole = map(float, body_power(kr))
    assert around + dipole == pytest.approx(exact_power(kr, 0.0), abs=error)


@pytest.mark.parametrize("turn", [0.0, 1.5])
@pytest.mark.parametrize(("kr", "along"), [(0.05, 3.0), (0.1, 8.0), (0.2, 2.0), (0.2, 8.0), (0.36, 2.6), (0.36, 8.0)])
def test_shared_power_is_that_of_the_fourier_integral(kr, along, turn):
    # Two holes, along and around the body; the angle counts as distance along the surface in the model alone, which is
    # what the larger bound for a hole on the side is for.
    body, k = 0.012, kr / 0.012
    f = k * C / (2.0 * np.pi)
    found = mutual(f, np.array([0.1, 0.1 + along * body, 1.0]), np.array([0.0, turn, 0.0]), np.full(3, body))[0, 1].real
    unit = RHO * C * k**2 / (4.0 * np.pi)
    assert found / unit == pytest.approx(exact_power(kr, kr * along, turn), abs=0.035 if turn == 0.0 else 0.12)


@pytest.mark.parametrize("along", [1.6, 2.6, 5.2, 12.0])
@pytest.mark.parametrize("kr", [0.1, 0.26, 0.36])
def test_the_near_field_follows_the_fourier_integral_to_higher_notes(kr, along):
    # Rise above the static value, as a share of it. The static value itself is held to finite elements above.
    body, k = 0.012, kr / 0.012
    f, places = k * C / (2.0 * np.pi), np.array([0.1, 0.1 + along * body, 3.0])
    scale = 4.0 * np.pi * along * body / (2.0 * np.pi * RHO)
    still = mutual(0.01, places, np.zeros(3), np.full(3, body))[0, 1].imag / 0.01 * scale
    found = mutual(f, places, np.zeros(3), np.full(3, body))[0, 1].imag / f * scale
    assert found / still - 1.0 == pytest.approx(exact_rise(kr, along) * along / still, abs=0.03)


def stream_pressure(share: float, cells: int = 24, far: float = 40.0) -> float:
    """Where along the axis a stream past a blunt tube has the potential found inside its mouth, in outer radii.

    Finite volumes in axial symmetry, cells per outer radius growing away from it; share is inner over outer radius.
    """
    step = 1.0 / cells
    grown = np.cumsum(step * 1.08 ** np.arange(200))
    grown = np.append(0.0, grown[grown < far])
    inner, wall = (
        np.linspace(0.0, share, round(share * cells) + 1),
        np.linspace(share, 1.0, round((1 - share) * cells) + 1),
    )
    r, z = np.concatenate([inner, wall[1:], 1.0 + grown[1:]]), np.concatenate([-grown[:0:-1], grown])
    rc, zc = 0.5 * (r[1:] + r[:-1]), 0.5 * (z[1:] + z[:-1])
    air_there = ~(((rc > share) & (rc < 1.0))[:, None] & (zc < 0.0)) & ~((rc < share)[:, None] & (zc < -6.0))
    number = np.cumsum(air_there).reshape(air_there.shape) - 1
    area, width = np.pi * np.diff(r**2)[:, None], np.diff(z)[None, :]
    ring = 2.0 * np.pi * r[1:-1, None] * width / np.diff(rc)[:, None]
    links = []
    for left, right, size in (
        ((slice(None), slice(-1)), (slice(None), slice(1, None)), area / np.diff(zc)[None, :]),
        ((slice(-1), slice(None)), (slice(1, None), slice(None)), ring),
    ):
        both = air_there[left] & air_there[right]
        links.append((number[left][both], number[right][both], np.broadcast_to(size, both.shape)[both]))
    i, j, g = (np.concatenate(part) for part in zip(*links, strict=True))
    count = int(air_there.sum())
    system = scipy.sparse.coo_array(
        (np.concatenate([g, g, -g, -g]), (np.concatenate([i, j, i, j]), np.concatenate([i, j, j, i]))), (count, count)
    )
    edge, flow = np.zeros(count), np.zeros(count)
    for side, size, place in (
        (np.s_[:, 0], area[:, 0] / (zc[0] - z[0]), z[0]),
        (np.s_[:, -1], area[:, 0] / (z[-1] - zc[-1]), z[-1]),
        (np.s_[-1, :], 2.0 * np.pi * r[-1] * width[0] / (r[-1] - rc[-1]), zc),
    ):
        np.add.at(edge, number[side][air_there[side]], size[air_there[side]])
        np.add.at(flow, number[side][air_there[side]], (size * place)[air_there[side]])
    potential = scipy.sparse.linalg.spsolve((system + scipy.sparse.diags_array(edge)).tocsc(), flow)
    return float(potential[number[0, np.argmax(zc > -5.0)]])


@pytest.mark.parametrize("share", [0.3, 0.5, 0.65, 0.8, 0.9])
def test_a_bells_sound_comes_from_where_a_stream_has_its_mouths_pressure(share):
    # Reciprocity; Laplace's equation solved here by finite volumes (0.01 high at this grid). A thin wall
    # needs no computation: by the Wiener-Hopf solution of Levine & Schwinger (1948) the place is the length
    # correction, 0.6133 radii.
    assert float(bell_centre(share, 1.0)) == pytest.approx(stream_pressure(share), abs=0.015)
    assert float(bell_centre(1.0, 1.0)) == pytest.approx(0.6133, abs=1e-4)


@given(
    f=st.floats(50.0, 1800.0),
    position=st.lists(st.floats(0.1, 0.5), min_size=4, max_size=4),
    body=st.floats(0.008, 0.02),
)
def test_openings_in_line_radiate_power_whatever_flows(f, position, body):
    # Re Z positive semidefinite: with each hole's own monopole, rho omega^2 / (4 pi c), nothing draws power in; kR to
    # 0.66. The bell's own power is a monopole's here.
    place = np.append(position, 0.55)
    own = RHO * (2.0 * np.pi * f) ** 2 / (4.0 * np.pi * C)
    real = mutual(f, place, np.zeros(5), np.full(5, body)).real / own + np.eye(5)
    assert np.min(np.linalg.eigvalsh(real[:4, :4])) > -1e-9
    if 2.0 * np.pi * f / C * body < 0.4:
        assert np.min(np.linalg.eigvalsh(real)) > -1e-9


@given(
    f=st.floats(50.0, 900.0),
    position=st.lists(st.floats(0.1, 0.5), min_size=4, max_size=4),
    azimuth=st.lists(st.floats(-3.1, 3.1), min_size=4, max_size=4),
)
def test_openings_around_the_body_radiate_power_whatever_flows(f, position, azimuth):
    place = np.append(position, 0.55)
    own = RHO * (2.0 * np.pi * f) ** 2 / (4.0 * np.pi * C)
    real = mutual(f, place, np.append(azimuth, 0.0), np.full(5, 0.012)).real / own + np.eye(5)
    assert np.min(np.linalg.eigvalsh(real)) > -1e-3
