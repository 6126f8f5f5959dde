"""Axes, discs and points for keywork: against figures of the tenor's record, by vectors."""

from math import atan2, degrees, dist, hypot

import folded
import numpy as np
import pytest
from places import CONFIGS

from optimizer.handoff.shapes.link_axis import link_axis
from optimizer.handoff.step.skeleton import Bow, Disc, Spot, skeleton
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord


@pytest.fixture(scope="module")
def tenor():
    return read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)


@pytest.fixture(scope="module")
def marks(tenor):
    """Every mark by its name."""
    return {mark.name: mark for group in skeleton(tenor) for mark in group.marks}


def seen(place):
    """A place as the record tells one: along the instrument, azimuth, distance from the axis."""
    x, y, z = place
    return z, degrees(atan2(y, x)), hypot(x, y)


def test_names_are_each_ones_own(tenor, marks):
    assert len(marks) == sum(len(group.marks) for group in skeleton(tenor))


def test_every_hole_has_its_axis_up_to_its_top(tenor, marks):
    for hole in tenor.holes:
        axis = marks[f"axis of {hole.id}"]
        top = 0.5 * hole.bore_diameter_mm + hole.chimney_mm
        assert axis.start == pytest.approx((0.0, 0.0, hole.position_mm), abs=1e-9)
        assert seen(axis.end) == pytest.approx((hole.position_mm, hole.azimuth_deg, top))


def test_every_pad_lies_on_its_seat_and_its_cup_stands_off_as_far_as_it_opens(tenor, marks):
    padded = [hole for hole in tenor.holes if hole.pad is not None]
    assert padded
    for hole in padded:
        pad, cup = marks[f"pad of {hole.id}"], marks[f"cup of {hole.id}, open"]
        assert isinstance(pad, Disc)
        assert (pad.diameter_mm, cup.diameter_mm) == (hole.pad.diameter_mm, hole.pad.cup_diameter_mm)
        assert pad.middle == pytest.approx(marks[f"axis of {hole.id}"].end)
        lift = np.subtract(cup.middle, pad.middle)
        assert float(lift @ np.array(pad.facing)) == pytest.approx(hole.pad.opening_mm)
        assert float(np.linalg.norm(lift)) == pytest.approx(hole.pad.opening_mm)


def test_every_rod_runs_straight_over_its_posts(tenor, marks):
    standing = [key for key in tenor.keys if key.axle is not None]
    assert standing
    for key in standing:
        rod, axle = marks[f"rod of {key.id}"], key.axle
        feet = [marks[f"post {number} of {key.id}"] for number in range(1, len(axle.posts) + 1)]
        assert abs(rod.end[2] - rod.start[2]) == pytest.approx(axle.length_mm, abs=0.01)  # the record's is rounded
        for post, foot in zip(axle.posts, feet, strict=True):
            body = 0.5 * tenor.bore.body_diameter_mm(post.position_mm)
            assert seen(foot.start) == pytest.approx((post.position_mm, axle.azimuth_deg, body))
            along = dist(rod.start, foot.end) + dist(foot.end, rod.end)
            assert along == pytest.approx(dist(rod.start, rod.end))  # on the rod's line
        for foot in (feet[0], feet[-1]):
            assert dist(foot.start, foot.end) == pytest.approx(axle.height_mm)


def test_arms_begin_on_the_rod_and_end_at_touch_and_pad(tenor, marks):
    for key in tenor.keys:
        if key.axle is None or key.touch_position_mm is None:
            continue
        touch = marks[f"touch of {key.id}"]
        assert isinstance(touch, Spot)
        body = 0.5 * tenor.bore.body_diameter_mm(key.touch_position_mm)
        assert seen(touch.place) == pytest.approx((key.touch_position_mm, key.touch_azimuth_deg, body))
        rod = marks[f"rod of {key.id}"]
        arms = [mark for name, mark in marks.items() if name.startswith(f"arm of {key.id} to ")]
        assert len(arms) == len(key.levers)
        for arm in [marks[f"touch arm of {key.id}"], *arms]:
            assert arm.start[2] == pytest.approx(arm.end[2])  # square to the rod, as its place along the body is
            line = np.subtract(rod.end, rod.start)
            off = np.cross(np.subtract(arm.start, rod.start), line / np.linalg.norm(line))
            assert float(np.linalg.norm(off)) == pytest.approx(0.0, abs=1e-9)


def as_link(key, **told):
    """A key without its axle, as links are in files; what else is told of it."""
    return key.model_copy(update={"axle": None, **told})


def test_a_link_without_its_azimuth_turns_where_its_arms_put_it(tenor):
    # Axes of keys are told, and their arms are measured from them: found again from the arms alone, but where the touch
    # arm is the least there may be (15 mm) and says nothing.
    keys = [key for key in tenor.keys if key.axle and all(lever.touch_arm_mm > 15.0 for lever in key.levers)]
    assert len(keys) >= 6
    for key in keys:
        found = link_axis(tenor, as_link(key))
        assert found.azimuth_deg == pytest.approx(key.axle.azimuth_deg, abs=0.1)


def test_a_link_turns_about_the_azimuth_that_is_told_between_its_arms(tenor):
    link = next(key for key in tenor.keys if key.id == "link8").model_copy(update={"turns_at_deg": 12.5})
    (h08,) = (each for each in tenor.holes if each.id == "h08")
    found = link_axis(tenor, link)
    ends = sorted((link.touch_position_mm, h08.position_mm))
    assert found == (12.5, *ends, min(key.axle.height_mm for key in tenor.keys if key.axle))
    assert link_axis(tenor, next(key for key in tenor.keys if key.axle)) is None


def test_a_link_has_axis_arms_and_the_fingers_that_move_it(tenor, marks):
    for name, fingers in (("link8", ("R1", "R2", "R3")), ("link14", ("L1", "L2"))):
        link = next(key for key in tenor.keys if key.id == name)
        axis, touch = marks[f"axis of {name}"], marks[f"touch of {name}"]
        (hole,) = (each for each in tenor.holes if each.id == link.levers[0].hole)
        for arm, end in ((f"touch arm of {name}", touch.place), (f"arm of {name} to {hole.id}", None)):
            assert marks[arm].start in (axis.start, axis.end)
            assert end is None or marks[arm].end == end
        assert seen(axis.start)[1] == pytest.approx(seen(axis.end)[1]) == pytest.approx(link_axis(tenor, link)[0])
        moved = {finger: each for each in tenor.holes for finger in fingers if each.by == finger}
        assert set(moved) == set(fingers)
        for finger, each in moved.items():
            assert marks[f"{name} under {finger} at {each.id}"].place == marks[f"axis of {each.id}"].end


def test_fittings_lie_on_the_body(tenor):
    record = tenor
    groups = {group.name: group.marks for group in skeleton(record)}
    assert [mark.name for mark in groups.get("fittings", ())] == [each.id.replace("_", " ") for each in record.fittings]
    for mark, each in zip(groups.get("fittings", ()), record.fittings, strict=True):
        body = 0.5 * record.bore.body_diameter_mm(each.position_mm)
        assert seen(mark.place) == pytest.approx((each.position_mm, each.azimuth_deg, body))


# folded bodies


def test_a_folded_body_is_as_it_is_held():
    # The fold pipe: bends of 30 mm, the second tube 60 mm to the player's right, running up from 500 mm to 100 mm.
    record = folded.solved()
    marks = {mark.name: mark for group in skeleton(record) for mark in group.marks}
    low = marks["axis of bend low"]
    assert isinstance(low, Bow)
    assert low.middle == pytest.approx((0.0, 30.0, 530.0))
    assert marks["axis of tube 2"].start == pytest.approx((0.0, 60.0, 500.0))
    assert marks["axis of tube 3"].start == pytest.approx((60.0, 60.0, 100.0))
    (h2,) = (hole for hole in record.holes if hole.id == "h2")  # on the second tube, at 150 degrees
    depth, top = 500.0 - (h2.position_mm - folded.SECOND), 10.0 + h2.chimney_mm
    turn = np.radians(150.0)
    assert marks["axis of h2"].end == pytest.approx((top * np.cos(turn), 60.0 + top * np.sin(turn), depth))
    assert marks["pad of h2"].facing == pytest.approx((np.cos(turn), np.sin(turn), 0.0))


def test_arms_that_cross_from_tube_to_tube_are_square_to_the_rod():
    # The touch of k3 lies on the second tube, its rod and its pad on the first.
    record = folded.solved()
    marks = {mark.name: mark for group in skeleton(record) for mark in group.marks}
    rod, arm, touch = (marks[f"{what} of k3"] for what in ("rod", "touch arm", "touch"))
    assert arm.end == touch.place
    assert arm.start[2] == pytest.approx(arm.end[2])
    assert arm.start[:2] == pytest.approx(rod.start[:2])
    assert hypot(rod.start[0], rod.start[1]) < 30.0 < hypot(touch.place[0], touch.place[1])


def test_a_link_on_a_folded_body_turns_along_the_tube_of_its_pad():
    record = folded.solved()
    (k3,) = (key for key in record.keys if key.id == "k3")
    found = link_axis(record, as_link(k3, turns_at_deg=-10.0))
    (h3,) = (hole for hole in record.holes if hole.id == "h3")
    beside = 500.0 - (k3.touch_position_mm - folded.SECOND)  # how far down the touch lies
    assert (found.from_mm, found.to_mm) == pytest.approx(tuple(sorted((h3.position_mm, beside))))
