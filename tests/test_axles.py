"""Touches, levers, axles and posts of keys, worked out by hand on a cylinder of 20 mm bore and 5 mm wall (radius 15).

Mechanics against Gere & Timoshenko, *Mechanics of Materials* (from memory): phi = T L / G J, J = pi (D^4 - d^4) / 32,
G = E / 2 (1 + nu), delta = F L^3 / 3 E I, I = w h^3 / 12.
"""

import math
import re

import numpy as np
import pytest
from layouts import layout_of, turned
from made_records import hole
from made_records import layout as made_layout
from shelf import KEYED, PIPE, changed, pipe

from optimizer.analysis.axle_sides import made_axles, made_sides, settled_sides
from optimizer.analysis.printed_pieces import Extended, LockError, with_locked, with_sides
from optimizer.geometry.axles import axle_plans, axle_table, with_posts
from optimizer.geometry.duct import fittings
from optimizer.geometry.measured_layout import measured
from optimizer.geometry.touches import drawn_in_mm, key_plans, side_by_side
from optimizer.limits.axles import lost_motion, post_limits
from optimizer.limits.keys import ReachTable, touch_reaches, touch_room
from optimizer.project.keywork import Keywork
from optimizer.project.loading import ProjectError
from optimizer.project.mechanics import Arm, Stock, bending_mm, pad_gives_mm, twist_rad
from optimizer.records.layout import BoreTable
from optimizer.records.pieces import PieceRecord
from optimizer.solving.keys import degrees, key_records

STEEL = 200e3
LITTLE = KEYED.replace('touch = "R4"', 'touch = "L4"')
KEYS = 'kLow = { touch = "L4", opens = ["h1"] }\nkTwo = { touch = "L4", opens = ["h1"] }\n'
TWO = KEYED.replace('kLow = { touch = "R4", opens = ["h1"] }\n', KEYS)


def keyed(text=KEYED):
    """Project and a layout of round numbers."""
    return pipe(text).project, layout_of(text=text)


# Handbook mechanics.


@pytest.mark.parametrize(
    ("stock", "expected"),
    [
        # 1 N at 15 mm on 400 mm of stock, E = 200 GPa, nu = 0.3, G = 76.923 GPa; lag 15 mm from the axle.
        # rod of 2: J = pi 16 / 32 = 1.5708; phi = 15 x 400 / (76923 x 1.5708) = 0.049656; x 15 = 0.7448
        (Stock(2.0, 0.0, STEEL, 0.3), 0.7448),
        # rod of 3: J = pi 81 / 32 = 7.9522, a factor (3/2)^4 = 5.0625 stiffer
        (Stock(3.0, 0.0, STEEL, 0.3), 0.14713),
        # brass tube 5 x 3, E = 100: J = pi (625 - 81) / 32 = 53.407; phi = 6000 / (38462 x 53.407) = 0.0029210
        (Stock(5.0, 3.0, 100e3, 0.3), 0.043815),
        # brass tube 4 x 3: J = pi (256 - 81) / 32 = 17.181; phi = 6000 / (38462 x 17.181) = 0.0090800
        (Stock(4.0, 3.0, 100e3, 0.3), 0.13620),
    ],
)
def test_the_twist_of_a_round_bar_or_tube(stock, expected):
    assert 15.0 * twist_rad(15.0, 400.0, stock) == pytest.approx(expected, rel=2e-4)


def test_the_deflection_of_a_cantilever():
    # 2 N at 50 mm, 5 wide and 4 high, E = 100 GPa: I = 5 x 64 / 12 = 26.667; 2 x 125000 / (3 x 1e5 x 26.667) = 0.03125
    assert bending_mm(2.0, 50.0, 5.0, 4.0, 100e3) == pytest.approx(0.03125, rel=1e-12)


def test_a_short_axle_with_stiff_arms_gives_nothing():
    stiff = Arm(5.0, 4.0, 1e15)
    assert pad_gives_mm(1.0, 15.0, 10.0, 1e-9, Stock(3.0, 0.0, STEEL, 0.3), stiff) == pytest.approx(0.0, abs=1e-9)


def test_what_a_pad_gives_is_the_sum_of_its_parts():
    # Touch arm 20, pad arm 10, axle 100 of 3 mm steel, arms 5 x 4 of 100 GPa (E I = 2.6667e6 N mm2), 1.5 N:
    # twist 30 x 100 / (76923 x 7.9522) = 0.0049043, x 10 = 0.049043; touch arm 1.5 x 8000 / 8e6 = 0.0015, at the pad
    # half of it 0.00075; pad arm 3 N: 3 x 1000 / 8e6 = 0.000375
    found = pad_gives_mm(1.5, 20.0, 10.0, 100.0, Stock(3.0, 0.0, STEEL, 0.3), Arm(5.0, 4.0, 100e3))
    assert found == pytest.approx(0.049043 + 0.00075 + 0.000375, rel=1e-4)


# Where touches lie.


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


def test_a_key_may_say_where_its_touch_lies():
    text = changed('touch = "LT", opens', 'touch = "LT", touch_along_mm = -20, touch_across_mm = 15, opens', KEYED)
    project, layout = keyed(text)
    at = measured(layout, project).touches
    assert float(at.position[1]) == pytest.approx(190.0, abs=1e-9)
    assert float(at.azimuth[1]) == pytest.approx(math.pi + 1.0, abs=1e-9)
    # 20 along, and the chord of one radian, 30 sin 0.5 = 14.3828: 24.6345 from the thumb's hole.
    assert reached(project, layout)["LT"] == pytest.approx(24.6345, abs=1e-3)


def reached(project, layout):
    """How far the finger must reach for the touch that is counted from each finger [mm]."""
    rows = touch_reaches(project)
    distances = ReachTable(rows, len(key_plans(project))).distances(measured(layout, project))
    return dict(zip([row.origin for row in rows], distances, strict=True))


def test_a_little_finger_must_reach_its_touch_from_ring_and_index_finger():
    # From L3: along 25, across the chord 2 x 15 sin 0.5 = 14.3828 of the 15 mm that it takes anyway: 25.0076.
    # From L1, which touches at 215: along 70.25: 70.2527.
    project, layout = keyed(LITTLE)
    assert reached(project, layout) == pytest.approx({"L3": 25.0076, "L1": 70.2527, "LT": 14.0}, abs=1e-3)


def test_two_touches_under_one_finger_need_room():
    # 14 mm round a radius of 15: the chord 30 sin(14 / 30) = 13.4974; at least 11.
    project, layout = keyed(TWO)
    items, values = touch_room(project)
    assert [item.name for item in items] == ["touch_room.kLow-kTwo"]
    assert float(values(measured(layout, project))[0]) == pytest.approx(11.0 - 13.4974, abs=1e-3)


# Axles, levers, posts.


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


def test_a_thin_rod_breaks_the_limit_and_says_so():
    # Steel rod of 2: G J = 76923 x 1.5708 = 120830, against 2.0541e6 of the tube. The octave key's touch lies behind,
    # 180 less 28.72 degrees from its axle: arm 15 x 2.64036 = 39.6054; pad arm 15 x 0.501230 = 7.51846; 96 mm twist by
    # 39.6054 x 96 / 120830 = 0.0314666, x 7.51846 = 0.236580. With 0.1 of play, more than a tenth of 2.5.
    text = (
        KEYED + '\n[keywork]\nstock = "rod"\nstock_outer_mm = 2\nstock_modulus_gpa = 200\nlost_motion_max_share = 0.1\n'
    )
    project, layout = keyed(text)
    items, values = lost_motion(project)
    row = [item.name for item in items].index("lost_motion.octave-v1")
    bends = 39.6054**2 * 7.51846 / 8e6 + 39.6054 * 7.51846**2 / 8e6
    assert float(values(measured(layout, project))[row]) == pytest.approx(0.236580 + bends + 0.1 - 0.25, abs=1e-4)
    assert "10 % of the opening of v1" in items[row].sentence


def test_a_post_is_told_from_what_stands_nearest():
    # An axle over the fingers' row, its posts held at 6 mm: the octave key at 196, so a post at 202 in front; L1 lies
    # at 215, 16 broad: 13 - 10.5 = 2.5 mm of room, and with 3 asked for 0.5 are lacking.
    text = changed('touch = "LT", opens', 'touch = "LT", axle_deg = 0, opens', KEYED)
    project, layout = keyed(text + "\n[keywork]\npost_shift_max_mm = 0\npost_clearance_mm = 3\n")
    items, values = post_limits(project)
    assert float(values(measured(layout, project))[1]) == pytest.approx(0.5, abs=1e-3)
    axle = key_records(project, layout)[2].axle
    assert axle is not None
    assert (axle.posts[-1].nearest, axle.posts[-1].room_mm) == ("h6", 2.5)
    assert axle.posts[-1].position_mm == 202.0
    assert "bell" in items[1].sentence


def test_a_post_keeps_clear_of_a_joint():
    # The same post at 202. The tenon around a bore of 20 is 26 mm wide, so the joint is 0.8 x 26 = 20.8 long; with its
    # middle at 222 it ends at 211.6: 9.6 less half of 5 is 7.1 mm of room.
    text = KEYED + "\n[keywork]\npost_shift_max_mm = 0\n[sections]\njoints = 1\njoint_mm = 20\npiece_max_mm = 500\n"
    project, _ = keyed(text)
    layout = layout_of(positions={"h6": 240.0, "h7": 210.0}, text=text)
    choice = layout.choice._replace(joint_used=np.ones(1))
    jointed = layout._replace(joint_mm=np.array([222.0]), choice=choice)
    found = axle_table(project).posts(measured(jointed, project))
    assert float(found.to_joints[1, 0]) == pytest.approx(7.1, abs=1e-3)


def test_long_axles_have_posts_between():
    # From 70 to 202 mm with at most 50 between posts: three spans of 44 mm.
    project, layout = keyed(KEYED + "\n[keywork]\npost_pitch_max_mm = 50\n")
    axle = key_records(project, layout)[2].axle
    assert axle is not None
    assert [post.position_mm for post in axle.posts] == pytest.approx([70.0, 114.0, 158.0, 202.0], abs=0.01)
    assert [post.room_mm is None for post in axle.posts] == [False, True, True, False]


@pytest.mark.parametrize(
    ("stock", "expected"),
    [
        # L = (48 E I s / F)^(1/3), I = pi (D^4 - d^4) / 64, s = 0.03, F = 1 (handbook formula, from memory).
        # steel rod of 3: I = pi 81 / 64 = 3.97608, E I = 795216; 48 x 795216 x 0.03 = 1145111; cube root 104.62
        ({"stock": "rod", "stock_outer_mm": 3.0, "stock_modulus_gpa": 200.0}, 104.62),
        # steel rod of 2: I = pi 16 / 64 = 0.785398, E I = 157080; 226195; 60.93
        ({"stock": "rod", "stock_outer_mm": 2.0, "stock_modulus_gpa": 200.0}, 60.93),
        # brass tube 5 x 3: I = pi (625 - 81) / 64 = 26.7035, E I = 2670354; 3845310; 156.67
        ({}, 156.67),
        # twice the force: a stretch shorter by the cube root of 2: 156.67 / 1.259921 = 124.35
        ({"finger_force_n": 2.0}, 124.35),
        ({"post_pitch_max_mm": 70.0}, 70.0),  # said outright
    ],
)
def test_the_stretch_between_posts_follows_from_the_stock(stock, expected):
    assert Keywork(**stock).post_pitch_mm == pytest.approx(expected, abs=0.02)


def test_a_touch_without_a_place_has_no_lever():
    project, layout = keyed()
    low, link, octave = key_records(project, layout)
    assert (low.touch_position_mm, low.levers, low.axle) == (None, [], None)
    assert link.axle is None
    assert octave.touch_position_mm == 196.0
    assert octave.touch_azimuth_deg == 180.0
    # the touch gives 1 N / (gives x touch arm / pad arm)
    assert link.levers[0].stiffness_n_per_mm == pytest.approx(10.79121 / (0.00485594 * 15.0), rel=1e-3)


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


def test_the_opening_of_a_pad_reaches_the_acoustics():
    # A wider hole opens further: 0.34 of it, at least 2.5; bare holes have no pad.
    project, layout = keyed()
    lift = np.asarray(fittings(measured(layout, project)).lift_mm)
    assert lift == pytest.approx([0.34 * 12, 0, 0.34 * 10, 0.34 * 8, 0, 0, 0, 2.5], abs=1e-9)


# Files that cannot be.


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            KEYED + '\n[keywork]\nstock = "rod"\nstock_inner_mm = 1\n',
            "keywork.stock_inner_mm: a rod has no bore, but got 1",
        ),
        (KEYED + "\n[keywork]\nstock_outer_mm = 3\n", "stock_inner_mm < stock_outer_mm must hold, but got 3 and 3"),
        (KEYED + "\n[keywork]\ntouch_spacing_mm = 5\n", "keywork.touch_spacing_mm: must be at least"),
        (KEYED + '\n[keywork]\nstock = "wire"\n', "keywork.stock: must be"),
        (
            changed('opens = ["v1"]', 'axle_deg = 90, axle_side = "clockwise", opens = ["v1"]', KEYED),
            "keys.octave: give axle_deg or axle_side, not both",
        ),
        (
            changed('opens = ["v1"], lever', 'together = ["link"], opens = ["v1"], lever', KEYED),
            "keys.octave.together: 'link' is neither another key of LT nor LT itself",
        ),
        (
            changed('moved_by = ["R1", "R2"]', 'moved_by = ["more"]', KEYED).replace(
                "[chart]", 'more = { touch = "R1", moved_by = ["link"], closes = ["h4"] }\n[chart]'
            ),
            "keys: link -> more -> link move each other in a circle",
        ),
    ],
)
def test_what_is_wrong_is_named(text, sentence):
    with pytest.raises(ProjectError) as caught:
        pipe(text)
    assert any(sentence in problem for problem in caught.value.problems), caught.value.problems


def test_the_defaults_are_a_brass_tube():
    assert Keywork().axle_stock == Stock(5.0, 3.0, 100e3, 0.3)
    assert Keywork(stock="rod", stock_outer_mm=3.0).axle_stock.inner_mm == 0.0


def test_a_keyless_pipe_has_no_axles():
    assert axle_plans(pipe(PIPE).project) == ()


def test_touches_under_a_little_finger_are_drawn_toward_the_ring_finger_as_far_as_the_hand_asks():
    # Ring to little finger gauged at 24 mm; 0.97 x 24 = 23.28. A touch 14 mm to the side lies
    # sqrt(541.958 - 196) = 18.6000 along; the finger rests 22 down, so it is drawn in by 3.4000.
    project = pipe(KEYED + "[hand.left]\nring_little_mm = [20, 24]\n").project
    hand = project.hand.model_copy(update={"little_offset_mm": 22.0, "spacing_min_mm": 15.0})
    project = project.model_copy(update={"hand": hand})
    assert drawn_in_mm(project, "L4", -14.0) == pytest.approx(3.4000, abs=1e-4)
    # Straight below: 22 is within 23.28.
    assert drawn_in_mm(project, "L4", 0.0) == 0.0
    # Never nearer than fingers may come, 22 - 15 = 7; sqrt(541.958 - 400) = 11.9.
    assert drawn_in_mm(project, "L4", 20.0) == 7.0
    assert drawn_in_mm(project, "L4", 30.0) == 7.0


# On which side of its pad an axle lies.


@pytest.mark.parametrize(("side", "sign"), [("clockwise", 1.0), ("counterclockwise", -1.0)])
def test_a_key_says_on_which_side_its_axle_lies(side, sign):
    # The link's pad lies in front, its axle 2 asin(10.56 / 30) = 0.719414 rad from it.
    project, layout = keyed(changed('touch = "R1", moved_by', f'touch = "R1", axle_side = "{side}", moved_by', KEYED))
    found = axle_table(project).axles(measured(layout, project))
    assert float(found.azimuth[0]) == pytest.approx(sign * 0.719414, abs=1e-5)


def test_sides_written_into_a_project_are_those_it_has_then():
    loaded = pipe(changed('opens = ["v1"]', 'axle_deg = 90, opens = ["v1"]', LITTLE))
    own = settled_sides(loaded.project)
    assert set(own) == {"kLow", "link"}
    other = {key: "counterclockwise" if side == "clockwise" else "clockwise" for key, side in own.items()}
    assert settled_sides(with_sides(loaded, other).project) == other
    assert settled_sides(with_sides(loaded, own).project) == own
    assert with_sides(loaded, {}) is loaded


def test_posts_on_a_printed_piece_say_where_their_axle_lies():
    # kLow's pad at 60 degrees: an axle at 20 is 40 degrees counterclockwise of it. The octave key's at 180: one at -170
    # is 10 degrees clockwise. Posts on pieces 2 and 3, and 1 and 2.
    project, layout = keyed(LITTLE)
    low, link, octave = key_records(project, layout)
    low, octave = on_pieces(low, 20.0, (2, 3)), on_pieces(octave, -170.0, (1, 2))
    record = made_layout(keys=[low, link, octave])
    turned_vent = pipe(changed("chimney_mm = 7 }", "chimney_mm = 7, azimuth_deg = 180 }", LITTLE)).project
    assert made_axles(record, [1]) == {"octave": -170.0}
    assert made_sides(turned_vent, made_axles(record, [1])) == {"octave": "clockwise"}
    assert made_sides(turned_vent, made_axles(record, [3])) == {"kLow": "counterclockwise"}
    assert made_sides(turned_vent, made_axles(record, [0])) == {}
    assert set(made_sides(turned_vent, made_axles(record, [2]))) == {"kLow", "octave"}


def on_pieces(key, azimuth_deg, pieces):
    posts = [post.model_copy(update={"piece": piece}) for post, piece in zip(key.axle.posts, pieces, strict=False)]
    return key.model_copy(update={"axle": key.axle.model_copy(update={"azimuth_deg": azimuth_deg, "posts": posts})})


# Posts that are printed already.

CUT = changed("[keys]", "[sections]\njoints = [1, 2]\npiece_max_mm = 500\njoint_mm = 16\n[keys]", KEYED)
"""The keyed pipe in pieces; its vent in front, at 0."""

FARTHER = changed('opens = ["v1"]', 'opens = ["v1"], closes = ["h4"]', CUT)
"""The octave key closes h4 too, some 150 mm from its touch, where the vent is some 100: its axle runs beside h4."""


def printed_upper(azimuth_deg):
    """The upper piece of CUT with the vent's axle at an azimuth."""
    octave = on_pieces(key_records(*keyed())[2], azimuth_deg, (1, 1))
    holes = [
        hole("h5", 260.25, 7.1234567, "L3"),
        hole("h6", 215.0, 8.0),
        hole("h7", 205.0, 6.0, "LT", azimuth_deg=180.0),
        hole("v1", 100.0, 2.0, "key", chimney_mm=7.0),
    ]
    pieces = [
        PieceRecord(from_mm=0.0, to_mm=280.0, joint_mm=20.0, length_mm=290.0, holes=[each.id for each in holes]),
        PieceRecord(from_mm=280.0, to_mm=580.0, joint_mm=0.0, length_mm=310.0, holes=[]),
    ]
    bore = BoreTable(points_mm=[(0.0, 20.0), (580.0, 20.0)], wall_mm=5.0, crook_end_mm=0.0)
    return made_layout(holes=holes, keys=[octave], pieces=pieces, bore=bore)


def locked_on(text, azimuth_deg):
    return with_locked(pipe(text), printed_upper(azimuth_deg), [1], Extended())


@pytest.mark.parametrize(("azimuth_deg", "side"), [(28.72, "clockwise"), (-28.72, "counterclockwise")])
def test_locking_keeps_an_axle_on_the_side_it_is_printed_on(azimuth_deg, side):
    # Both sides of the vent, of which the project by itself settles on one.
    assert settled_sides(locked_on(CUT, azimuth_deg).project)["octave"] == side


def test_a_printed_side_is_told_from_the_pad_that_the_axle_lies_beside_now():
    # The axle at 30 is clockwise of the vent at 0; of h4, turned to 60, it is counterclockwise.
    assert settled_sides(locked_on(FARTHER, 30.0).project)["octave"] == "clockwise"
    aside = changed("chimney_mm = [5, 8] }", "chimney_mm = [5, 8], azimuth_deg = 60 }", FARTHER)
    assert settled_sides(locked_on(aside, 30.0).project)["octave"] == "counterclockwise"


@pytest.mark.parametrize(
    ("said", "azimuth_deg", "sentence"),
    [
        ('axle_side = "clockwise"', -30.0, "keys.octave.axle_side: is printed counterclockwise, not clockwise"),
        ("axle_deg = 30", -30.0, "keys.octave.axle_deg: is printed at -30, not 30"),
        ("lever_max_mm = 150", 180.0, "in line with or opposite v1, so on which side of it cannot be told"),
    ],
)
def test_a_key_that_leads_its_axle_past_printed_posts_is_named(said, azimuth_deg, sentence):
    text = changed("lever_max_mm = 140", said, CUT)
    with pytest.raises(LockError) as caught:
        locked_on(text, azimuth_deg)
    assert len(caught.value.problems) == 1
    assert sentence in caught.value.problems[0]


@pytest.mark.parametrize(("said", "azimuth_deg"), [("axle_deg = 180", 180.0), ("axle_deg = 330", -30.0)])
def test_an_azimuth_that_is_as_printed_stays(said, azimuth_deg):
    loaded = locked_on(changed("lever_max_mm = 140", said, CUT), azimuth_deg)
    assert loaded.project.keys[2].axle_side is None
