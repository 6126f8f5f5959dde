"""Reach, worked out by trigonometry on a round body."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shelf import KEYED, PIPE, changed, pipe

from optimizer.geometry.fold import Fold
from optimizer.geometry.layout import layout_bounds
from optimizer.geometry.reach import PairTable, reach_distance, touch_position
from optimizer.geometry.space import Places, ways_between
from optimizer.project.fingers import FingerPair, finger_anchor, finger_holes, finger_pairs
from optimizer.project.hand import PairLimits


def distance(along, degrees, radius):
    ways = ways_between(Places(0.0, 0.0, radius), Places(along, math.radians(degrees), radius))
    return float(reach_distance(ways, 0.0))


@pytest.mark.parametrize(
    ("along", "degrees", "radius", "expected"),
    [
        (30.0, 0.0, 15.0, 30.0),  # in line: only the way along
        (0.0, 90.0, 15.0, 15.0 * math.sqrt(2.0)),  # a quarter turn: the diagonal of a square of side r
        (0.0, 180.0, 15.0, 30.0),  # opposite: a diameter
        (40.0, 180.0, 15.0, 50.0),  # 3-4-5: along 40, across a diameter of 30
        (20.0, 60.0, 15.0, 25.0),  # the chord of 60 degrees is the radius: 3-4-5 again, 15 and 20
        (12.0, -60.0, 5.0, 13.0),  # 5-12-13, turned the other way
        (-12.0, 300.0, 5.0, 13.0),  # 300 degrees on is 60 degrees back
        (0.0, 120.0, 10.0, 10.0 * math.sqrt(3.0)),  # side of the inscribed triangle
    ],
)
def test_distance_between_fingertips(along, degrees, radius, expected):
    assert distance(along, degrees, radius) == pytest.approx(expected, abs=1e-9)


@given(st.floats(-80, 80), st.floats(-180, 180), st.floats(5, 30))
def test_distance_agrees_with_coordinates_in_space(along, degrees, radius):
    # The same two points as (x, y, z) on a cylinder.
    first = np.array([radius, 0.0, 0.0])
    angle = math.radians(degrees)
    second = np.array([radius * math.cos(angle), radius * math.sin(angle), along])
    assert distance(along, degrees, radius) == pytest.approx(float(np.linalg.norm(first - second)), abs=2e-6)


@given(st.floats(0, 80), st.floats(0, 360), st.floats(5, 30))
def test_mirrored_hands_reach_as_far(along, degrees, radius):
    assert distance(along, degrees, radius) == pytest.approx(distance(-along, -degrees, radius), abs=1e-9)


def test_fingers_are_found_on_their_holes():
    assert finger_holes(pipe(KEYED).project) == {"R2": 1, "R1": 2, "L3": 4, "L1": 5, "LT": 6}


def test_pairs_are_neighbours_and_index_to_ring_of_one_hand():
    pairs = finger_pairs(pipe(PIPE).project)
    assert [pair.label for pair in pairs] == ["L1-L2", "L2-L3", "L1-L3"]
    assert [(pair.comfortable_mm, pair.working_mm) for pair in pairs] == [(25, 31), (24, 29), (46, 57)]
    assert [pair.neighbours for pair in pairs] == [True, True, False]
    assert [(pair.upper, pair.lower) for pair in pairs] == [(3, 2), (2, 1), (3, 1)]


def test_a_hand_with_a_gap_keeps_its_outer_pair():
    # No hole under L2: index and ring remain; the right hand has index and middle.
    assert [pair.label for pair in finger_pairs(pipe(KEYED).project)] == ["L1-L3", "R1-R2"]


def test_each_hand_has_its_own_reach():
    text = f"{KEYED}\n[hand]\nleft = {{ index_ring_mm = [40, 50] }}\nright = {{ index_middle_mm = [20, 22] }}\n"
    pairs = finger_pairs(pipe(text).project)
    assert [(pair.label, pair.working_mm) for pair in pairs] == [("L1-L3", 50), ("R1-R2", 22)]


def layout_at(project, positions, offsets=None):
    low, _ = layout_bounds(project)
    offsets = np.zeros(len(project.holes)) if offsets is None else np.array(offsets, float)
    return low._replace(position_mm=np.array(positions, float), touch_offset_mm=offsets)


def distances(project, layout, radius, pairs=None):
    """What the finger pairs of a layout must reach on a body of these radii at its holes."""
    azimuth = np.radians([hole.azimuth_deg for hole in project.holes])
    table = PairTable(finger_pairs(project) if pairs is None else pairs)
    return table.distances(table.ways(Places(touch_position(layout), azimuth, radius), Fold([])))


def test_a_plates_touch_lies_toward_the_bell_of_its_hole():
    project = pipe(KEYED).project
    layout = layout_at(project, [500, 430, 400, 350, 260.25, 215, 210, 100], [0, 0, 6, 0, 0, 0, 0, 0])
    assert np.asarray(touch_position(layout)).tolist() == [500, 430, 406, 350, 260.25, 215, 210, 100]


def test_pair_distances_on_a_straight_body():
    # L3 at 260.25 and L1 at 215: 45.25; R2 at 430 and R1's plate touched 6 beyond 400: 24.
    project = pipe(KEYED).project
    layout = layout_at(project, [500, 430, 400, 350, 260.25, 215, 210, 100], [0, 0, 6, 0, 0, 0, 0, 0])
    assert distances(project, layout, np.full(8, 15.0)) == pytest.approx([45.25, 24.0], abs=1e-9)


def test_pair_distances_across_a_body_that_widens():
    # L1 turned 60 degrees from L3, radii 14 and 16: by the law of cosines 14^2 + 16^2 - 2 x 14 x 16 / 2 = 228 across
    # and outward, and 20 along: the root of 628.
    project = pipe(
        changed(
            'by = "L1", position_mm = [180, 250], diameter_mm = [5, 10], chimney_mm = 5',
            'by = "L1", position_mm = [180, 250], diameter_mm = [5, 10], chimney_mm = 5, azimuth_deg = -60',
            KEYED,
        )
    ).project
    layout = layout_at(project, [500, 430, 400, 350, 260, 240, 210, 100])
    radius = np.array([20, 19, 18, 17, 16, 14, 12, 10.0])
    assert distances(project, layout, radius)[0] == pytest.approx(628**0.5, abs=1e-9)


def test_no_pairs_no_distances():
    project = pipe(KEYED).project
    layout = layout_at(project, [500, 430, 400, 350, 260.25, 215, 210, 100])
    assert distances(project, layout, np.full(8, 15.0), []).shape == (0,)


PAIR = FingerPair("L1", "L2", 0, 1, PairLimits(25.0, 31.0, 38.0, 4.0, "estimate"), True)


@pytest.mark.parametrize(
    ("spacing", "strain"),
    [(10.0, 0.0), (25.0, 0.0), (28.0, 0.5), (31.0, 1.0), (34.0, 1.5)],  # linear over the 6 mm from 25 to 31
)
def test_strain_runs_from_comfortable_to_the_working_limit(spacing, strain):
    assert PairTable([PAIR]).strains(np.array([spacing]))[0] == pytest.approx(strain, abs=1e-12)


def test_a_hand_without_leeway_still_has_a_finite_strain():
    # Comfortable and limit alike: the strain counts tenths of a millimetre.
    rigid = FingerPair("L1", "L2", 0, 1, PairLimits(25.0, 25.0, 30.0, 4.0, "estimate"), True)
    assert PairTable([rigid]).strains(np.array([25.05]))[0] == pytest.approx(0.5, abs=1e-9)


@pytest.mark.parametrize(
    ("finger", "anchor"),
    [
        ("L3", (4, 0.0)),  # a finger with a hole rests on it
        ("LT", (6, 0.0)),
        ("L4", (4, 25.0)),  # the little finger below the ring finger, 25 mm by default
        ("RT", (2, 0.0)),  # the thumb behind the index
        ("R4", None),  # the right ring finger has no hole here
        ("L2", None),
    ],
)
def test_where_a_finger_rests(finger, anchor):
    assert finger_anchor(finger, pipe(KEYED).project) == anchor
