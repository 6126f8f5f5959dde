"""Bores by numbers: against diameters worked out on paper, and slopes against complex steps."""

from itertools import pairwise

import numpy as np
import pytest
from shaped import NUMBERS, SHAPED
from shelf import PIPE, changed, pipe

from acoustics.duals import Dual
from acoustics.resonances import chart_errors
from optimizer.analysis.as_saved import as_saved
from optimizer.geometry.bore_shape import BoreShape
from optimizer.geometry.layout import layout_bounds, numbers_of, parametrise, with_numbers
from optimizer.project.bore import NUMBERS as NAMES
from optimizer.project.loading import ProjectError
from optimizer.solving.assemble import assemble
from optimizer.solving.problem import Problem
from optimizer.solving.real_resonances import record_duct

WALL = "wall_mm = 4.0"


def shaped(lines, text=PIPE):
    """A pipe whose bore has these lines too, its shape, and its layout at the low ends."""
    project = pipe(changed(WALL, f"{WALL}\n{lines}", text)).project
    return BoreShape(project.bore), layout_bounds(project)[0]


def widths(shape, layout):
    return dict(shape.ended(layout))


def test_without_numbers_the_points_are_the_bore():
    shape, layout = shaped("")
    assert shape.ended(layout) == [(0.0, 4.0), (300.0, pytest.approx(4.0 + 17.0 * 300 / 330))]


def test_a_crooks_end_and_taper_leave_staple_and_bell_as_they_are():
    # Half angle 1 degree over 40 mm: 2 x 40 x 0.0174551 = 1.396405 mm narrower than its end of 7 mm.
    lines = "staple_end_mm = 20\ncrook_end_mm = 60\ncrook_end_diameter_mm = 7\ncrook_half_angle_deg = 1"
    found = widths(*shaped(lines))
    assert found[0.0] == 4.0
    assert found[20.0] == pytest.approx(5.603595, abs=1e-6)
    assert found[60.0] == pytest.approx(7.0, abs=1e-12)
    # Beyond the crook the line from 7 mm at 60 to 21 mm at 330, cut at 300.
    assert found[300.0] == pytest.approx(7.0 + 14.0 * 240 / 270, abs=1e-12)


def test_cones_go_on_from_each_other():
    # 4 mm at the reed; 1.5 degrees for 180 mm: 360 x 0.0261859 = 9.426932; then 1 degree for 120 mm: 4.189216.
    lines = "cone_half_angle_deg = 1.5\ncones_meet_mm = 180\nlower_cone_half_angle_deg = 1"
    found = widths(*shaped(lines))
    assert found[180.0] == pytest.approx(13.426932, abs=2e-6)
    assert found[300.0] == pytest.approx(13.426932 + 4.189216, abs=4e-6)


def test_a_cone_that_is_not_named_ends_where_it_did():
    found = widths(*shaped("end_mm = 330\nreed_end_diameter_mm = 5", changed("\nend_mm = [300, 340]", "")))
    assert found == {0.0: 5.0, 330.0: 21.0}


def test_a_bell_is_laid_over_the_last_line_and_moves_with_the_end():
    # Half of its flare of 4 mm, squared, is 1 mm wider than the line, 4 + 17 s / 330; a reamed one 2 mm.
    lines = "bell_length_mm = 40\nbell_flare_mm = 4"
    for end in (300.0, 340.0):
        for more, wider in ((lines, 1.0), (f"{lines}\nreamer = true", 2.0)):
            shape, layout = shaped(more)
            found = shape.ended(layout._replace(end_mm=np.asarray(end)))
            places, diameters = np.array(found).T
            line = 4.0 + 17.0 * places / 330.0
            assert places[-1] == end
            assert diameters[-1] - line[-1] == pytest.approx(4.0)
            middle = np.interp(end - 20.0, places, diameters - line)
            assert middle == pytest.approx(wider)
            assert np.interp(end - 40.0, places, diameters - line) == pytest.approx(0.0, abs=1e-12)


def test_a_reamed_bore_is_straight_from_part_to_part():
    text = changed("[[0, 4.0], [330, 21.0]]", "[[0, 4.0], [100, 9.6], [200, 14.0], [330, 21.0]]")
    curved, layout = shaped("crook_end_mm = 60\ncrook_end_diameter_mm = 7", text)
    straight = shaped("crook_end_mm = 60\ncrook_end_diameter_mm = 7\nreamer = true", text)[0]
    assert [place for place, _ in straight.ended(layout)] == [0.0, 60.0, 300.0]
    assert [place for place, _ in curved.ended(layout)] == [0.0, 60.0, 100.0, 200.0, 300.0]
    # The points themselves keep their bulge: 7 mm at 60 in place of 7.36, a third less than that each third further on.
    assert widths(curved, layout)[200.0] == pytest.approx(14.0 - 0.36 * 130 / 270)


def test_slopes_of_the_points_are_those_of_complex_steps():
    project = pipe(SHAPED).project
    shape, coding = BoreShape(project.bore), parametrise(project)
    x = coding.low + 0.3 * (coding.high - coding.low)
    moving = shape.points(coding.moving(x))
    assert all(isinstance(part, Dual) for part in moving)
    for number in (n for n, name in enumerate(coding.names) if name in {*NAMES, "end_mm"}):
        name, _, _ = next(slot for slot in coding.slots if number in slot[2])
        still = coding.layout(x)
        step = coding.layout(x + np.eye(x.size)[number])
        by_one = getattr(step, name) - getattr(still, name)
        stepped = shape.points(with_numbers(still, {name: getattr(still, name) + 1e-30j * by_one}))
        for found, expected in zip(moving, stepped, strict=True):
            np.testing.assert_allclose(found.slope[number], np.imag(expected) / 1e-30, rtol=1e-12, atol=1e-14)


LEARNED = """
[learned]
numbers = { crook_bore_mm = [0.1, 0.01], staple_bore_mm = [-0.05, 0.01], shrinkage_percent = [0.2, 0.1] }
correlation = [[0.0], [0.0, 0.0]]
"""


@pytest.mark.parametrize("more", ["", LEARNED], ids=["as drawn", "as learned"])
def test_slopes_of_the_notes_are_those_of_differences(more):
    problem = Problem(pipe(SHAPED + more))
    coding = problem.parametrisation
    x = coding.low + 0.4 * (coding.high - coding.low)
    names = [number for number, name in enumerate(coding.names) if name in {*NAMES, "end_mm"}]
    assert len(names) == len(NAMES) + 1
    found = problem.evaluate(x)[1].errors
    for number in names:
        step = 1e-4 * np.eye(x.size)[number]
        ahead, behind = (problem.evaluate(x + way)[0].errors for way in (step, -step))
        np.testing.assert_allclose(found[:, number], (ahead - behind) / 2e-4, rtol=1e-5, atol=1e-5)
    assert np.all(np.abs(found[:, names]).max(axis=0) > 0.01)


def test_a_record_sounds_as_the_problem_that_it_comes_from():
    # Slices of the record's own bore lie elsewhere: their losses are good to 0.03 cent.
    problem = Problem(pipe(SHAPED + LEARNED))
    coding = problem.parametrisation
    record = assemble(problem, coding.low + 0.6 * (coding.high - coding.low), "t1", {})
    again, x = as_saved(problem, record)
    ducts = again.duct_at(x), record_duct(record)
    solved, saved = (chart_errors(duct, again.openness, again.f_target) for duct in ducts)
    assert solved == pytest.approx(saved, abs=0.05)


def test_every_layout_has_as_many_points_and_slices():
    shape = BoreShape(pipe(SHAPED).project.bore)
    sizes = {(shape.points(corner)[0].size, shape.slices(corner).size) for corner in shape.corners}
    assert len(sizes) == 1
    assert len(shape.corners) == 2 ** (len(NAMES) + 1)


def test_a_record_keeps_its_bore_and_its_pieces_meet_without_a_step():
    problem = Problem(pipe(SHAPED))
    coding = problem.parametrisation
    x = coding.low + 0.6 * (coding.high - coding.low)
    record = assemble(problem, x, "t1", {})
    layout = problem.layout(x)
    assert record.bore.shaped_by == pytest.approx({n: float(numbers_of(layout)[n]) for n in NAMES}, abs=0.005)
    crook = dict(record.bore.points_mm)[60.0]
    assert crook == pytest.approx(record.bore.shaped_by["crook_end_diameter_mm"], abs=1e-9)
    for upper, lower in pairwise(record.pieces):
        ends = upper.to_print.bore_points_mm[-1][1], lower.to_print.bore_points_mm[0][1]
        assert ends[0] == pytest.approx(ends[1], abs=0.011)
    hole = record.holes[0]
    places, diameters = np.array(record.bore.points_mm).T
    assert hole.bore_diameter_mm == pytest.approx(np.interp(hole.position_mm, places, diameters), abs=0.006)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("crook_end_mm = 60\n", "", "crook_end_diameter_mm: there is no crook"),
        ("cones_meet_mm = 180\n", "", "say where the second cone begins"),
        ("cones_meet_mm = 180", "cones_meet_mm = 320", "must lie between 60 and 300"),
        ("bell_flare_mm = [0, 5]", "", "bell_flare_mm: a bell has"),
        ("bell_length_mm = [30, 60]", "bell_length_mm = [30, 120]", "must be less than 120"),
        ("crook_half_angle_deg = [1.0, 1.8]", "crook_half_angle_deg = [1.0, 5.0]", "closes a crook that ends 6.6 mm"),
        ("staple_end_mm = 20\n", "", "begins at reed_end_diameter_mm already"),
        ("cone_half_angle_deg = [1.2, 1.7]\ncones", "cone_half_angle_deg = [-1, 1.7]\ncones", "at least 0, but got -1"),
        ("cone_half_angle_deg = [1.2, 1.7]\ncones", "cone_half_angle_deg = 12\ncones", "at most 10"),
        ("[[0, 4.0], [330", "[[0, 4.0], [90, 8], [90, 9], [330", "has no step"),
        ("staple_end_mm = 20", "staple_end_mm = 20\ndiameter_scale = [0.9, 1.1]", "diameter_scale: leave it out"),
    ],
)
def test_numbers_that_shape_no_bore_are_refused(old, new, said):
    text = changed(NUMBERS, changed(old, new, NUMBERS), SHAPED)
    with pytest.raises(ProjectError, match=said):
        pipe(text)
