"""Ratio of a fingering's registers: 3 in a cylinder closed at the reed, 2 in a cone whose reed holds its tip's air, but
for losses (Fletcher & Rossing, *The Physics of Musical Instruments*, 1998, chapter 8)."""

import numpy as np
import pytest
from ducts import NO_REED, make_duct, make_holes
from shelf import PIPE, pipe

from acoustics.reed import Reed
from optimizer.records.layout import Reference
from optimizer.solving.judged import judge
from optimizer.solving.problem import Problem
from optimizer.solving.real_resonances import Fingerings, sounded

LITTLE = 0.006
"""10 cents: what losses and the reed's air leave of a whole ratio in ducts so wide."""


@pytest.fixture(scope="module")
def reference() -> Reference:
    """What notes are judged by."""
    problem = Problem(pipe(PIPE))
    return judge(problem, problem.layout(problem.parametrisation.low), in_haste=True).reference


def duct(points, reed=NO_REED):
    """A duct with a narrow vent a quarter of the way down."""
    place = 0.25 * points[-1][0]
    holes = make_holes([place], [1.5], [5.0], [np.interp(place, *np.array(points).T) + 3.0])
    return make_duct(points, holes, 3.0, reed)


def asked(register, vent, hz):
    return Fingerings(np.array([[vent]]), np.array([register]), np.array([hz]), np.array([True]))


@pytest.mark.parametrize(
    ("points", "volume", "whole", "hz"),
    [([(0, 12.0), (900, 12.0)], 0.0, 3.0, 94.0), ([(0, 2.5), (800, 22.5)], 0.65e-6, 2.0, 190.0)],
    ids=["cylinder", "cone"],
)
def test_registers_lie_as_far_apart_as_the_bore_has_them(points, volume, whole, hz, reference):
    instrument = duct(points, Reed(volume, np.inf, 0.0, np.inf, 0.0))
    (low,) = sounded(instrument, asked(1, 0.0, hz), reference)
    assert low.register_ratio == pytest.approx(whole, rel=LITTLE)
    # In the upper register the vent stands open, and the ratio is that of the fingering without it.
    (high,) = sounded(instrument, asked(2, 1.0, whole * hz), reference)
    assert high.register_ratio == pytest.approx(low.register_ratio, rel=1e-9)
    assert abs(high.vent_moves_cents) > 5.0
