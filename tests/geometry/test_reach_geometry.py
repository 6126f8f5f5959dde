"""Reach on a round body in three dimensions, each case worked out on paper.

A touch is (position along the body, azimuth, body diameter there). The distance counts in a straight line: along,
outward (half the difference of the diameters) and across the chord, less what the fingers lie apart by themselves.
With radii a and b and an angle t between them the law of cosines gives the way across and outward together:
a^2 + b^2 - 2 a b cos t.
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.geometry.reach import reach_distance
from optimizer.geometry.space import Places, ways_between
from optimizer.project.fingers import hand_pairs
from optimizer.project.hand import Hand


def distance(along, turn_deg, diameter, lower_diameter=None, natural=0.0):
    upper, lower = diameter / 2, (diameter if lower_diameter is None else lower_diameter) / 2
    return between(Places(0.0, 0.0, upper), Places(along, math.radians(turn_deg), lower), natural)


def between(first, second, natural):
    first, second = (Places(*(np.array(value, float) for value in place)) for place in (first, second))
    return float(reach_distance(ways_between(first, second), np.array(natural, float)))


STRAIGHT = {
    # along, turn, diameter, diameter below, natural -> distance
    "in line": ((25, 0, 30), 25),
    "in line, the other way": ((-25, 0, 30), 25),
    "the same place": ((0, 0, 30), 0),
    "a sixth of a turn": ((0, 60, 30), 15),  # an equilateral triangle of radii
    "a quarter turn": ((0, 90, 20), 14.142136),  # 10 x root 2
    "a third of a turn": ((0, 120, 20), 17.320508),  # 10 x root 3
    "half a turn": ((0, 180, 24), 24),  # the diameter
    "three quarters of a turn": ((0, 270, 20), 14.142136),  # a quarter turn back
    "almost round": ((0, 300, 30), 15),  # 60 degrees back
    "once round": ((25, 360, 30), 25),
    "3, 4, 5": ((20, 60, 30), 25),  # 15 across, 20 along
    "5, 12, 13": ((12, 60, 10), 13),  # 5 across
    "8, 15, 17": ((8, 60, 30), 17),  # 15 across
    "7, 24, 25": ((24, 180, 7), 25),  # 7 across
    "a thumb opposite": ((9, 180, 40), 41),  # 9, 40, 41
    "ten degrees round": ((0, 10, 30), 2.614672),  # 30 x sin 5 = 30 x 0.0871557
    "twenty-two and a half": ((0, 45, 40), 15.307337),  # 40 x sin 22.5 = 40 x 0.3826834
    "a body that widens": ((20, 0, 20, 50), 25),  # 15 outward
    "a body that narrows": ((20, 0, 50, 20), 25),
    "a cone and a right angle": ((12, 90, 6, 8), 13),  # radii 3 and 4: 9 + 16 = 25 across, 144 along: root 169
    "a cone and a third of a turn": ((0, 120, 6, 10), 7),  # radii 3 and 5: 9 + 25 + 15 = 49
    "a cone and a sixth of a turn": ((0, 60, 16, 30), 13),  # radii 8 and 15: 64 + 225 - 120 = 169
    "a cone and half a turn": ((0, 180, 16, 30), 23),  # 8 + 15
    "a little finger at home": ((24, 60, 30, 30, 15), 24),  # it lies 15 across by itself
    "a little finger in line": ((20, 0, 30, 30, 15), 25),  # it must come 15 back
    "a little finger too far round": ((12, 60, 40, 40, 15), 13),  # 20 across, 15 by itself: 5 left
    "a little finger the wrong way": ((16, -60, 18, 18, 3), 20),  # 9 across one way, 3 the other: 12, 16, 20
    "a left little finger at home": ((24, -60, 30, 30, -15), 24),
    "a left little finger in line": ((20, 0, 30, 30, -15), 25),
    "home by the long way round": ((24, -300, 30, 30, 15), 24),  # -300 is 60
}


@pytest.mark.parametrize(("place", "expected"), STRAIGHT.values(), ids=list(STRAIGHT))
def test_reach_in_a_straight_line(place, expected):
    assert distance(*place) == pytest.approx(expected, abs=2e-6)


def test_the_straight_line_is_shorter_than_the_surface():
    # Half round a body 30 mm thick: 30 mm through the air, 47.1 along the surface.
    assert distance(0, 180, 30) == pytest.approx(30)
    assert distance(0, 180, 30) < math.pi * 15


def by_cosines(along, turn_deg, upper, lower):
    """The same by the law of cosines."""
    across = upper**2 + lower**2 - 2 * upper * lower * math.cos(math.radians(turn_deg))
    return math.sqrt(along**2 + across)


place = st.tuples(st.floats(-80, 80), st.floats(-180, 180), st.floats(5, 60), st.floats(5, 60))


@given(place)
def test_reach_follows_the_law_of_cosines(where):
    along, turn, upper, lower = where
    assert distance(along, turn, 2 * upper, 2 * lower) == pytest.approx(by_cosines(*where), abs=1e-5)


@given(place, st.floats(-20, 20))
def test_a_mirrored_body_asks_the_same_of_the_other_hand(where, natural):
    along, turn, upper, lower = where
    mine = distance(along, turn, upper, lower, natural)
    assert distance(along, -turn, upper, lower, -natural) == pytest.approx(mine, rel=1e-9)


@given(place, st.floats(-20, 20))
def test_fingers_may_be_named_in_either_order(where, natural):
    along, turn, upper, lower = where
    swapped = distance(-along, -turn, lower, upper, -natural)
    assert swapped == pytest.approx(distance(along, turn, upper, lower, natural), rel=1e-9)


@given(place, st.floats(-15, 15), st.floats(-360, 360), st.floats(-360, 360))
def test_turning_the_body_changes_nothing(where, natural, upper_azimuth, angle):
    along, turn, upper, lower = where
    azimuths = np.radians([upper_azimuth + angle, upper_azimuth + turn + angle])
    found = between(Places(0.0, azimuths[0], upper / 2), Places(along, azimuths[1], lower / 2), natural)
    assert found == pytest.approx(distance(along, turn, upper, lower, natural), abs=1e-6)


@given(place, st.floats(-20, 20), st.floats(0.3, 3))
def test_scaling_all_lengths_scales_the_reach(where, natural, factor):
    along, turn, upper, lower = where
    scaled = distance(factor * along, turn, factor * upper, factor * lower, factor * natural)
    assert scaled == pytest.approx(factor * distance(along, turn, upper, lower, natural), abs=1e-5)


# which pairs, and where a finger lands by itself


def test_pairs_of_a_whole_hand():
    under = {finger: index for index, finger in enumerate(("LT", "L1", "L2", "L3", "L4"))}
    pairs = hand_pairs(under, Hand())
    assert [pair.label for pair in pairs] == ["L1-L2", "L2-L3", "L1-L3", "L3-L4", "L1-L4"]
    assert [pair.neighbours for pair in pairs] == [True, True, False, True, False]
    assert [(pair.upper, pair.lower) for pair in pairs] == [(1, 2), (2, 3), (1, 3), (3, 4), (1, 4)]


def test_fingers_of_two_hands_are_no_pair():
    assert hand_pairs({"L1": 0, "R2": 1}, Hand()) == []


@pytest.mark.parametrize(("side", "sign"), [("L", -1), ("R", 1)])
def test_short_fingers_land_toward_the_palm(side, sign):
    # The left palm lies anticlockwise seen from the reed end, the right one clockwise. Ring 3, little 15: 12 between.
    hand = Hand.model_validate({"ring_palm_offset_mm": 3, "little_palm_offset_mm": 15})
    pairs = hand_pairs({side + number: 0 for number in "1234"}, hand)
    assert {pair.label[1::3]: pair.natural_mm for pair in pairs} == {
        "12": 0, "23": 3 * sign, "13": 3 * sign, "34": 12 * sign, "14": 15 * sign,
    }  # fmt: skip


@given(st.floats(0, 3), st.floats(10, 25))
def test_both_hands_are_mirror_images(ring, little):
    hand = Hand.model_validate({"ring_palm_offset_mm": ring, "little_palm_offset_mm": little})
    sides = [hand_pairs({side + number: 0 for number in "1234"}, hand) for side in "LR"]
    for left, right in zip(*sides, strict=True):
        assert (left.limits, left.natural_mm) == (right.limits, -right.natural_mm)
