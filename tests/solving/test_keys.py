"""Keys as a finished layout records them: touches, levers and posts."""

import math

import pytest
from layouts import keyed, turned
from shelf import KEYED

from optimizer.records.pieces import PieceRecord
from optimizer.solving.keys import degrees, key_records


def test_long_axles_have_posts_between():
    # From 70 to 202 mm with at most 50 between posts: three spans of 44 mm.
    project, layout = keyed(KEYED + "\n[keywork]\npost_pitch_max_mm = 50\n")
    axle = key_records(project, layout)[2].axle
    assert axle is not None
    assert [post.position_mm for post in axle.posts] == pytest.approx([70.0, 114.0, 158.0, 202.0], abs=0.01)
    assert [post.room_mm is None for post in axle.posts] == [False, True, True, False]


def test_an_axle_is_recorded_with_what_it_passes_and_the_pieces_it_stands_on():
    # From 70 to 202 mm: pieces meet at 100, where the crook ends, and at 150.
    project, layout = keyed(KEYED + "\n[keywork]\npost_pitch_max_mm = 50\n")
    pieces = [
        PieceRecord(from_mm=low, to_mm=high, joint_mm=0.0, length_mm=high - low, holes=[])
        for low, high in ((100.0, 150.0), (150.0, 300.0))
    ]
    axle = key_records(project, layout, [], pieces)[2].axle
    assert [post.piece for post in axle.posts] == [0, 1, 2, 2]
    assert axle.crosses_joints == [0, 1]
    assert axle.height_mm == project.keywork.axle_height_mm
    assert axle.passes_over == axle.passes_fingers == []


def test_a_touch_without_a_place_has_no_lever():
    project, layout = keyed()
    low, link, octave = key_records(project, layout)
    assert (low.touch_position_mm, low.levers, low.axle) == (None, [], None)
    assert link.axle is None
    assert octave.touch_position_mm == 196.0
    assert octave.touch_azimuth_deg == 180.0
    # the touch gives 1 N / (gives x touch arm / pad arm)
    assert link.levers[0].stiffness_n_per_mm == pytest.approx(10.79121 / (0.00485594 * 15.0), rel=1e-3)


def test_a_link_says_about_which_line_it_turns_and_a_key_has_its_axle_for_that():
    # A pad arm round the body from the pad over h4, which lies at the front where the body is 30 mm thick.
    project, layout = keyed()
    low, link, octave = key_records(project, layout)
    assert abs(math.radians(link.turns_at_deg)) * 15.0 == pytest.approx(link.levers[0].pad_arm_mm, abs=0.01)
    assert low.turns_at_deg is octave.turns_at_deg is None


@pytest.mark.parametrize(
    ("angle", "expected"), [(math.pi, 180.0), (-math.pi, 180.0), (3.0 * math.pi / 2, -90.0), (0.0, 0.0)]
)
def test_azimuths_are_written_between_plus_and_minus_180(angle, expected):
    assert degrees(angle) == expected


@pytest.mark.parametrize("degrees_round", [-130.0, 17.0, 90.0])
def test_turning_the_pipe_turns_its_keys(degrees_round):
    here, there = (key_records(*keyed(text)) for text in (KEYED, turned(KEYED, degrees_round)))
    for first, second in zip(here, there, strict=True):
        assert first.levers == second.levers
        assert first.touch_position_mm == second.touch_position_mm
    way = there[2].touch_azimuth_deg - here[2].touch_azimuth_deg - degrees_round
    assert (way + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=0.011)
