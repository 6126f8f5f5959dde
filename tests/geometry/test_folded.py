"""Reach and clearance on a folded body, each case worked out on paper: see `folded` for its tubes.

The body is 14 mm from axis to surface; the tubes' axes lie 60 mm apart: the second tube to the right of the first, the
third in front of the second.
"""

import numpy as np
import pytest
from folded import BEND, CONED, FOLDED, SECOND, SECTIONS, THIRD, refolded, solved_cone
from shelf import pipe

from optimizer.geometry.axle_plans import axle_table
from optimizer.geometry.fold import Fold
from optimizer.geometry.layout import layout_bounds, with_numbers
from optimizer.geometry.measured_layout import measured
from optimizer.geometry.pieces import piece_diameters, piece_extents
from optimizer.geometry.reach import reach_distance
from optimizer.geometry.space import Places, Points, distance, straight_line
from optimizer.limits.bends import apart, beside_tubes, off_bends

POSITIONS = (1250.0, 800.0, 420.0, 250.0)
UP = SECOND + 150.0


@pytest.fixture(scope="module")
def project():
    return pipe(FOLDED).project


@pytest.fixture(scope="module")
def fold(project):
    return Fold(project.bends)


def place(position, azimuth, height=14.0):
    return Places(*map(np.array, (position, np.radians(azimuth), height)))


POINTS = {
    "down the first tube": (120.0, 0.0, (120, 14, 0)),
    "up the second: 500 - 150, its axis 60 to the right": (UP, 0.0, (350, 14, 60)),
    "the player's right, on every tube": (UP, 90.0, (350, 0, 74)),
    "down the third: 100 + 40; its back is at 60 - 14": (THIRD + 40.0, 180.0, (140, 46, 60)),
    "inside the low bend, at its deepest: 500 + 30 - 14": (500.0 + BEND / 2.0, 90.0, (516, 0, 30)),
    "outside of it: 500 + 30 + 14": (500.0 + BEND / 2.0, 270.0, (544, 0, 30)),
    "the side of it: the axis is 500 + 30 deep": (500.0 + BEND / 2.0, 0.0, (530, 14, 30)),
    "outside the high bend, at its top: 100 - 30 - 14": (SECOND + 400 + BEND / 2.0, 180.0, (56, 30, 60)),
}


@pytest.mark.parametrize("case", POINTS.values(), ids=POINTS)
def test_places_are_points_and_back(fold, case):
    position, azimuth, (depth, front, right) = case
    there = place(position, azimuth)
    points = fold.points(there)
    assert [float(value) for value in points] == pytest.approx([depth, front, right], abs=1e-9)
    back = fold.places(Points(*map(np.atleast_1d, points)))
    assert [float(back.position[0]), float(back.height[0])] == pytest.approx([position, 14.0])
    assert np.cos(float(back.azimuth[0]) - np.radians(azimuth)) == pytest.approx(1.0)
    assert sum(float(part) ** 2 for part in fold.outward(there)) == pytest.approx(1.0)


REACH = {
    "side by side on two tubes": ((350.0, 0.0), (UP, 0.0), 60.0),
    "40 mm further down: 40, 60": ((310.0, 0.0), (UP, 0.0), (40**2 + 60**2) ** 0.5),
    "facing each other: 60 - 2 x 14": ((350.0, 90.0), (UP, -90.0), 32.0),
    "from the second tube's front to the third's back: 60 - 2 x 14": ((UP, 0.0), (THIRD + 250.0, 180.0), 32.0),
    "from the first tube to the third, both in front: 60, 60": ((350.0, 0.0), (THIRD + 250.0, 0.0), 7200**0.5),
    "up one tube, 30 mm apart": ((UP, 0.0), (UP - 30.0, 0.0), 30.0),
    "round one tube, a quarter: chord 14 x the root of 2": ((UP, 0.0), (UP, 90.0), 14.0 * 2**0.5),
}


@pytest.mark.parametrize("case", REACH.values(), ids=REACH)
def test_reach_goes_through_the_air(fold, case):
    (here, there), apart = (place(*end) for end in case[:2]), case[2]
    assert float(distance(fold.points(here), fold.points(there))) == pytest.approx(apart)
    assert float(straight_line(*fold.ways_between(here, there))) == pytest.approx(apart)


def test_fingers_take_part_of_the_way_between_tubes_by_themselves(fold):
    # 60 mm to the right, of which the lower finger lands 15 by itself; 28 mm further down: 28 and 45 are 53.
    ways = fold.ways_between(place(322.0, 0.0), place(UP, 0.0))
    assert [float(way) for way in ways] == pytest.approx([28.0, 0.0, 60.0], abs=1e-9)
    assert float(reach_distance(ways, np.array(15.0))) == pytest.approx(53.0)


def layout_of(project, positions=POSITIONS, row=700.0, **numbers):
    low = layout_bounds(project)[0]
    return with_numbers(low, {"position_mm": np.array(positions), "row_mm": np.array([row]), **numbers})


def test_a_row_runs_down_the_player_on_a_tube_that_runs_up(project):
    # Index, middle and ring finger one below the other: nearer the reed along this tube. 500 - (700 - 594.25) = 394.25.
    found = measured(layout_of(project), project)
    assert np.all(np.diff(np.asarray(found.row_fingers.position)) < 0)
    assert float(found.finger_depths[4]) == pytest.approx(500.0 - (700.0 - SECOND))
    assert np.all(np.diff(np.asarray(found.finger_depths)[4:7]) > 0)


def margins(family, project, **changed):
    items, values = family(project)
    return dict(
        zip([item.name for item in items], values(measured(layout_of(project, **changed), project)), strict=True)
    )


def test_things_keep_off_bends(project):
    # Cup of h3, 12 mm wide: 12 + 2 (1.2 + 0.24) + 2.5 + 0.9 = 18.28, half of it 9.14 and the clearance short of 500.
    found, clear = margins(off_bends, project), project.keywork.cup_clearance_mm
    half = 0.5 * float(measured(layout_of(project), project).cover_mm[2])
    assert half == pytest.approx(9.14)
    assert found["bend.low-h3"] == pytest.approx(420.0 + half + clear - 500.0)
    # The bare finger on h4 lies far up the same tube; half a finger is its breadth's half.
    assert found["bend.low-h4"] == pytest.approx(250.0 + 0.5 * project.hand.finger_breadth_mm + clear - 500.0)
    # The ring finger's place in the row is the lowest, nearest the low bend.
    spacing = float(np.diff(np.asarray(measured(layout_of(project), project).row_fingers.position))[0])
    ring = 700.0 + 2.0 * spacing
    assert found["bend.low-R3"] == pytest.approx(SECOND + 0.5 * project.hand.finger_breadth_mm + clear - ring)


def test_pads_keep_clear_of_the_tube_beside_them(project):
    clear = project.keywork.cup_clearance_mm
    # h3 on the first tube, 40 degrees to the left: the second tube's axis lies 60 sin 130 = 45.96 aside and
    # 60 cos 130 = -38.57 up, 38.57 + 14 below the surface. Beyond the cup's edge, 9.14: 36.82 aside; their root 64.19,
    # less 14.
    aside, down = 60.0 * np.sin(np.radians(130.0)) - 9.14, 14.0 - 60.0 * np.cos(np.radians(130.0))
    found = margins(beside_tubes, project)
    assert found["tube.h3-2"] == pytest.approx(clear - (np.hypot(aside, down) - 14.0), abs=1e-4)
    # h4 in front: 60 aside less half a finger, 14 below.
    half = 0.5 * project.hand.finger_breadth_mm
    assert found["tube.h4-2"] == pytest.approx(clear - (np.hypot(60.0 - half, 14.0) - 14.0), abs=1e-4)
    # Turned to face the second tube: its axis lies in the middle of the finger's way, 60 out.
    facing = pipe(refolded("chimney_mm = 4 }", "chimney_mm = 4, azimuth_deg = 90 }")).project
    assert margins(beside_tubes, facing)["tube.h4-2"] == pytest.approx(clear + 14.0 + half, abs=1e-2)
    # Above all of the second tube, whose bend ends 100 - 30 - 14 = 56 deep, nothing is beside it: 30 + half is 26 off.
    high = pipe(refolded("position_mm = [200, 300]", "position_mm = 20")).project
    up = margins(beside_tubes, high, positions=(1250.0, 800.0, 420.0, 20.0))["tube.h4-2"]
    assert up < clear - (56.0 - 20.0 - half) + 1e-3


def test_fittings_keep_clear_of_the_tube_beside_them():
    # A peg 20 mm wide on the first tube, turned to the second: that one's axis lies in the middle of its way, 60 out;
    # turned away, behind it: 60 + 14 below its foot, 10 aside that is its own half width.
    peg = "\n[fittings]\npeg = {{ position_mm = [120, 180], length_mm = 12, width_mm = 20, azimuth_deg = {} }}\n"
    toward, away = (pipe(FOLDED + peg.format(azimuth)).project for azimuth in (90, -90))
    clear = toward.keywork.cup_clearance_mm
    assert margins(beside_tubes, toward)["tube.peg-2"] == pytest.approx(clear + 14.0 + 10.0, abs=1e-2)
    assert margins(beside_tubes, away)["tube.peg-2"] == pytest.approx(clear - (74.0 - 14.0), abs=1e-2)
    items, _ = beside_tubes(toward)
    (said,) = [item.sentence for item in items if item.name == "tube.peg-2"]
    assert said == f"peg leaves {clear:g} mm to tube 2, counted from the reed"
    # Above all of the second tube, whose bend ends 56 deep: 40 mm long about a depth of 30, it ends 6 mm short of that.
    long = peg.replace("[120, 180], length_mm = 12", "30, length_mm = 40").format(90)
    assert margins(beside_tubes, pipe(FOLDED + long).project)["tube.peg-2"] == pytest.approx(clear - 6.0, abs=1e-2)


def test_tubes_that_a_number_shapes_keep_their_walls_apart():
    # A cone of 1.5 degrees, 0.0261859: at a place s the body is 14 + 0.0261859 s thick from axis to surface. A bend has
    # to leave that at its far end. As deep on the first and the second tube are places whose sum is 500 and SECOND, on
    # the second and the third SECOND, 500, THIRD and -100; on the first and the third, 60 beside and 60 in front, most
    # where both are deepest, 500 and THIRD + 400. At 0 degrees all are 28 thick in sum.
    project, slope = pipe(CONED).project, 0.0261859
    found = margins(apart, project, cone_half_angle_deg=np.array(1.5))
    assert found == pytest.approx(
        {
            "fold.low": 14.0 + slope * SECOND - 30.0,
            "fold.high": 14.0 + slope * THIRD - 30.0,
            "fold.1-2": 28.0 + slope * (500.0 + SECOND) - 60.0,
            "fold.2-3": 28.0 + slope * (500.0 + SECOND + THIRD - 100.0) - 60.0,
            "fold.1-3": 28.0 + slope * (900.0 + THIRD) - 60.0 * 2.0**0.5,
        },
        abs=1e-3,
    )
    plain = margins(apart, project, cone_half_angle_deg=np.array(0.0))
    assert [plain[name] for name in ("fold.high", "fold.2-3")] == pytest.approx([-16.0, -32.0])
    assert margins(apart, pipe(FOLDED).project) == {}


def test_a_rod_lies_along_the_pads_tube_and_its_arm_crosses(project):
    # k1 is touched on the second tube, at 394.25 deep; its pad on the third at 1250: 100 + 1250 - 1088.50 = 261.50.
    found = measured(layout_of(project), project)
    table = axle_table(project)
    axles = table.axles(found)
    reed, bell = float(axles.reed_mm[0]), float(axles.bell_mm[0])
    overhang = project.keywork.post_overhang_mm
    touch = float(found.finger_depths[4]) - 100.0 + THIRD
    assert (reed, bell) == pytest.approx((1250.0 - overhang, touch + overhang))
    levers = table.levers(found)
    along = 394.25 - 261.50
    assert float(levers.twisted[0]) == pytest.approx(along, abs=0.01)
    # Across: from the touch at azimuth 60 + what the index lands aside on the second tube, to the pad at 60 degrees on
    # the third, whose axis is 60 in front.
    turn = float(found.touches.azimuth[0])
    here = np.array([14.0 * np.cos(turn), 60.0 + 14.0 * np.sin(turn)])
    there = np.array([60.0 + 14.0 * np.cos(np.radians(60.0)), 60.0 + 14.0 * np.sin(np.radians(60.0))])
    across = np.linalg.norm(there - here)
    assert float(levers.length[0]) == pytest.approx(np.hypot(float(levers.twisted[0]), across), abs=1e-3)


def test_a_piece_with_a_bend_takes_up_both_of_its_tubes():
    # From the joint at 400 to that at 700, half a joint more either way: some 388 deep at one end, 500 - (712 - 594.25)
    # at the other, and down to 500 + 30 + 14 = 544. Across: 60 + 28.
    text = FOLDED + SECTIONS
    project = pipe(text).project
    layout = layout_of(project, joint_mm=np.array([400.0, 700.0]))
    found = measured(layout._replace(choice=layout.choice._replace(joint_used=np.ones(2))), project)
    length = float(found.joint_length[0])
    other = 500.0 - (700.0 + 0.5 * float(found.joint_length[1]) - SECOND)
    assert float(piece_extents(found)[1]) == pytest.approx(544.0 - min(400.0 - 0.5 * length, other))
    assert float(piece_diameters(found)[1]) == pytest.approx(88.0)


def test_a_number_shapes_a_folded_bore_as_it_is_solved():
    # The cone's diameter at the bell by trigonometry: 20 + 2 x 1500 tan(angle); its bends and tubes stay clear.
    record = solved_cone()
    assert record.feasible
    angle = record.bore.shaped_by["cone_half_angle_deg"]
    (_, reed), (end, bell) = record.bore.points_mm[0], record.bore.points_mm[-1]
    assert (reed, bell) == pytest.approx((20.0, 20.0 + 2.0 * end * np.tan(np.radians(angle))), abs=2e-3)
    assert [bend.id for bend in record.bore.bends] == ["low", "high"]
    assert min(record.margins_mm[name] for name in ("fold.low", "fold.high", "fold.1-2", "fold.2-3")) > 0.0
