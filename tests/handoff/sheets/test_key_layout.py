"""Keys laid flat, tube by tube, and levers cut across the tubes: places and lengths on paper, from the record."""

import math
from types import SimpleNamespace

import folded
import pytest
from places import CONFIGS

from optimizer.handoff.shapes.held import Held
from optimizer.handoff.sheets.crossing_levers import _from_line, bodies_at, crossing_plans, crossings
from optimizer.handoff.sheets.key_layout import key_plans
from optimizer.handoff.sheets.plan import Line, Round, Words
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord


@pytest.fixture(scope="module")
def record():
    return folded.solved()


def words(plan):
    return [shape.words for shape in plan.shapes if isinstance(shape, Words)]


def depth(position):
    """How far down the fold pipe a place on one of its tubes lies, on paper."""
    if position < 500.0:
        return position
    return 500.0 - (position - folded.SECOND) if position < folded.THIRD else 100.0 + position - folded.THIRD


def test_a_straight_body_has_one_plan_from_its_reed_end():
    tenor = read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)
    (plan,) = key_plans(tenor)
    assert plan.name == "keys"
    (h08,) = (hole for hole in tenor.holes if hole.id == "h08")
    radius = 0.5 * tenor.bore.body_diameter_mm(h08.position_mm)
    centres = [shape.centre for shape in plan.shapes if isinstance(shape, Round) and shape.layer == "holes"]
    assert (pytest.approx(h08.position_mm), pytest.approx(-radius * math.radians(h08.azimuth_deg))) in centres
    assert crossing_plans(tenor) == []


def test_every_tube_has_a_plan_with_what_stands_on_it_at_its_depth(record):
    plans = key_plans(record)
    assert [plan.name for plan in plans] == ["keys-tube-1", "keys-tube-2", "keys-tube-3"]
    for number, ids in ((0, {"h3", "h4"}), (1, {"h2"}), (2, {"h1"})):
        centres = {
            shape.centre for shape in plans[number].shapes if isinstance(shape, Round) and shape.layer == "holes"
        }
        holes = [hole for hole in record.holes if hole.id in ids]
        assert ids <= set(words(plans[number]))
        for hole in holes:
            wanted = depth(hole.position_mm), -14.0 * math.radians(hole.azimuth_deg)
            assert any(math.dist(wanted, centre) < 1e-6 for centre in centres)
        assert len(centres) == len(holes)


def test_rods_posts_and_bends_are_on_the_plan_of_their_tube(record):
    second = key_plans(record)[1]
    (k2,) = (key for key in record.keys if key.id == "k2")
    posts = [shape.centre[0] for shape in second.shapes if isinstance(shape, Round) and shape.layer == "outline"]
    assert posts == pytest.approx(sorted(depth(post.position_mm) for post in k2.axle.posts))
    assert {"bend low, 500.00 down", "bend high, 100.00 down"} <= set(words(second))


def test_a_lever_to_another_tube_is_named_at_both_its_ends(record):
    first, second, third = map(words, key_plans(record))
    assert "k3: arm to tube 2" in first  # its rod beside h3, its touch in the row on the second tube
    assert "touch of k3, R3; rod on tube 1" in second
    assert "k1: arm to tube 2" in third
    assert "touch of k2, R2" in second  # its rod is there, too


def test_a_crossing_arm_is_as_long_as_the_straight_line_in_its_plane(record):
    found = {lever.key: lever for lever in crossings(Held(record))}
    assert set(found) == {"k1", "k3"}
    (k3,) = (key for key in record.keys if key.id == "k3")
    rod, touch = math.radians(k3.axle.azimuth_deg), math.radians(k3.touch_azimuth_deg)
    high = 14.0 + k3.axle.height_mm
    wanted = math.hypot(
        14.0 * math.cos(touch) - high * math.cos(rod), 60.0 + 14.0 * math.sin(touch) - high * math.sin(rod)
    )
    assert found["k3"].arm_mm == pytest.approx(wanted)
    assert found["k3"].end[2] == pytest.approx(depth(k3.touch_position_mm))
    plan = next(plan for plan in crossing_plans(record) if plan.name == "keys-across-k3")
    (arm,) = (shape for shape in plan.shapes if isinstance(shape, Line) and shape.layer == "outline")
    assert math.dist(*arm.points) == pytest.approx(wanted)
    assert f"{wanted:.2f} mm long, straight" in words(plan)


def test_a_body_in_the_way_of_an_arm_is_told(record):
    (k3,) = (key for key in record.keys if key.id == "k3")
    behind = k3.model_copy(update={"axle": k3.axle.model_copy(update={"azimuth_deg": -90.0})})
    turned = record.model_copy(update={"keys": [behind]})
    (plan,) = crossing_plans(turned)  # the first tube lies between its left side and the second tube
    assert any(said.startswith("tube 1") and said.endswith("in its way: lead it round") for said in words(plan))


def test_a_body_beyond_the_end_of_an_arm_is_as_far_as_that_end():
    start, end = (0.0, 3.0), (30.0, 3.0)
    assert [_from_line(point, start, end) for point in ((10.0, 7.0), (33.0, 7.0), (-3.0, -1.0))] == [4.0, 5.0, 5.0]


def test_the_tubes_that_are_at_a_depth(record):
    held = Held(record)
    assert [number for number, *_ in bodies_at(held, 50.0)] == [0]
    found = {number: (*middle, *radii) for number, middle, *radii in bodies_at(held, 300.0)}
    assert found[0] == pytest.approx((0.0, 0.0, 14.0, 10.0))
    assert found[1] == pytest.approx((60.0, 0.0, 14.0, 10.0))  # to the right, to the front
    assert found[2] == pytest.approx((60.0, 60.0, 14.0, 10.0))


def test_no_lever_crosses_on_a_straight_body():
    straight = SimpleNamespace(record=SimpleNamespace(bore=SimpleNamespace(bends=[])))
    assert crossings(straight) == []
