"""Bends of the bore: their inertance against the integral of the flow, and what it makes of a duct; distances of the
openings of a folded body. Slopes: `test_free_numbers`; all tiers: `test_tiers`."""

import numpy as np
import pytest
import scipy
from random_ducts import folded_up, random_duct

from acoustics.bends import Bends, Tubes, inertance_ratio, laid, straightened
from acoustics.chain import chain_of
from acoustics.chart_elements import pair_table, ways_outside
from acoustics.elements import segment_element


@pytest.mark.parametrize("share", [0.1, 0.4, 0.7, 0.95])
def test_a_bends_inertance_is_that_of_flow_as_one_over_the_distance_from_its_axis(share):
    # Flow K / (1 + x) through a circle of radius B about 1: U = K times the integral, and the pressure per angle drops
    # by rho dK/dt; straight, it is rho / (pi B^2) dU/dt. Integral: SciPy's quadrature.
    def chord(x):
        return (share**2 - x**2) ** 0.5

    flow, _ = scipy.integrate.dblquad(lambda y, x: 1.0 / (1.0 + x), -share, share, lambda x: -chord(x), chord)
    assert inertance_ratio(share) == pytest.approx(np.pi * share**2 / flow, rel=1e-6)


def test_a_bend_has_less_inertance_and_its_volumes_compliance():
    # 100 mm of a bend of 25 mm radius in a bore of 15 mm, B = 0.6: ratio (1 + 0.8) / 2 = 0.9. At 1 Hz, without losses.
    bends = Bends(np.array([0.2]), np.array([0.3]), np.array([0.025]))
    pieces = [np.array([0.015, 0.015]), np.array([0.1, 0.1]), np.zeros(2)]
    made = straightened(bends, np.array([0.15, 0.25]), *pieces)
    plain, bent = (segment_element(1.0, *rows, 20.0, 0.0, 0.0, lossless=True) for rows in (pieces, made))
    assert (bent.B[0], bent.C[0]) == (plain.B[0], plain.C[0])
    assert (bent.B[1] / plain.B[1]).real == pytest.approx(0.9, rel=1e-6)
    assert (bent.C[1] / plain.C[1]).real == pytest.approx(1.0, rel=1e-6)


def test_openings_lie_at_their_tubes_depths():
    # Down to 0.4 m, up from there to 0.1 and down again: 0.4 - (0.6 - 0.5) and 0.1 + (1.2 - 1.1).
    axes = (0.0, 0.0, 0.06), (0.0, 0.06, 0.06)
    tubes = Tubes(*map(np.array, ((0.0, 0.5, 1.1), (0.0, 0.4, 0.1), (1.0, -1.0, 1.0), *axes)))
    depth, front, right = laid(tubes, np.array([0.3, 0.6, 1.2]))
    assert depth == pytest.approx([0.3, 0.3, 0.2])
    assert (front.tolist(), right.tolist()) == ([0.0, 0.0, 0.06], [0.0, 0.06, 0.06])


def test_openings_on_two_tubes_are_as_far_apart_as_in_space():
    dice = np.random.default_rng(7)
    duct = folded_up(dice, random_duct(dice, 5))
    ways = ways_outside(chain_of(duct))
    one, other = pair_table(5)
    depth, front, right = laid(duct.tubes, duct.holes.position)
    ahead, aside = np.cos(duct.holes.azimuth), np.sin(duct.holes.azimuth)
    at = np.stack([depth, front + duct.holes.body_radius * ahead, right + duct.holes.body_radius * aside])
    holes = ways.apart & (other < 5)
    assert holes.any()
    assert ways.along[holes] == pytest.approx(np.linalg.norm(at[:, one[holes]] - at[:, other[holes]], axis=0))
