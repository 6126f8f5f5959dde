"""External interaction in the whole chain: against a dense linear system, published sizes, energy and causality."""

import numpy as np
import pytest
from curves import chain_susceptance, columns_of, near, resonances
from ducts import cents, make_duct, make_holes
from formulas import mutual
from hypothesis import given
from hypothesis import strategies as st

from acoustics.arrays import leaves
from acoustics.bore import radius_at, segment_matrix
from acoustics.chain import chain_of
from acoustics.elements import reed_element
from acoustics.hole_rises import mouth_share
from acoustics.interaction import own_resistance, pair_impedance
from acoustics.network import air_at
from acoustics.radiation import bell_centre, end_impedance
from acoustics.resonances import chart_errors, note_errors
from acoustics.scan import admittance_grid, input_impedances, network_at
from acoustics.sweeps import reflectance
from acoustics.toneholes import inner_length, lid_admittance, matching_length, top_admittance

# --- the whole against one dense linear system -----------------------------------------------------------------------

HOLES = make_holes(
    (120, 190, 260, 330), (1.5, 2.5, 3.0, 3.5), (6, 5, 4, 4), (9, 10, 11, 12), top=(1.5, 3.0, 2.5, 3.5)
)._replace(azimuth=np.array([0.3, 0.0, -1.0, 3.0]))
CONE = make_duct([(0, 2.0), (200, 5.0), (450, 9.0)], HOLES, 3.0)
STATES = ((1, 1, 1, 1), (0, 1, 0, 1), (0, 0, 0.5, 1), (1, 0, 0, 0))


def dense_parts(duct, state, f, lossless):
    """What the dense system is made of: two-ports, half reactances and holes at stations; of holes chimneys, bends,
    shares of the bore's wave, tops; bell, and what acts outside."""
    network = network_at(chain_of(duct), state[:, None], np.array([f]), lossless)
    segment, half = np.array(network.segment)[..., 0], network.half_series[:, 0]
    holes, inside = duct.holes, air_at(duct, duct.holes.position)
    bore = radius_at(duct.bore, holes.position)
    delta, k = holes.radius / bore, 2.0 * np.pi * f / inside.c
    length = holes.chimney_height + matching_length(holes.radius, delta)
    chimney = segment_matrix(f, holes.radius, length, (holes.top_radius - holes.radius) / length, inside, lossless)
    turn = 1j * k * inner_length(holes.radius, delta, k * bore) * inside.rho * inside.c / (np.pi * holes.radius**2)
    top = top_admittance(f, holes, bore, state, inside, lossless) + lid_admittance(f, holes, inside, lossless) * (
        1.0 - state
    )
    place = np.atleast_1d(duct.end_position)
    outside, end_radius = air_at(duct, place), radius_at(duct.bore, place)
    wall = end_radius + duct.end_wall
    bell = complex(end_impedance(f, end_radius, wall, outside.c, outside.rho)[0])
    acting = mutual(
        f,
        np.append(holes.position, place + bell_centre(end_radius, wall)),
        np.append(holes.azimuth, 0.0),
        np.append(holes.body_radius, wall),
        outside.c,
        outside.rho,
    )
    audible = np.append(state > 0.0, True)
    share = mouth_share(k, holes.radius)
    return segment, half, network.hole, chimney, turn, share, top, bell, acting * np.outer(audible, audible)


def dense_input_impedance(duct, state, f, lossless) -> complex:
    """Input impedance from one linear system in all pressures and flows, solved by NumPy.

    Unknowns: p and U at every station and the end, pressure e and outflow u at the top of every opening.
    """
    segment, half, hole, chimney, turn, share, top, bell, acting = dense_parts(duct, state, f, lossless)
    count, openings = half.size, len(state) + 1
    size = 2 * (count + 1) + 2 * openings
    e, u = size - 2 * openings, size - openings
    unit, rows = np.eye(size, dtype=complex), []
    rows.append(unit[1])  # unit flow at the input
    for i in range(count):
        a, b, c, d = segment[:, i]
        j, p, flow, following = hole[i], unit[2 * i], unit[2 * i + 1], unit[2 * i + 2 : 2 * i + 4]
        branch = chimney.C[j] * unit[e + j] + chimney.D[j] * unit[u + j] if j >= 0 else np.zeros(size)
        node, after = p - half[i] * flow, flow - (share[j] * branch if j >= 0 else branch)
        rows.append(node - half[i] * after - a * following[0] - b * following[1])
        rows.append(after - c * following[0] - d * following[1])
        if j >= 0:
            rows.append(share[j] * node - turn[j] * branch - chimney.A[j] * unit[e + j] - chimney.B[j] * unit[u + j])
            rows.append(unit[u + j] - top[j] * unit[e + j] + top[j] * (acting[j] @ unit[u:]))
    rows.append(unit[2 * count] - unit[e + openings - 1])
    rows.append(unit[2 * count + 1] - unit[u + openings - 1])
    rows.append(unit[e + openings - 1] - bell * unit[u + openings - 1] - acting[-1] @ unit[u:])
    assert len(rows) == size
    number = np.arange(size)
    scale = np.where(number < e, np.where(number % 2, 1.0, 1e7), np.where(number < u, 1e7, 1.0))
    return complex(np.linalg.solve(np.array(rows) * scale, unit[0])[0] * scale[0])


@pytest.mark.parametrize("lossless", [False, True])
@pytest.mark.parametrize("state", STATES)
def test_the_whole_is_the_solution_of_one_linear_system(state, lossless):
    for f in (180.0, 777.0):
        found = complex(input_impedances(CONE, columns_of(state, [f]), np.array([f]), lossless)[1][0])
        expected = dense_input_impedance(CONE, np.asarray(state, float), f, lossless)
        # The system lets the heat that a part-open hole's lid takes pass for outflow: 2e-8 of the whole.
        ajar = not lossless and any(0.0 < share < 1.0 for share in state)
        assert abs(found / expected - 1.0) < (1e-7 if ajar else 1e-9)


def test_a_single_opening_adds_nothing():
    # With all holes closed only the bell sounds, and nobody hears it.
    chain, whole = input_impedances(CONE, np.zeros((4, 1)), np.array([431.0]))
    assert whole == pytest.approx(chain, rel=1e-13)


# --- size and sense --------------------------------------------------------------------------------------------------


def test_holes_that_a_fingering_leaves_closed_change_nothing_in_it(tier):
    # Nine holes of which a fingering opens three or one: worked out beside another that opens none or all of them, it
    # has the same errors and slopes, for only what is open takes part.
    x = np.linspace(100.0, 420.0, 9)
    cone = make_duct([(0, 2.0), (450, 9.0)], make_holes(x, (2.0,) * 9, (4,) * 9, (11,) * 9), 3.0)
    openness, target = np.zeros((2, 9)), np.array([300.0, 250.0])
    openness[0, [2, 5, 8]], openness[1, 7] = 1.0, 0.5
    found = note_errors(cone, openness, target)
    for row in range(2):
        for other in (0.0, 1.0):
            beside = np.full((2, 9), other)
            beside[row] = openness[row]
            alone = note_errors(cone, beside, target)
            assert alone.error[row] == pytest.approx(found.error[row], rel=1e-9)
            for one, another in zip(leaves(found.slope), leaves(alone.slope), strict=True):
                assert another[row] == pytest.approx(one[row], rel=1e-6, abs=1e-6)
    assert chart_errors(cone, openness, target) == pytest.approx(found.error, rel=1e-9)


def shifts(duct, state) -> np.ndarray:
    """What interaction moves the first three resonances [cents]."""
    whole = resonances(duct, state, lossless=False)[:3]
    return cents(whole, near(lambda f: chain_susceptance(duct, state, f), whole))


def test_interaction_flattens_a_clarinet_like_pipe_by_the_published_size(tier):
    # Lefebvre, Scavone & Kergomard, Acta Acust. united Acust. 99 (2013): "reduce slightly the lower resonance
    # frequencies". Computed elsewhere for a = 7.5, b = 4.5, t = 5, holes 22 mm apart: -1.4 to -2.4 cents with two to
    # eight open holes; 0.1 for holes at other places.
    x = (412, 434, 456, 478)
    pipe = make_duct([(0, 7.5), (500, 7.5)], make_holes(x, (4.5,) * 4, (5,) * 4, (12.5,) * 4), 5.0)
    found = shifts(pipe, (1, 1, 1, 1))
    assert np.all((found > -2.5) & (found < -1.3))


@pytest.mark.parametrize("state", [(1, 1, 1, 1), (0, 1, 1, 1)])
def test_interaction_flattens_a_saxophone_like_cone_by_the_published_size(tier, state):
    # The same source; computed elsewhere for 4.5 to 22.5 mm over 592 mm, b/a = 0.62, t = 3, 30 mm apart: -3.9 to -5.4
    # in the first mode, -4.8 to -6.3 in the second. That computation kept the body's static gain at all frequencies;
    # in the third mode (k R about 0.3) the body's dipoles, held to the Fourier solution above, make up for more.
    x = np.array([400, 430, 460, 490])
    a = 4.5 + 18.0 * x / 592.0
    cone = make_duct([(0, 4.5), (592, 22.5)], make_holes(x, 0.62 * a, (3,) * 4, a + 3.0), 3.0)
    first, second, third = shifts(cone, state)
    assert -5.4 < first < -3.9
    assert -6.3 < second < -4.8
    assert third < second


def test_interaction_hardly_moves_an_oboe_like_cone(tier):
    # The same source; b = 1.8 to 2.7 mm, 28 mm apart: -0.5, -0.6, -0.8 cents; 0.1 for holes at other places. The third
    # with the body's static gain only, see above.
    x = np.array([400, 428, 456, 484])
    holes = make_holes(x, (1.8, 2.1, 2.4, 2.7), (4,) * 4, 6.0 + 5.4 * x / 600.0)
    found = shifts(make_duct([(0, 2.0), (600, 7.4)], holes, 4.0), (1, 1, 1, 1))
    assert found[:2] == pytest.approx([-0.5, -0.6], abs=0.1)
    assert -1.1 < found[2] < -0.7


legal = st.fixed_dictionaries(
    {
        "place": st.lists(st.floats(20.0, 430.0), min_size=4, max_size=4),
        "share": st.lists(st.floats(0.15, 0.85), min_size=4, max_size=4),
        "wall": st.floats(2.0, 8.0),
        "turn": st.lists(st.floats(-3.1, 3.1), min_size=4, max_size=4),
        "state": st.lists(st.sampled_from([0.0, 0.5, 1.0]), min_size=4, max_size=4),
    }
)


def random_duct(place, share, wall, turn, state):
    """A legal cone with four holes, and its openness repeated for a block of frequencies."""
    bore = np.interp(place, (0, 200, 450), (2, 5, 9))
    holes = make_holes(place, bore * share, (wall,) * 4, bore + wall)._replace(azimuth=np.asarray(turn))
    return make_duct([(0, 2.0), (200, 5.0), (450, 9.0)], holes, 3.0), np.broadcast_to(state, (64, 4))


@given(choice=legal, lossless=st.booleans())
def test_the_whole_never_gives_energy(tier, choice, lossless):
    # Passive one-port: Re Y >= 0 at 128 frequencies to 2 kHz.
    duct, states = random_duct(**choice)
    y = admittance_grid(duct, states, np.geomspace(50.0, 2000.0, 128).reshape(64, 2), lossless=lossless)
    assert np.min(y.real / np.abs(y)) >= 0.0


RADIATION = {item.__name__: item for item in (end_impedance, own_resistance, pair_impedance)}


def still(formula):
    """A radiation impedance without its resistance."""

    def reactance(*numbers, **options):
        return 1j * np.imag(formula(*numbers, **options))

    return reactance


def still_top(*numbers):
    """The admittance above each chimney without resistance, 0 where it is closed."""
    found = np.asarray(top_admittance(*numbers), complex)
    return np.divide(1j * np.abs(found) ** 2, found.imag, out=np.zeros_like(found), where=found != 0.0)


@given(choice=legal)
def test_the_phase_falls_with_frequency(monkeypatch, choice):
    # Foster's reactance theorem (1924): without losses at the walls and without radiation the phase of the reflectance
    # against one real admittance only falls, and its size is 1. (With radiation it need not: a weakly coupled piece of
    # bore that radiates more than it passes on turns it back.)
    monkeypatch.setattr("acoustics.toneholes.top_admittance", still_top)
    for name in ("end_impedance", "pair_impedance", "own_resistance"):
        monkeypatch.setattr(f"acoustics.elements.{name}", still(RADIATION[name]))
    duct, states = random_duct(**choice)
    f = np.geomspace(60.0, 1000.0, 64)
    y = admittance_grid(duct, states, f[:, None] * (1.0 + np.array([-1e-6, 1e-6])), lossless=True)
    r = reflectance(y, reed_element(300.0, *chain_of(duct).given("reed")).reference)
    assert np.max(np.abs(np.abs(r) - 1.0)) < 1e-8
    assert np.max(np.angle(r[:, 1] / r[:, 0])) < 0.0
