"""Places as points in space: against rotations and norms of SciPy and NumPy, and sums on paper."""

import math

import numpy as np
import pytest
import scipy
from hypothesis import given
from hypothesis import strategies as st

from acoustics.duals import slopes_of, value_of, variables
from optimizer.geometry.fold import Fold
from optimizer.geometry.space import (
    Places,
    chord_of,
    distance,
    points,
    turn_of_chord,
    ways_between,
)

place = st.builds(Places, st.floats(0, 600), st.floats(-7, 7), st.floats(4, 40))


def turned_about_the_bore(where):
    """The point of a place, by turning one that stands in front."""
    return scipy.spatial.transform.Rotation.from_rotvec([where.azimuth, 0.0, 0.0]).apply(
        [where.position, where.height, 0.0]
    )


@given(place)
def test_a_place_is_turned_about_the_bore(where):
    assert [float(part) for part in points(where)] == pytest.approx(turned_about_the_bore(where), abs=1e-10)


@given(place, place)
def test_distances_are_those_of_the_points(first, second):
    apart = float(np.linalg.norm(turned_about_the_bore(first) - turned_about_the_bore(second)))
    assert float(distance(points(first), points(second))) == pytest.approx(apart, abs=2e-6)
    assert math.hypot(*map(float, ways_between(first, second))) == pytest.approx(apart, abs=1e-6)


@pytest.mark.parametrize(
    ("turn_deg", "height", "along", "beside", "above"),
    [
        (0.0, 23.0, 0.0, 0.0, 8.0),  # right above a foot 15 from the axis
        (60.0, 20.0, 0.0, 20.0 * math.sqrt(0.75), -5.0),  # 20 cos 60 - 15
        (90.0, 15.0, 8.0, 17.0, -15.0),  # 8, 15, 17 beside
        (-90.0, 15.0, -8.0, 17.0, -15.0),
        (180.0, 15.0, 0.0, 0.0, -30.0),  # the far side of the body
    ],
)
@pytest.mark.parametrize("azimuth_deg", [0.0, 75.0, -160.0])
def test_a_point_beside_and_above_a_foot(azimuth_deg, turn_deg, height, along, beside, above):
    foot = Places(100.0, math.radians(azimuth_deg), 15.0)
    seen = points(Places(100.0 + along, math.radians(azimuth_deg + turn_deg), height))
    assert [float(part) for part in Fold([]).from_axis(foot, seen)] == pytest.approx([beside, above], abs=1e-9)


@given(st.floats(0.1, 19.0), st.floats(10, 30))
def test_a_turn_is_told_by_its_chord(chord, height):
    turn = turn_of_chord(np.array(chord), np.array(height), 0.95)
    assert height * float(chord_of(turn)) == pytest.approx(chord, rel=1e-12)


def test_no_chord_is_longer_than_the_body_is_wide():
    assert float(turn_of_chord(np.array(50.0), np.array(10.0), 0.5)) == pytest.approx(math.pi / 3.0, rel=1e-12)


@pytest.mark.parametrize("way", ["points", "parts"])
def test_slopes_agree_with_differences(way):
    # Central differences of 1e-6: error of order 1e-12 times the third derivative, and 1e-16 x 400 / 1e-6 of rounding.
    numbers = np.array([120.0, 0.4, 14.0, 150.0, -2.1, 16.0])

    def worked(values):
        first, second = Places(*values[:3]), Places(*values[3:])
        return distance(points(first), points(second)) if way == "points" else sum(ways_between(first, second))

    slopes = slopes_of(worked(variables(numbers)), numbers.size)
    steps = 1e-6 * np.eye(numbers.size)
    differences = [(worked(numbers + step) - worked(numbers - step)) / 2e-6 for step in steps]
    assert slopes == pytest.approx(np.array(differences), abs=1e-6)
    assert value_of(worked(variables(numbers))) == pytest.approx(worked(numbers), rel=1e-14)
