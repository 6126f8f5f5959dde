"""Pads from holes, worked out by hand from the project's numbers."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from acoustics.duals import Dual, slopes_of
from optimizer.geometry.pads import pad_sizes
from optimizer.project.keywork import Keywork
from optimizer.project.stock import Stock


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


DRAWER = Stock(pad_mm=[8, 15.3, 15.5, 18])


def test_the_smallest_pad_of_the_drawer_that_is_wide_enough_is_taken():
    # As worked out above, a hole of 10 needs 15.3, one of 10.1 needs 10.1 + 2 (1.2 + 0.202) + 2.5 = 15.404.
    # One of 15 would need 20.5, which the drawer has not: as the rules ask for.
    pad = pad_sizes(np.array([2.0, 10.0, 10.1, 15.0]), Keywork(), stock=DRAWER)
    assert pad.pad_diameter_mm == pytest.approx([8.0, 15.3, 15.5, 20.5], abs=1e-12)
    assert pad.cup_diameter_mm == pytest.approx([8.9, 16.2, 16.4, 21.4], abs=1e-12)
    assert pad.seat_diameter_mm == pytest.approx([4.48, 12.8, 12.904, 18.0], abs=1e-12)


def test_a_sunk_seat_is_as_wide_as_the_pad_of_the_drawer():
    pad = pad_sizes(np.array([10.1, 15.0]), Keywork(), True, DRAWER)
    assert pad.seat_diameter_mm == pytest.approx([15.5, 20.5], abs=1e-12)


@given(st.lists(st.floats(1.0, 30.0), min_size=1, max_size=6), st.lists(st.floats(4, 40), min_size=1, unique=True))
def test_no_pad_of_a_drawer_is_smaller_than_the_rules_ask(diameters, sizes):
    drawer = Stock(pad_mm=sorted({round(size, 2) for size in sizes}))
    plain, pad = (np.asarray(pad_sizes(np.array(diameters), Keywork(), stock=one)[2]) for one in (None, drawer))
    assert np.all(pad >= plain - 1e-6)
    held = [next((size.mm for size in drawer.pads if size.mm >= least - 1e-6), least) for least in plain]
    assert np.array_equal(pad, held)


def test_a_pad_of_the_drawer_does_not_grow_with_its_hole_until_it_must():
    moving = Dual(np.array([10.1, 15.0]), np.eye(2))
    pad = pad_sizes(moving, Keywork(), stock=DRAWER).pad_diameter_mm
    assert slopes_of(pad, 2) == pytest.approx(np.array([[0.0, 0.0], [0.0, 1.04]]), abs=1e-12)
