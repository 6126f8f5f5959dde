"""Half profiles of folded pieces: tubes in places of their own, bends in their plane, against circles on paper."""

import math
from dataclasses import replace

import folded
import pytest
from solid_cases import hole, piece

from optimizer.handoff.shapes.bent import cut_at, straight_parts
from optimizer.handoff.shapes.drawing import drawn
from optimizer.handoff.shapes.shape import PieceBend
from optimizer.handoff.sheets.plan import Line, Words
from optimizer.handoff.sheets.profiles import STUB_MM, profiles, profiles_of


@pytest.fixture(scope="module")
def drawing():
    return drawn(folded.solved())


def outlines(plan):
    return [shape.points for shape in plan.shapes if isinstance(shape, Line) and shape.layer == "outline"]


def words(plan):
    return [shape.words for shape in plan.shapes if isinstance(shape, Words)]


def test_every_tube_and_every_bend_has_a_plan_in_order(drawing):
    named = [plan.name for plan in profiles(drawing)]
    assert named == [
        "profile-piece-1-finished-tube-1", "profile-piece-1-finished-bend-low", "profile-piece-1-finished-tube-2",
        "profile-piece-2-finished-tube-2", "profile-piece-2-finished-bend-high", "profile-piece-2-finished-tube-3",
        "profile-piece-3-finished",
    ]  # fmt: skip


def test_holes_lie_on_a_tube_at_its_own_places(drawing):
    record = folded.solved()
    (h1,) = (each for each in record.holes if each.id == "h1")  # on the third tube
    plan = profiles_of(drawing, drawing.pieces[1])[2]
    own = h1.position_mm - folded.THIRD
    (cross,) = {sum(x for x, _ in shape.points) / 2.0 for shape in plan.shapes if shape.layer == "centres"}
    assert cross == pytest.approx(own, abs=1e-3)
    assert any(said.startswith(f"{own:.2f}, ") for said in words(plan))
    begin = folded.THIRD - drawing.pieces[1].begin_mm
    assert f"The left end lies {begin:.2f} mm from the piece's reed end" in plan.told[2]
    assert words(plan)[-3].startswith("bend high: diameter 28.00, bore 20.00")


def test_a_bend_is_drawn_as_the_circles_that_it_is():
    # Centre line of 30 mm; walls from 10 to 14 mm off it, so circles of 16, 20, 40 and 44 mm about one middle.
    bends, end = (PieceBend(40.0, 30.0, 25.0),), 80.0 + 30.0 * math.pi
    lines = [cut_at(((0.0, radius), (end, radius)), bends) for radius in (14.0, 10.0)]
    made = replace(piece(*lines), bends=bends)
    record = folded.solved()
    plan = profiles_of(replace(drawn(record), pieces=(made,)), made)[1]
    found = {
        round(math.dist(point, (0.0, 30.0)), 9) for line in outlines(plan) for point in line if point[0] > 1e-9
    }  # fmt: skip
    assert found == {16.0, 20.0, 40.0, 44.0}
    assert min(x for line in outlines(plan) for x, _ in line) == pytest.approx(-STUB_MM)
    assert f"centre line: radius 30.00, {30.0 * math.pi:.2f} mm long" in words(plan)
    assert f"begins {40.0:.2f} mm along the piece: diameter 28.00, bore 20.00" in words(plan)


def test_parts_of_a_piece_are_all_of_it_but_its_bends():
    bends, end = (PieceBend(40.0, 30.0, 25.0),), 80.0 + 30.0 * math.pi
    lines = [cut_at(((0.0, wide), (end, wide + 2.0)), bends) for wide in (14.0, 10.0)]
    made = replace(piece(*lines, holes=[hole(20.0), hole(end - 10.0, name="h2")]), bends=bends)
    (low, first), (begin, second) = straight_parts(made)
    assert (low, begin) == (0.0, pytest.approx(bends[0].end_mm))
    assert (first.length_mm, second.length_mm) == pytest.approx((40.0, 40.0))
    assert ([each.z_mm for each in first.holes], [each.z_mm for each in second.holes]) == ([20.0], [pytest.approx(30)])
    slope = 2.0 / end
    assert second.outside[0][1] == pytest.approx(14.0 + slope * begin)
    assert second.outside[-1] == (pytest.approx(40.0), pytest.approx(16.0))
