"""Pads from holes, worked out by hand from the project's numbers."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.geometry.pads import pad_sizes
from optimizer.project.keywork import Keywork


def sizes(diameter, **numbers):
    return [float(value) for value in pad_sizes(diameter, Keywork(**numbers))]


def test_a_ten_millimetre_hole():
    # rim 1.2 + 0.02 x 10 = 1.4; seat 10 + 2 x 1.4 = 12.8; pad 12.8 + 2.5 = 15.3; cup 15.3 + 0.9 = 16.2;
    # lift the greater of 0.34 x 10 = 3.4 and 2.5.
    assert sizes(10.0) == pytest.approx([1.4, 12.8, 15.3, 16.2, 3.4], abs=1e-12)


def test_a_small_vent_still_opens_enough_for_felt():
    # 0.34 x 2 = 0.68 < 2.5; rim 1.24; seat 4.48; pad 6.98; cup 7.88.
    assert sizes(2.0) == pytest.approx([1.24, 4.48, 6.98, 7.88, 2.5], abs=1e-12)


def test_every_number_comes_from_the_project():
    # rim 2 + 0.1 x 20 = 4; seat 28; pad 29; cup 31; lift 0.25 x 20 = 5.
    own = {
        "seat_rim_mm": 2, "seat_rim_per_diameter": 0.1, "pad_overlap_mm": 1, "cup_wall_mm": 2,
        "lift_per_diameter": 0.25, "lift_min_mm": 1,
    }  # fmt: skip
    assert sizes(20.0, **own) == pytest.approx([4.0, 28.0, 29.0, 31.0, 5.0], abs=1e-12)


@given(st.lists(st.floats(1.0, 30.0), min_size=2, max_size=6))
def test_a_pad_covers_its_seat_and_a_cup_its_pad(diameters):
    pad = pad_sizes(np.array(diameters), Keywork())
    assert np.all(np.asarray(pad.seat_diameter_mm) > diameters)
    assert np.all(np.asarray(pad.pad_diameter_mm) > np.asarray(pad.seat_diameter_mm))
    assert np.all(np.asarray(pad.cup_diameter_mm) > np.asarray(pad.pad_diameter_mm))


@given(st.floats(1.0, 30.0), st.floats(0.1, 5.0))
def test_a_wider_hole_never_gets_a_smaller_closure(diameter, more):
    small, large = sizes(diameter), sizes(diameter + more)
    assert all(a <= b for a, b in zip(small, large, strict=True))


@given(st.floats(1.0, 40.0))
def test_the_default_lift_is_at_least_a_third_of_the_hole(diameter):
    # A trade rule: a pad rises at least one third of its hole's diameter.
    assert sizes(diameter)[4] >= diameter / 3.0
