"""Axles, levers and openings of keys, worked out by hand on a cylinder of 20 mm bore and 5 mm wall (radius 15)."""

import math

import numpy as np
import pytest
from layouts import keyed, layout_of
from shelf import KEYED, PIPE, changed, pipe

from optimizer.geometry.axle_plans import axle_plans, axle_table, post_table
from optimizer.geometry.duct import fittings
from optimizer.geometry.measured_layout import measured
from optimizer.geometry.posts import with_posts


def test_an_axle_lies_beside_its_pad_and_ends_beyond_its_arms():
    # The vent at 100 is 2 wide: cup 2 + 2 (1.2 + 0.04) + 2.5 + 0.9 = 7.88; half of it and of the post 5, and 1: 7.44.
    # The touch is at 196. First places of the posts: 6 mm beyond either.
    project, layout = keyed()
    plans = with_posts(axle_plans(project))
    assert [plan.plan.key.id for plan in plans] == ["octave"]
    assert float(measured(layout, project).beside_pad_mm[7]) == pytest.approx(7.44, abs=1e-9)
    found = axle_table(project).axles(measured(layout, project))
    row = axle_plans(project).index(plans[0])
    assert abs(float(found.azimuth[row])) == pytest.approx(2 * math.asin(7.44 / 30), abs=1e-9)
    assert (float(found.reed_mm[row]), float(found.bell_mm[row])) == pytest.approx((94.0, 202.0), abs=1e-9)


def test_an_axle_is_never_shorter_than_the_project_says():
    # The touch at 210 - 110 = 100, the vent at 102: 2 + 2 x 6 = 14 between the posts' first places, but 20 needed: 10
    # either way of 101.
    text = changed("lever_max_mm = 140", "touch_along_mm = -110", KEYED) + "\n[keywork]\ntouch_reach_mm = 200\n"
    project = pipe(text).project
    moved = layout_of(positions={"v1": 102.0}, text=text)
    found = axle_table(project).axles(measured(moved, project))
    assert (float(found.reed_mm[1]), float(found.bell_mm[1])) == pytest.approx((91.0, 111.0), abs=1e-9)


def test_levers_and_what_they_lose():
    # The link, from R1's touch at 405 to h4 at 350, both in front; h4 is 8 wide: cup 14.12, axle 10.56 beside it, an
    # angle of 2 asin(10.56 / 30) = 0.719414, 10.79121 mm round the body: pad arm; the touch arm would be as long, at
    # least 15. 1 N: twist 15 x 55 / (38461.54 x 53.4071) = 4.016322e-4, x 10.79121 = 0.00433410; touch arm bends
    # 15^3 / 8e6 = 4.21875e-4, at the pad x 10.79121 / 15 = 3.03503e-4; pad arm 15 x 10.79121^2 / 8e6 = 2.18344e-4.
    # With 2 pivots of 0.05 and a link's 0.2: 0.3049.
    project, layout = keyed()
    found = axle_table(project).levers(measured(layout, project))
    assert float(found.length[0]) == pytest.approx(55.0, abs=1e-6)
    assert float(found.pad_arm[0]) == pytest.approx(10.79121, abs=1e-4)
    assert float(found.touch_arm[0]) == pytest.approx(15.0, abs=1e-9)
    assert float(found.gives[0]) == pytest.approx(0.00433410 + 0.000303503 + 0.000218344, abs=2e-7)
    assert float(found.lost[0]) == pytest.approx(0.3049, abs=1e-4)
    assert float(found.opening[0]) == pytest.approx(2.72, abs=1e-9)


def test_a_post_keeps_clear_of_a_joint():
    # The same post at 202. The tenon around a bore of 20 is 26 mm wide, so the joint is 0.8 x 26 = 20.8 long; with its
    # middle at 222 it ends at 211.6: 9.6 less half of 5 is 7.1 mm of room.
    text = KEYED + "\n[keywork]\npost_shift_max_mm = 0\n[sections]\njoints = 1\njoint_mm = 20\npiece_max_mm = 500\n"
    project, _ = keyed(text)
    layout = layout_of(positions={"h6": 240.0, "h7": 210.0}, text=text)
    choice = layout.choice._replace(joint_used=np.ones(1))
    jointed = layout._replace(joint_mm=np.array([222.0]), choice=choice)
    found = post_table(project).posts(measured(jointed, project))
    assert float(found.to_joints[1, 0]) == pytest.approx(7.1, abs=1e-3)


def test_the_opening_of_a_pad_reaches_the_acoustics():
    # A wider hole opens further: 0.34 of it, at least 2.5; bare holes have no pad.
    project, layout = keyed()
    lift = np.asarray(fittings(measured(layout, project)).lift_mm)
    assert lift == pytest.approx([0.34 * 12, 0, 0.34 * 10, 0.34 * 8, 0, 0, 0, 2.5], abs=1e-9)


def test_a_keyless_pipe_has_no_axles():
    assert axle_plans(pipe(PIPE).project) == ()


@pytest.mark.parametrize(("side", "sign"), [("clockwise", 1.0), ("counterclockwise", -1.0)])
def test_a_key_says_on_which_side_its_axle_lies(side, sign):
    # The link's pad lies in front, its axle 2 asin(10.56 / 30) = 0.719414 rad from it.
    project, layout = keyed(changed('touch = "R1", moved_by', f'touch = "R1", axle_side = "{side}", moved_by', KEYED))
    found = axle_table(project).axles(measured(layout, project))
    assert float(found.azimuth[0]) == pytest.approx(sign * 0.719414, abs=1e-5)
