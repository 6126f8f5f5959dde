"""Axes, discs and points for keywork: against figures of the tenor's record, by vectors."""

from math import atan2, degrees, dist, hypot

import numpy as np
import pytest
from places import CONFIGS

from optimizer.handoff.step.skeleton import Disc, Line, Spot, skeleton
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


def test_a_link_turns_on_the_rod_of_what_moves_it(tenor):
    mover = next(key for key in tenor.keys if key.axle is not None and key.levers)
    link = mover.model_copy(update={"id": "link", "moved_by": [mover.id], "axle": None})
    record = tenor.model_copy(update={"keys": [mover, link]})
    groups = {group.name: group.marks for group in skeleton(record)}
    arms = {name: [mark for mark in groups[name] if isinstance(mark, Line) and " to " in mark.name]
            for name in (f"key {mover.id}", "key link")}  # fmt: skip
    first, second = arms.values()
    assert [(one.start, one.end) for one in first] == [(one.start, one.end) for one in second]
    assert not any(mark.name.startswith(("rod", "post")) for mark in groups["key link"])


def test_fittings_lie_on_the_body(tenor):
    record = tenor
    groups = {group.name: group.marks for group in skeleton(record)}
    assert [mark.name for mark in groups.get("fittings", ())] == [each.id.replace("_", " ") for each in record.fittings]
    for mark, each in zip(groups.get("fittings", ()), record.fittings, strict=True):
        body = 0.5 * record.bore.body_diameter_mm(each.position_mm)
        assert seen(mark.place) == pytest.approx((each.position_mm, each.azimuth_deg, body))
