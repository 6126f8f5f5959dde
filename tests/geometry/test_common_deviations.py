"""Deviations that are stated in one absolute number: the reed's air, and all printed holes alike."""

import folded
import numpy as np
import pytest
from ducts import make_duct, make_holes
from shelf import pipe

from acoustics.arrays import map_arrays
from acoustics.resonances import batch_errors, note_errors
from optimizer.geometry.build import WHOLE, Build, stretches_of
from optimizer.geometry.deviations import ALL_HOLES, REED_AIR, by_deviation, deviations, moved_ducts
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


# folded bodies


def test_a_folded_body_shrinks_with_its_bends():
    # Printed all in one, it is what it was at another scale: bends, and where its tubes lie in space, with it.
    _, duct = folded.middle(pipe(folded.FOLDED))
    count = duct.holes.radius.size
    whole = Build(WHOLE, tuple(map(str, range(count))), (False,) * count)
    found = deviations(duct, Uncertainty(shrinkage_percent=2.0), whole)
    draws = np.array([[1.0 * (name == "shrinkage") for name in found.names]])
    grown = moved_ducts(duct, found, draws)
    for name in ("begin", "end", "radius"):
        assert getattr(grown.bends, name)[0] == pytest.approx(1.02 * getattr(duct.bends, name))
    for name in ("begin", "depth", "front", "right"):
        assert getattr(grown.tubes, name)[0] == pytest.approx(1.02 * getattr(duct.tubes, name), abs=1e-15)
    assert np.array_equal(grown.tubes.down[0], duct.tubes.down)
    assert set(grown.bends.begin[0]) | set(grown.bends.end[0]) <= set(grown.slices[0])  # the chain is cut at them


def test_a_crook_that_is_not_printed_shifts_no_bend():
    # The crook ends at 200 mm: what lies 300 mm beyond it is 3 mm further on, at 1 %; so is all of the first tube.
    _, duct = folded.middle(pipe(folded.FOLDED))
    count = duct.holes.radius.size
    made = Build(stretches_of(0.0, 200.0), tuple(map(str, range(count))), (False,) * count)
    found = deviations(duct, Uncertainty(shrinkage_percent=1.0), made)
    moved = map_arrays(lambda value: value[found.names.index("shrinkage")], found.direction)
    assert moved.bends.begin[0] == pytest.approx(3e-3)
    assert moved.tubes.depth == pytest.approx([0.0, 3e-3, 3e-3 - 4e-3])  # down 500 mm, up 400


def test_slopes_of_shrinkage_count_the_bends():
    problem, duct = folded.middle(pipe(folded.FOLDED))
    count = duct.holes.radius.size
    whole = Build(WHOLE, tuple(map(str, range(count))), (False,) * count)
    found = deviations(duct, Uncertainty(shrinkage_percent=1.0), whole)
    at = found.names.index("shrinkage")
    notes = note_errors(duct, problem.openness, problem.f_target)
    draws = 1e-3 * np.array([[side * (name == "shrinkage") for name in found.names] for side in (1.0, -1.0)])
    up, down = batch_errors(moved_ducts(duct, found, draws), problem.openness, problem.f_target)
    assert by_deviation(notes.slope, found)[:, at] == pytest.approx((up - down) / 2e-3, rel=1e-5)
