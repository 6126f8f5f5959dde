"""Where touches of keys lie, worked out by hand on a cylinder of 20 mm bore and 5 mm wall (radius 15)."""

import re

import numpy as np
import pytest
from layouts import LITTLE, keyed, turned
from shelf import KEYED, pipe

from optimizer.geometry.measured_layout import measured
from optimizer.geometry.touches import key_plans
from optimizer.project.touches import drawn_in_mm, side_by_side


@pytest.mark.parametrize(
    ("finger", "on_hole", "expected"),
    [
        ("L4", False, [(0.0, -14.0), (0.0, 0.0), (0.0, 14.0)]),  # round the body, the middle one where it rests
        ("LT", False, [(-14.0, 0.0), (0.0, 0.0), (14.0, 0.0)]),  # along the body
        ("LT", True, [(-14.0, 0.0), (-28.0, 0.0), (-42.0, 0.0)]),  # reedward of its hole
        ("L1", True, [(0.0, -14.0), (0.0, -28.0), (-14.0, -14.0)]),  # two in a row, toward the left hand's palm
        ("R1", True, [(0.0, 14.0), (0.0, 28.0), (-14.0, 14.0)]),
    ],
)
def test_touches_of_one_finger_lie_side_by_side(finger, on_hole, expected):
    assert [side_by_side(number, 3, finger, on_hole, 14.0) for number in range(3)] == expected


def test_a_little_finger_touches_below_the_ring_finger_toward_the_palm():
    # L3 at 260.25; 25 mm on, and 15 mm of the surface of radius 15 toward the left palm: one radian anticlockwise.
    project, layout = keyed(LITTLE)
    at = measured(layout, project).touches
    assert float(at.position[0]) == pytest.approx(285.25, abs=1e-9)
    assert float(at.azimuth[0]) == pytest.approx(-1.0, abs=1e-9)


def test_a_thumb_without_a_hole_rests_opposite_the_index_finger():
    text = re.sub(r"(?m)^h7.*\n", "", KEYED).replace("LT L", "L").replace("C5   1  LT\n", "C5   1  none\n")
    project = pipe(text).project
    plan = next(plan for plan in key_plans(project) if plan.key.id == "octave")
    assert (plan.rest.turn_deg, plan.along_mm, plan.across_mm) == (180.0, 0.0, 0.0)


def test_mirrored_hands_have_mirrored_keys():
    # The pipe mirrored and played with the hands swapped: all touches at opposite azimuths, all lengths the same.
    swap = {"L": "R", "R": "L"}
    text = re.sub(r"\b([LR])(?=[T1-4])", lambda found: swap[found[1]], turned(LITTLE, 0.0, -1))
    one, other = (key_places(source) for source in (LITTLE, text))
    assert other[0] == pytest.approx(one[0], abs=1e-9)
    assert np.cos(other[1]) == pytest.approx(np.cos(one[1]), abs=1e-9)
    assert np.sin(other[1]) == pytest.approx(-np.sin(one[1]), abs=1e-9)


def key_places(text):
    project, layout = keyed(text)
    at = measured(layout, project).touches
    return np.asarray(at.position), np.asarray(at.azimuth)


def test_touches_under_a_little_finger_are_drawn_toward_the_ring_finger_as_far_as_the_hand_asks():
    # Ring to little finger gauged at 24 mm; 0.97 x 24 = 23.28. A touch 14 mm to the side lies
    # sqrt(541.958 - 196) = 18.6000 along; the finger rests 22 down, so it is drawn in by 3.4000.
    project = pipe(KEYED + "[hand.left]\nring_little_mm = [20, 24]\n").project
    hand = project.hand.model_copy(update={"little_offset_mm": 22.0, "spacing_min_mm": 15.0})
    project = project.model_copy(update={"hand": hand})
    assert drawn_in_mm(project, "L4", -14.0, 22.0) == pytest.approx(3.4000, abs=1e-4)
    # Straight below: 22 is within 23.28.
    assert drawn_in_mm(project, "L4", 0.0, 22.0) == 0.0
    # Never nearer than fingers may come, 22 - 15 = 7; sqrt(541.958 - 400) = 11.9.
    assert drawn_in_mm(project, "L4", 20.0, 22.0) == 7.0
    assert drawn_in_mm(project, "L4", 30.0, 22.0) == 7.0
