"""What follows from one measurement of a hand for each pair of fingers, by arithmetic on paper."""

import math
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from places import CONFIGS
from shelf import KEYED, PIPE, changed

from optimizer.project.hand import PAIRS, Hand, pair_limits, seal_limit_mm
from optimizer.project.loading import ProjectError, parse_project

HANDS = CONFIGS / "hands"
BY_SIZE = ("child-about-11", "small-adult", "median-adult", "large-adult")


def left(text):
    """Limits of the left hand of a `[hand]` table."""
    return pair_limits(Hand.model_validate(tomllib.loads(text)), "L")


# From one measurement to a pair. Shares of the span: 0.31, 0.29, 0.57, 0.30, 0.92; comfortable 0.66 and working 0.80 of
# the maximum; span 0.70 of the thumb's span, that 0.98 of hand length.
ROUTES = {
    # 150 x 0.31 = 46.5; x 0.66 = 30.69; x 0.8 = 37.2; 8 % of 37.2 = 2.976
    "span index to little": ("span_index_little_mm = 150", "index_middle", (30.69, 37.2, 46.5, 2.976)),
    # 150 x 0.92 = 138; 91.08; 110.4; 8 % is 8.832
    "sum of four fingers": ("span_index_little_mm = 150", "index_little", (91.08, 110.4, 138.0, 8.832)),
    # 200 x 0.7 = 140; x 0.29 = 40.6; 26.796; 32.48; root of 8^2 + 8^2 is 11.3137 %, 3.67469
    "span thumb to little": ("span_thumb_little_mm = 200", "middle_ring", (26.796, 32.48, 40.6, 3.67469)),
    # 200 x 0.98 x 0.7 = 137.2; x 0.57 = 78.204; 51.61464; 62.5632; root of 64 + 64 + 121 is 15.7797 %, 9.87230
    "hand length": ("hand_length_mm = 200", "index_ring", (51.61464, 62.5632, 78.204, 9.87230)),
    # the same, x 0.30 = 41.16; 27.1656; 32.928; 15.7797 % is 5.19595
    "little finger": ("hand_length_mm = 200", "ring_little", (27.1656, 32.928, 41.16, 5.19595)),
}


@pytest.mark.parametrize(("line", "pair", "expected"), ROUTES.values(), ids=list(ROUTES))
def test_limits_by_one_measurement(line, pair, expected):
    assert left(f"[left]\n{line}")[pair][:4] == pytest.approx(expected, rel=1e-5)


def test_a_gauged_pair_stands_as_measured():
    # The maximum was not gauged: 32 / 0.8 = 40. One standard deviation of a gauged figure is 1.5 mm.
    found = left('gauged_on = "2026-11-02"\n[left]\nindex_middle_mm = [27, 32]\nhand_length_mm = 140')["index_middle"]
    assert found == (27.0, 32.0, 40.0, 1.5, "gauged")


def test_a_gauged_maximum_stands_too():
    assert left("[left]\nindex_middle_mm = [27, 32, 36]")["index_middle"][:3] == (27.0, 32.0, 36.0)


def test_a_pair_not_gauged_follows_from_those_that_were():
    # 31 / (0.31 x 0.8) = 125 and 29 / (0.29 x 0.8) = 125: the span is 125, so index to ring has 71.25, of which 57.
    text = 'gauged_on = "2026-11-02"\n[left]\nindex_middle_mm = [25, 31]\nmiddle_ring_mm = [24, 29]'
    found = left(text)["index_ring"]
    assert found[:3] == pytest.approx((47.025, 57.0, 71.25))
    assert found.basis == "other pairs"


def test_pair_figures_that_are_estimates_count_after_a_measured_span():
    text = "[left]\nindex_middle_mm = [25, 31]\nspan_thumb_little_mm = 200"
    assert left(text)["index_middle"].basis == "estimate"
    assert left(text)["middle_ring"].basis == "span thumb to little"


INPUTS = {
    "index_middle_mm": "[25, 31]",
    "span_index_little_mm": "125",
    "span_thumb_little_mm": "178.571",
    "hand_length_mm": "182.2",
}


def test_the_weaker_the_measurement_the_wider_the_deviation():
    # The four say the same of index and middle: 31 mm is the working limit.
    widths = []
    for key, value in INPUTS.items():
        found = left(f'gauged_on = "today"\n[left]\n{key} = {value}')["index_middle"]
        assert found.working_mm == pytest.approx(31.0, abs=0.01)
        widths.append(found.sd_mm)
    assert widths == sorted(widths)
    assert len(set(widths)) == len(widths)
    assert left("")["index_middle"].sd_mm > widths[-1]


def test_the_strongest_measurement_counts():
    lines = [f"{key} = {value}" for key, value in INPUTS.items()]
    basis = [left('gauged_on = "today"\n[left]\n' + "\n".join(lines[k:]))["index_middle"].basis for k in range(4)]
    assert basis == ["gauged", "span index to little", "span thumb to little", "hand length"]


def test_nothing_given_is_a_small_adult_hand():
    assert {pair: limits[:2] for pair, limits in left("").items()} == {
        "index_middle": (25.0, 31.0),
        "middle_ring": (24.0, 29.0),
        "index_ring": (46.0, 57.0),
        "ring_little": (23.0, 30.0),
        "index_little": (73.0, 91.0),
    }


def test_a_hand_not_measured_is_taken_for_the_other_one():
    # 8 % and 4 % together: root of 80 is 8.9443 %, of 37.2 mm 3.32727.
    hand = Hand.model_validate({"right": {"span_index_little_mm": 150}})
    found = pair_limits(hand, "L")["index_middle"]
    assert found[:3] == pair_limits(hand, "R")["index_middle"][:3]
    assert found.sd_mm == pytest.approx(3.32727, rel=1e-5)
    assert found.basis == "span index to little, the other hand's"


def test_every_ratio_may_be_changed():
    text = "[left]\nspan_index_little_mm = 100\n[model]\nindex_middle_share = 0.4\nworking_share = 0.9"
    assert left(text)["index_middle"][:3] == pytest.approx((26.4, 36.0, 40.0))


@given(st.floats(110, 250), st.floats(1.01, 1.3), st.sampled_from(list(INPUTS)[1:]))
def test_a_larger_hand_reaches_further_in_proportion(size, factor, key):
    small, large = (left(f"[left]\n{key} = {size * k / factor}") for k in (1.0, factor))
    for pair in PAIRS:
        assert large[pair][:4] == pytest.approx([factor * value for value in small[pair][:4]], rel=1e-9)
        assert small[pair].comfortable_mm < small[pair].working_mm < small[pair].maximum_mm


def test_what_each_finger_seals():
    hand = Hand.model_validate({"seal_diameter_max_mm": 10.0, "ring_seal_less_mm": 1.0, "little_seal_less_mm": 2.0})
    assert [seal_limit_mm(hand, finger) for finger in ("LT", "L1", "R2", "R3", "L4")] == [10.0, 10.0, 10.0, 9.0, 8.0]


# limits that no choice can meet


def test_four_fingers_need_their_room():
    # index to little: 0.8 x 0.92 x 60 = 44.16 mm, but four fingers 17 mm apart need 51.
    fingers = changed('g1 = { by = "R1"', 'g1 = { by = "L4"', PIPE).replace("L123 R1", "L1234")
    text = fingers + "\n[hand]\nleft = { span_index_little_mm = 60, index_ring_mm = [40, 50] }\n"
    with pytest.raises(ProjectError) as caught:
        parse_project(text, "pipe.toml")
    assert (
        "hand: L1, L2, L3 and L4 need 3 x 17 = 51 mm, but hand.left.index_little_mm allows 44.16; raise that, or lower "
        "hand.spacing_min_mm to 14.72"
    ) in caught.value.problems


@pytest.mark.parametrize(("turn", "off"), [(60, 60), (-90, 90), (300, 60), (-250, 110)])
def test_a_thumb_hole_in_front_is_refused(turn, off):
    text = KEYED.replace("azimuth_deg = 180", f"azimuth_deg = {turn}")
    with pytest.raises(ProjectError) as caught:
        parse_project(text, "pipe.toml")
    assert caught.value.problems == [
        f"holes.h7.azimuth_deg: the thumb lies opposite the fingers, at least 120 degrees round from h6, but this is "
        f"{off}; turn it, or lower hand.thumb_opposite_min_deg"
    ]


def test_scatters_add_as_squares():
    found = left("[left]\nhand_length_mm = 165")["index_middle"]
    assert found.sd_mm / found.working_mm == pytest.approx(math.sqrt(0.08**2 + 0.08**2 + 0.11**2))


def test_a_gauged_hand_is_told_as_one():
    assert Hand(source="with the sheet").about == "with the sheet"
    assert Hand(source="with the sheet", gauged_on="2026-11-02").about == "with the sheet; gauged on 2026-11-02"
