"""Touches in rows, reach and levers away from the holes, worked out on paper on a tube of radius 20."""

import math

import numpy as np
import pytest
from rows import TUBE
from shelf import changed, pipe

from optimizer.geometry.axle_plans import axle_plans, axle_table
from optimizer.geometry.axles import lever_rows
from optimizer.geometry.choices import Choices, choice_arrays
from optimizer.geometry.layout import layout_bounds
from optimizer.geometry.measured_layout import measured
from optimizer.geometry.touches import key_plans
from optimizer.limits.fingers import hand_gap
from optimizer.limits.keys import ReachTable, cups, touch_reaches, touch_room
from optimizer.limits.pieces import joints
from optimizer.project.fingers import finger_pairs, finger_places, row_spacing_mm, row_span
from optimizer.solving.keys import key_records
from optimizer.solving.rows import row_records

RIGHT = "right = { position_mm = 600, spacing_mm = 26 }"
LOW = 'low = { touch = "R4"'
THIRD = 'k1 = { touch = "R3"'


def looked_at(text=TUBE):
    """The project, and its only layout measured."""
    project = pipe(text).project
    return project, measured(layout_bounds(project)[0], project)


def placed(finger, text=TUBE):
    """Where a finger of the rows lies: along the body [mm], round it [degrees]."""
    project, at = looked_at(text)
    number = finger_places(project)[finger]
    return float(at.fingers.position[number]), math.degrees(float(at.fingers.azimuth[number]))


def touch(key, text=TUBE):
    """Where the touch of a key lies: along the body [mm], round it [degrees]."""
    project, at = looked_at(text)
    number = [plan.key.id for plan in key_plans(project)].index(key)
    return float(at.touches.position[number]), math.degrees(float(at.touches.azimuth[number]))


def reaches(text=TUBE):
    """What each pair of fingers must reach [mm]."""
    project, at = looked_at(text)
    return dict(zip([pair.label for pair in finger_pairs(project)], at.pair_distances, strict=True))


def valued(family, text=TUBE):
    """Values of the limits of a family by name [mm]."""
    project, at = looked_at(text)
    items, values = family(project)
    return dict(zip([item.name for item in items], map(float, values(at)), strict=True))


def reached(text=TUBE):
    """How far fingers reach for touches that they do not rest on [mm], by key and from where."""
    project, at = looked_at(text)
    rows, plans = touch_reaches(project), key_plans(project)
    found = ReachTable(rows, len(plans)).distances(at)
    return {(plans[row.plan].key.id, row.origin): float(far) for row, far in zip(rows, found, strict=True)}


@pytest.mark.parametrize(
    ("finger", "position"),
    [("R1", 600.0), ("R2", 626.0), ("R3", 652.0), ("L1", 400.0), ("L3", 448.0)],  # 600 + 2 x 26, 400 + 2 x 24
)
def test_a_row_goes_toward_the_bell_from_the_index_finger(finger, position):
    assert placed(finger) == pytest.approx((position, 0.0))


def test_a_row_is_turned_as_a_whole():
    assert placed("R2", changed(RIGHT, RIGHT.replace(" }", ", azimuth_deg = -60 }"), TUBE)) == pytest.approx((626, -60))


def test_a_shorter_ring_finger_lands_toward_the_palm():
    # 2 mm round a radius of 20: 0.1 rad; the right hand's palm lies clockwise, the left hand's the other way.
    text = TUBE + "\n[hand]\nring_palm_offset_mm = 2.0\n"
    assert placed("R3", text) == pytest.approx((652.0, math.degrees(0.1)))
    assert placed("L3", text) == pytest.approx((448.0, -math.degrees(0.1)))
    assert reaches(text)["R2-R3"] == pytest.approx(26.0, abs=1e-3)  # as it lands by itself: chord 1.9992 of 2


def test_a_little_finger_rests_beyond_the_ring_finger():
    # 25 toward the bell, 15 toward the palm: 652 + 25, 15 / 20 = 0.75 rad.
    assert touch("low") == pytest.approx((677.0, math.degrees(0.75)))


def test_a_row_moves_its_little_finger():
    text = changed(RIGHT, RIGHT.replace(" }", ", little_along_mm = 18, little_across_mm = 10 }"), TUBE)
    assert touch("low", text) == pytest.approx((670.0, math.degrees(0.5)))  # 652 + 18; 10 / 20


def test_touches_of_a_thumb_lie_opposite_the_index_finger():
    # Two of them 14 apart about 400: 393 and 407.
    assert touch("up") == pytest.approx((393.0, 180.0))
    assert touch("top") == pytest.approx((407.0, 180.0))
    moved = changed("spacing_mm = 24 }", "spacing_mm = 24, thumb_along_mm = 12, thumb_deg = 150 }", TUBE)
    assert touch("up", moved) == pytest.approx((405.0, 150.0))  # 400 + 12 - 7


def test_fingers_of_a_row_reach_its_spacing():
    # In line along the body: 26, and 52 from index to ring. The left hand has one finger on a key, and no pair.
    assert reaches() == pytest.approx({"R1-R2": 26.0, "R2-R3": 26.0, "R1-R3": 52.0}, abs=1e-6)


def test_a_touch_beside_its_row_is_reached_aslant():
    # Round by the radius' chord (60 degrees: 20 pi / 3 mm of surface), along 26 - 5: 20, 21 and 29.
    text = changed(THIRD, f"{THIRD}, touch_along_mm = -5, touch_across_mm = {20 * math.pi / 3!r}", TUBE)
    assert placed("R3", text) == pytest.approx((647.0, 60.0))
    assert reaches(text)["R2-R3"] == pytest.approx(29.0, abs=1e-6)


def test_strain_in_a_row_is_a_share_of_the_way_to_the_limit():
    # Middle to ring is comfortable at 24 and has 29: 26.5 is half way, 50 %; index to middle, 25 and 31: 25 %.
    text = changed("spacing_mm = 26", "spacing_mm = 26.5", TUBE)
    _, at = looked_at(text)
    assert at.fixed.pairs.strains(at.pair_distances)[:2] == pytest.approx([0.25, 0.5], abs=1e-6)


def test_hands_in_rows_stay_apart():
    # From L3 at 448 to R1 at 600 are 152 mm, where 45 are asked for.
    assert valued(hand_gap) == pytest.approx({"hand_gap.L3-R1": 45.0 - 152.0})


@pytest.mark.parametrize(
    ("hand", "spacing"),
    [
        ("", 17.5),  # 70 % of 25, comfortable from index to middle
        ("left = { hand_breadth_mm = 80 }", 19.6),  # 0.245 x 80, of the other hand
        ("right = { hand_breadth_mm = 90 }", 22.05),
        ("right = { hand_breadth_mm = 60 }", 17.05),  # 14.7 is less than two fingers need, 17
    ],
)
def test_a_row_is_as_wide_as_the_knuckles(hand, spacing):
    text = changed(RIGHT, "right = { position_mm = 600 }", TUBE) + f"\n[hand]\n{hand}\n"
    assert row_spacing_mm(pipe(text).project, "R") == pytest.approx(spacing)


def test_a_row_may_lie_where_both_hands_have_room():
    # Half a finger, 8, from both ends; the left row 48 long, the right one 52 and 25 for its little finger; 45 between.
    text = changed("position_mm = 400, ", "", changed("position_mm = 600, ", "", TUBE))
    project = pipe(text).project
    assert row_span(project, "L") == pytest.approx((8.0, 1000 - 8 - 48 - 77 - 45))
    assert row_span(project, "R") == pytest.approx((8.0 + 48 + 45, 1000 - 8 - 77))


def test_a_second_touch_of_a_finger_lies_beside_it_toward_the_palm():
    # 14 mm round a radius of 20: 0.7 rad; the chord is 40 sin 0.35.
    assert touch("side") == pytest.approx((600.0, math.degrees(0.7)))
    assert reached()["side", "R1"] == pytest.approx(40 * math.sin(0.35), abs=1e-6)


def test_a_little_finger_reaches_from_ring_and_index_finger():
    # 25 along, and the chord 40 sin 0.375 = 14.6508 of the 15 mm that it lands by itself; from R1 77 along.
    aside = 40 * math.sin(0.375) - 15.0
    assert reached()["low", "R3"] == pytest.approx(math.hypot(25.0, aside), abs=1e-6)
    assert reached()["low", "R1"] == pytest.approx(math.hypot(77.0, aside), abs=1e-6)


def test_a_touch_that_a_finger_rests_on_asks_for_no_reach():
    assert {key for key, _ in reached()} == {"low", "side", "up", "top"}


def test_touches_of_one_finger_have_room():
    # Least 11; the thumb's two lie 14 apart, R1's a chord of 0.7 rad. R2's is 26 along from both: no limit asks.
    found = {"touch_room.up-top": 11.0 - 14.0, "touch_room.k3-side": 11.0 - 40 * math.sin(0.35)}
    assert valued(touch_room) == pytest.approx(found, abs=1e-6)


@pytest.mark.parametrize(
    ("old", "new", "pair", "apart"),
    [
        ('side = { touch = "R1"', 'side = { touch = "R1", touch_along_mm = 24, touch_across_mm = 0', "k2-side", 2.0),
        # The left thumb's upper touch, 7 above its middle, beside L3: 20 degrees round.
        (
            "spacing_mm = 24 }",
            "spacing_mm = 24, thumb_along_mm = 55, thumb_deg = 20 }",
            "k5-up",
            40 * math.sin(math.radians(10)),
        ),
        # L3 at 448, its little finger 25 beyond and 0.75 rad round; R1 at 478: 5 along.
        (LOW, 'low = { touch = "L4"', "k3-low", math.hypot(5.0, 40 * math.sin(0.375))),
    ],
)
def test_touches_of_two_fingers_have_room(old, new, pair, apart):
    text = changed(old, new, TUBE)
    if '"L4"' in new:
        text = changed("position_mm = 600", "position_mm = 478", changed("L3 R4", "L3 L4", text))
        text += "\n[hand]\nhand_gap_min_mm = 30\n"
    assert valued(touch_room, text)[f"touch_room.{pair}"] == pytest.approx(11.0 - apart, abs=1e-6)


def levers(text=TUBE):
    """Levers by key and pad: length, stretch that twists [mm]."""
    project, at = looked_at(text)
    plans, found = axle_plans(project), axle_table(project).levers(at)
    names = [(plans[axle].plan.key.id, project.holes[hole].id) for axle, hole in zip(*lever_rows(plans), strict=True)]
    return dict(zip(names, zip(np.asarray(found.length), np.asarray(found.twisted), strict=True), strict=True))


def test_levers_go_from_the_row_to_pads_far_away():
    found = levers()
    assert found["k1", "p1"] == pytest.approx((300.0, 300.0), abs=1e-3)  # 952 - 652, straight along the front
    assert found["k2", "p2"] == pytest.approx((50.0, 30.0), abs=1e-3)  # 3-4-5: 656 - 626, and 2 rad x 20 round
    assert found["link", "p4"] == pytest.approx((300.0, 300.0), abs=1e-3)  # a link starts from R1: 600 - 300


def test_a_finger_in_a_row_clears_the_cups_beside_it():
    # A pad at 615 in line, 15 from R1 and 11 from R2: half of cup and finger (16) and 1 mm between.
    text = changed("position_mm = 540", "position_mm = 615", TUBE).replace("position_mm = 656", "position_mm = 640")
    project, at = looked_at(text)
    cup = float(at.pads.cup_diameter_mm[[hole.id for hole in project.holes].index("p3")])
    found = valued(cups, text)
    assert found["cups.R1-p3"] == pytest.approx(0.5 * (cup + 16.0) + 1.0 - 15.0, abs=1e-6)
    assert found["cups.R2-p3"] == pytest.approx(0.5 * (cup + 16.0) + 1.0 - 11.0, abs=1e-6)


def test_joints_keep_clear_of_fingers_in_rows():
    # Half of a joint of 30 and of a finger of 16, and 5: 28 mm. R1 at 600 lies 10 from 610, R2 at 626 is 16, R3 at 652
    # is 42, L3 at 448 is 162; L1 and L2 rest on nothing.
    text = changed("[rows]", "[sections]\njoints = 1\njoint_mm = 30\npiece_max_mm = 900\n\n[rows]", TUBE)
    project = pipe(text).project
    layout = layout_bounds(project)[0]
    choice, _ = choice_arrays(project, Choices((), (), (0.5,)), layout.position_mm)
    layout = layout._replace(joint_mm=np.array([610.0]), choice=choice)
    items, values = joints(project)
    found = dict(zip([item.name for item in items], values(measured(layout, project)), strict=True))
    beside = {name: float(value) for name, value in found.items() if name[-2] in "LR"}
    assert beside == pytest.approx(
        {"joint.1-R1": 18.0, "joint.1-R2": 12.0, "joint.1-R3": -14.0, "joint.1-L3": -134.0}, abs=1e-6
    )


def test_posts_keep_clear_of_fingers_in_rows():
    # An axle along the front, its posts held; the one at the bell end stands 6 mm beyond R1, which is 16 broad: 8 and
    # 2.5 of the post are 4.5 mm more than there are.
    text = changed('link = { touch = "R1"', 'link = { touch = "R1", axle_deg = 0', TUBE)
    text = changed('moved_by = ["R1", "R2"]', 'moved_by = ["R1", "R2", "link"]', text)
    text = changed('side = { touch = "R1", opens', 'side = { touch = "R3", opens', text)
    text += "\n[keywork]\npost_shift_max_mm = 0\n"
    project, at = looked_at(text)
    found = {key.id: key for key in key_records(project, at.layout)}
    post = found["link"].axle.posts[-1]
    assert (post.position_mm, post.nearest, post.room_mm) == (606.0, "R1", -4.5)


def test_a_layout_keeps_its_rows():
    project, at = looked_at()
    left, right = row_records(project, at.layout)
    assert (left.hand, left.position_mm, right.spacing_mm) == ("left", 400.0, 26.0)
    assert [(each.finger, each.position_mm, each.key) for each in right.fingers] == [
        ("R1", 600.0, "k3"), ("R2", 626.0, "k2"), ("R3", 652.0, "k1"),
    ]  # fmt: skip
    assert [each.key for each in left.fingers] == [None, None, "k5"]
    assert right.fingers[0].body_diameter_mm == 40.0
