"""Deviations that are stated in one absolute number: the reed's air, and all printed holes alike."""

import numpy as np
import pytest
from ducts import make_duct, make_holes

from optimizer.geometry.build import WHOLE, Build
from optimizer.geometry.deviations import ALL_HOLES, REED_AIR, deviations
from optimizer.project.uncertainty import Uncertainty


@pytest.fixture(scope="module")
def duct():
    """A cone of two holes, the upper one a lined tube."""
    return make_duct([(0, 3), (500, 8)], make_holes([200, 300], [1, 3], [8, 4], [9, 9]))


BUILD = Build(WHOLE, ("v1", "h1"), (True, False))


def test_all_printed_holes_grow_together_and_linings_stay(duct):
    found = deviations(duct, Uncertainty(all_holes_mm=0.2), BUILD)
    at = found.names.index(ALL_HOLES)
    for ends in (found.direction.holes.radius, found.direction.holes.top_radius):
        assert ends[at] == pytest.approx([0.0, 0.1e-3])  # half of the diameter's 0.2 mm
    assert found.sd[at] == 0.2
    assert found.from_making[at]


def test_without_a_figure_nothing_is_added(duct):
    assert ALL_HOLES not in deviations(duct, Uncertainty(), BUILD).names


def test_a_reed_may_be_known_to_so_much_and_not_to_a_share(duct):
    found = deviations(duct, Uncertainty(reed_volume_percent=7.0, reed_volume_cm3=0.1), BUILD)
    assert found.kinds[-2:] == ("reed_volume_percent", "reed_volume_cm3")
    assert found.direction.reed.volume[-2:] == pytest.approx([0.07 * float(duct.reed.volume), 1e-7])
    assert not np.any(found.from_making[-2:])
    assert REED_AIR not in deviations(duct, Uncertainty(), BUILD).names


def test_each_deviation_says_what_its_own_is(duct):
    stated = Uncertainty(hole_diameter_mm=0.11, vent_diameter_mm=0.02, chimney_mm=0.3, temperature_degC=0.7)
    found = deviations(duct, stated, BUILD)
    told = dict(zip(found.names, found.sd, strict=True))
    assert (told["diameter of v1"], told["diameter of h1"]) == (0.02, 0.11)
    assert (told["chimney of h1"], told["temperature"]) == (0.3, 0.7)
    assert np.all(found.sd >= 0)
