"""The chain's structure: order, slices, batches, slopes, energy, and the air along it."""

import numpy as np
import pytest
from curves import resonances
from ducts import NO_REED, cents, make_duct, make_holes
from hypothesis import given
from hypothesis import strategies as st

from acoustics.air import air
from acoustics.arrays import leaves, map_arrays
from acoustics.bore import Bore
from acoustics.chain import chain_of
from acoustics.network import as_arrays, stacked
from acoustics.reed import Reed
from acoustics.resonances import batch_errors, chart_errors, note_errors, tuning_error_cents
from acoustics.scan import admittance_grid, input_admittance, input_impedances, network_at
from acoustics.sweeps import reflectance, sweep_to_reed
from acoustics.toneholes import Holes

AIR = air(20.0)
C, RHO = float(AIR.c), float(AIR.rho)
THIN = 1e-6  # radii shrunk so far that an end radiates nothing

HOLES = make_holes((120, 190, 260, 330), (1.5, 2.5, 3.0, 3.5), (6, 5, 4, 4), (9, 10, 11, 12))
CONE = make_duct([(0, 2.0), (200, 5.0), (450, 9.0)], HOLES, 3.0)
STATES = np.array([[0, 0, 0, 0], [0, 0, 0, 1], [0, 0, 1, 1], [0, 1, 0.5, 1], [1, 0, 0, 0]], float)


def rearranged(duct, order):
    return duct._replace(holes=map_arrays(lambda row: row[order], duct.holes))


def test_holes_may_be_listed_in_any_order(tier):
    # The chain is sorted by position: only the list changes, not the instrument.
    order = [2, 0, 3, 1]
    for state in STATES:
        plain = complex(input_admittance(CONE, state, 500.0))
        shuffled = complex(input_admittance(rearranged(CONE, order), state[order], 500.0))
        assert shuffled == pytest.approx(plain, rel=1e-12)


def test_holes_in_mirrored_order_are_another_instrument():
    # Same positions, sizes dealt out from the other end: a wide hole nearer to the reed leaves less of the bore, so
    # with all holes open the first resonance rises. An order mix-up would leave it unmoved.
    radius = HOLES.radius[::-1]
    mirrored = CONE._replace(holes=HOLES._replace(radius=radius))
    plain, other = (resonances(duct, (1, 1, 1, 1))[0] for duct in (CONE, mirrored))
    assert cents(other, plain) > 20.0


def test_specks_points_in_line_and_slices_beyond_the_end_change_nothing(tier):
    # A bore without any hole, against the same with closed specks at its input, spare slices and collinear points.
    bare = make_duct([(0, 3.0), (500, 8.0)])
    line = np.linspace(0.0, 0.5, 5)
    speck = 1e-4 * 3e-3
    rows = np.repeat([[0.0, 0.0, speck, speck, speck, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0]], 4, axis=0).T
    padded = bare._replace(
        bore=Bore(line, 3e-3 + 1e-2 * line), slices=np.append(bare.slices, [1.5, 1.5, 1.5]), holes=Holes(*rows)
    )
    plain, found = input_admittance(bare, (), 500.0), input_admittance(padded, np.zeros(4), 500.0)
    assert complex(found) == pytest.approx(complex(plain), rel=1e-8)


def test_a_slice_more_changes_nothing_in_a_cylinder(tier):
    # A cylinder cut anywhere is the same cylinder.
    holes = make_holes((120, 190), (2.0, 3.0), (4, 4), (11, 11))
    plain = make_duct([(0, 7.0), (400, 7.0)], holes)
    cut = make_duct([(0, 7.0), (77, 7.0), (190, 7.0), (400, 7.0)], holes)
    one, other = (complex(input_admittance(duct, (0.0, 1.0), 500.0)) for duct in (plain, cut))
    assert other == pytest.approx(one, rel=1e-10)


def test_cuts_beyond_the_end_are_ignored_and_the_last_line_goes_on():
    # The same cone, once cut short and once listed longer.
    short, long = make_duct([(0, 3.0), (400, 7.0)]), make_duct([(0, 3.0), (500, 8.0)])
    for one, other in (
        (long._replace(end_position=short.end_position), short),
        (short._replace(end_position=long.end_position), long),
    ):
        pair = [complex(input_admittance(duct, (), 500.0, lossless=True)) for duct in (one, other)]
        assert pair[0] == pytest.approx(pair[1], rel=1e-8)


def test_batches_over_fingerings_and_frequencies_equal_single_runs(tier):
    f = np.array([200.0, 431.0, 977.0])
    batch = admittance_grid(CONE, STATES, np.broadcast_to(f, (5, 3)))
    single = np.array([[complex(input_admittance(CONE, state, g)) for g in f] for state in STATES])
    assert np.max(np.abs(batch / single - 1.0)) < 1e-10


def moved_hole(number, field, amount):
    """The cone with one number of one hole changed."""
    row = np.array(getattr(HOLES, field))
    row[number] += amount
    return CONE._replace(holes=HOLES._replace(**{field: row}))


def test_batches_over_layouts_equal_single_runs(tier):
    shifts = (-5e-3, 0.0, 4e-3, 80e-3)  # the last one lets holes pass each other
    ducts = [moved_hole(1, "position", shift) for shift in shifts]
    targets = np.array([300.0, 350.0, 400.0, 480.0, 600.0])
    batch = batch_errors(stacked(ducts), STATES, targets)
    single = np.array([chart_errors(duct, STATES, targets) for duct in ducts])
    assert np.max(np.abs(batch / single - 1.0)) < 1e-10
    assert np.min(np.ptp(batch, axis=0)[1:]) > 1.0  # no layout like another, where a hole is open


@pytest.mark.parametrize("field", ["position", "radius", "chimney_height", "body_radius"])
def test_gradient_of_the_tuning_error_equals_finite_differences(tier, field):
    # Central differences of 1 um: truncation of order 1e-6, rounding 1e-8 of the slope.
    target, step = 400.0, 1e-6
    slopes = getattr(note_errors(CONE, STATES[2:3], np.array([target])).slope.holes, field)[0]

    def shifted(index, amount):
        return tuning_error_cents(moved_hole(index, field, amount), STATES[2], target)

    expected = np.array([(shifted(i, step) - shifted(i, -step)) / (2.0 * step) for i in range(4)])
    assert np.max(np.abs(expected)) > 10.0  # a slope worth the name [cents per metre]
    assert slopes == pytest.approx(expected, rel=1e-4, abs=1e-4 * np.max(np.abs(expected)))


def test_every_gradient_of_the_tuning_error_is_finite(tier):
    # Closed holes, holes without keys and a reed without inertia must not bring NaN.
    rows = leaves(note_errors(CONE, STATES, np.full(5, 400.0)).slope)
    assert all(np.all(np.isfinite(row)) for row in rows)
    for state in STATES:
        rows = leaves(note_errors(CONE, state[None], np.array([400.0])).slope)
        assert all(np.all(np.isfinite(row)) for row in rows)


@given(
    f=st.floats(50.0, 3000.0),
    positions=st.lists(st.floats(20.0, 430.0), min_size=4, max_size=4),
    radii=st.lists(st.floats(0.5, 3.0), min_size=4, max_size=4),
    states=st.lists(st.sampled_from([0.0, 0.3, 1.0]), min_size=4, max_size=4),
    volume=st.floats(0.0, 2e-6),
)
def test_the_instrument_never_gives_energy(tier, f, positions, radii, states, volume):
    # Passive one-port: Re Y > 0, hence |reflectance| < 1 against any real reference.
    holes = make_holes(positions, radii, (5.0,) * 4, (15.0,) * 4)
    duct = as_arrays(CONE._replace(holes=holes, reed=Reed(volume, np.inf, 1e-7, 2500.0, 0.2)))
    y = complex(input_admittance(duct, states, f))
    assert y.real > 0.0
    assert abs(complex(reflectance(y, 1e-9))) < 1.0


@pytest.mark.parametrize("f", [60.0, 150.0, 300.0])
def test_lossless_power_at_the_input_is_what_leaves_through_the_bell(f):
    # Without losses and with all holes closed Re(p U*) is the same everywhere; at the bell, U = 1, it is the power of a
    # monopole, rho omega^2 / (4 pi c), up to terms (ka)^2.
    network = network_at(chain_of(CONE), STATES[0][:, None], np.array([f]), True)
    fields = sweep_to_reed(network, network.load, np.ones(1))
    ka = 2.0 * np.pi * f / C * 9e-3
    expected = RHO * (2.0 * np.pi * f) ** 2 / (4.0 * np.pi * C)
    assert (fields.p_in * np.conj(fields.U_in)).real[0] == pytest.approx(expected, rel=ka**2)


def test_warm_air_raises_the_pitch_by_the_ratio_of_sound_speeds():
    # Resonances of a fixed geometry scale with c; radiation depends on ka alone.
    cold, warm = make_duct([(0, 7.5), (500, 7.5)], degC=20.0), make_duct([(0, 7.5), (500, 7.5)], degC=27.0)
    ratio = float(air(27.0).c / air(20.0).c)
    assert np.max(np.abs(cents(resonances(warm)[:4], resonances(cold)[:4] * ratio))) < 1e-6


def test_a_temperature_gradient_counts_where_it_lies():
    # Closed pipe with p = 0 at its end, air falling from 30 to 20 degC. Rayleigh's quotient: omega^2 is the integral of
    # p'^2 / rho over that of p^2 / (rho c^2); rho c^2 = gamma P is uniform and 1 / rho follows T, so that with
    # p = cos(pi s / 2L) omega^2 is weighted with sin^2: the mean temperature toward the open end counts. Second order
    # of 10 K in 298 K stays below 0.1 cent.
    duct = make_duct([(0, 7.5), (500, 7.5)], scale=THIN)
    climate = duct.climate._replace(reed_degC=np.asarray(30.0), bell_degC=np.asarray(20.0))
    cut = duct._replace(climate=climate, slices=np.linspace(0.0, 0.5, 65)[:-1])
    s = np.linspace(0.0, 1.0, 20001)
    temperature = 30.0 - 10.0 * s + 273.15
    weight = np.sin(0.5 * np.pi * s) ** 2 * 2.0
    expected = C / 2.0 * np.sqrt(np.trapezoid(temperature / 293.15 * weight, s))
    assert abs(cents(resonances(cut)[0], expected)) < 0.1


def test_a_temperature_gradient_sounds_between_its_ends():
    # Equal ends are uniform air; a profile between two temperatures lies between the two uniform airs, every resonance.
    cold, warm = (resonances(make_duct([(0, 7.5), (500, 7.5)], degC=degree))[:4] for degree in (20.0, 30.0))
    duct = make_duct([(0, 7.5), (500, 7.5)])
    for reed, bell in ((30.0, 20.0), (20.0, 30.0)):
        climate = duct.climate._replace(reed_degC=np.asarray(reed), bell_degC=np.asarray(bell))
        between = resonances(duct._replace(climate=climate, slices=np.linspace(0.0, 0.5, 65)[:-1]))[:4]
        assert np.all((cold < between) & (between < warm))


def test_no_reed_is_the_bare_bore(tier):
    found = complex(input_admittance(CONE, STATES[1], 300.0))
    bare = as_arrays(CONE._replace(reed=NO_REED))
    assert found == pytest.approx(complex(input_admittance(bare, STATES[1], 300.0)), rel=1e-14)
    whole = complex(input_impedances(CONE, STATES[1][:, None], np.array([300.0]))[1][0])
    assert found == pytest.approx(1.0 / whole, rel=1e-12)
