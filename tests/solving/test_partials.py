"""Levels of partials: what flows out of a duct against closed forms, and timbres that textbooks tell."""

import numpy as np
import pytest
from ducts import make_duct, make_holes

from acoustics.air import air
from acoustics.radiation import end_impedance
from acoustics.scan import outflows
from optimizer.solving.partials import FAINTEST_DB, HIGHEST_HZ, partial_levels

AIR = air(20.0)


def test_what_flows_out_of_a_cylinder_is_a_transmission_lines():
    # A lossless line of characteristic impedance Zc ended by Z: U_out / U_in = 1 / (cos kL + j sin kL Z / Zc); here
    # wide, so that its walls take little, and away from its resonances.
    radius, long, f = 0.03, 0.4, np.array([60.0, 330.0, 520.0])
    k, load = 2.0 * np.pi * f / AIR.c, end_impedance(f, radius, radius, AIR.c, AIR.rho)
    own = AIR.rho * AIR.c / (np.pi * radius**2)
    wanted = 1.0 / (np.cos(k * long) + 1j * np.sin(k * long) * load / own)
    found = outflows(make_duct([(0, 30.0), (400, 30.0)]), np.zeros((0, 3)), f)[0]
    assert np.abs(found) == pytest.approx(np.abs(wanted), rel=0.02)


def test_slow_flow_leaves_by_the_openings_there_are():
    # Nothing is compressed at 1 Hz: what goes in comes out, by all that is open, and nothing by what is closed.
    holes = make_holes([200, 300], [3, 4], [5, 5], [15, 15])
    found = outflows(make_duct([(0, 8.0), (400, 10.0)], holes), np.array([[1.0, 0.0]]).T, np.array([1.0]))[:, 0]
    assert np.sum(found) == pytest.approx(1.0, abs=0.01)
    assert found[1] == 0.0
    assert abs(found[0]) > 0.3 < abs(found[2])


def test_a_cylinder_lacks_the_second_partial_and_a_cone_does_not():
    # Fletcher & Rossing, *The Physics of Musical Instruments*, ch. 15, from memory: a clarinet's even partials are weak
    # low down, as its bore's resonances are the odd ones; a cone has them all.
    cylinder = partial_levels(make_duct([(0, 7.5), (500, 7.5)]), np.zeros((1, 0)), np.array([168.0]))[0]
    cone = partial_levels(make_duct([(0, 1.5), (600, 15.0)]), np.zeros((1, 0)), np.array([250.0]))[0]
    assert min(cylinder[0], cylinder[2]) > cylinder[1] + 10
    assert cone[1] > cone[0] - 10


def test_the_lowest_note_of_a_contrabass_has_partials_up_to_2_5_khz():
    (levels,) = partial_levels(make_duct([(0, 13.0), (2800, 13.0)]), np.zeros((1, 0)), np.array([29.14]))
    assert 29.14 * len(levels) > 2500.0


def test_levels_end_where_nothing_counts_any_more():
    low, high = partial_levels(make_duct([(0, 1.5), (600, 15.0)]), np.zeros((2, 0)), np.array([250.0, 2900.0]))
    assert max(low) == max(high) == 0
    assert len(low) <= HIGHEST_HZ / 250.0
    assert len(high) == 2
    assert min(low) >= FAINTEST_DB
    assert partial_levels(make_duct([(0, 5.0), (100, 5.0)]), np.zeros((0, 0)), np.zeros(0)) == []
