"""The largest step between neighbouring holes, worked out by hand, and the solve that makes it small."""

from itertools import pairwise

import numpy as np
import pytest
from made_records import hole, layout, note
from places import CONFIGS
from shelf import PIPE, pipe

from optimizer.project.loading import load_project
from optimizer.project.open_holes import open_neighbours
from optimizer.records.steps import largest_step, unevenness
from optimizer.solving.linearised import Emphasis
from optimizer.solving.problem import Problem
from optimizer.solving.refine import refine
from optimizer.views.objectives import step_words


def row(*sizes, **changes):
    """Holes of these diameters from the bell up."""
    return [hole(f"g{number}", 300.0 - 20.0 * number, size, **changes) for number, size in enumerate(sizes, start=1)]


def all_open(count):
    return [note("A4", 0.0, openness=(1.0,) * count)]


@pytest.mark.parametrize(
    ("sizes", "where", "percent", "counted"),
    [
        ((6.0, 8.0), ("g2", "g1"), 25.0, 25.0),  # 8 to 6 toward the bell: 2 of 8
        ((8.0, 6.0), ("g2", "g1"), 25.0, 12.5),  # wider toward the bell: half
        ((9.0, 6.0, 7.0), ("g2", "g1"), 100.0 / 3.0, 50.0 / 3.0),  # 3 of 9 halved is more than 1 of 7
        ((8.0, 6.0, 7.5), ("g3", "g2"), 20.0, 20.0),  # 1.5 of 7.5 is more than half of 2 of 8
        ((6.0, 6.0, 6.0), None, 0.0, 0.0),
    ],
)
def test_a_step_counts_whole_where_it_narrows_toward_the_bell_and_half_where_it_widens(sizes, where, percent, counted):
    holes, notes = row(*sizes), all_open(len(sizes))
    step = largest_step(holes, notes)
    assert where is None or (step.from_hole, step.to_hole) == where
    assert step.percent == pytest.approx(percent, rel=1e-12)
    assert unevenness(holes, notes) == pytest.approx(counted, rel=1e-12)


@pytest.mark.parametrize(
    ("changes", "openness"),
    [
        ({"by": "LT"}, (1.0, 1.0, 1.0)),  # a thumb hole
        ({"by": "RT"}, (1.0, 1.0, 1.0)),
        ({"role": "vent"}, (1.0, 1.0, 1.0)),
        ({}, (1.0, 0.5, 1.0)),  # half open
        ({}, (1.0, 0.0, 1.0)),  # shut
    ],
)
def test_a_hole_that_does_not_count_is_passed_over(changes, openness):
    # 4 mm between 8 and 7: 3 of 7 and half of 4 of 8 if it counted, else half of 1 of 8.
    holes = [*row(8.0), hole("g2", 260.0, 4.0, **changes), hole("g3", 240.0, 7.0)]
    notes = [note("A4", 0.0, openness=openness)]
    assert (largest_step(holes, notes).from_hole, largest_step(holes, notes).to_hole) == ("g3", "g1")
    assert unevenness(holes, notes) == pytest.approx(6.25)


def test_only_main_fingerings_make_neighbours():
    holes = row(6.0, 8.0)
    assert largest_step(holes, [note("A4", 0.0, openness=(1.0, 1.0), alternate=True)]) is None
    assert unevenness(holes, [note("A4", 0.0, openness=(1.0, 0.0)), note("B4", 0.0, openness=(0.0, 1.0))]) == 0.0


def test_neighbours_differ_from_fingering_to_fingering():
    holes = row(6.0, 7.0, 8.0)
    assert open_neighbours(holes, [(1, 1, 0), (1, 1, 1)]) == [(0, 1), (1, 2)]
    assert open_neighbours(holes, [(1, 0, 1)]) == [(0, 2)]


def test_where_the_step_lies_is_said():
    record = layout(holes=row(6.0, 8.0), notes=all_open(2))
    assert step_words(record).endswith("g2 8.00 mm to g1 6.00 mm, 25 % narrower toward the bell")
    record = layout(holes=row(8.0, 6.0), notes=all_open(2))
    assert step_words(record).endswith("g2 6.00 mm to g1 8.00 mm, 25 % wider toward the bell, which counts half")
    assert step_words(layout(holes=row(6.0), notes=all_open(1))) == ""


def test_a_records_figure_is_that_of_its_holes_and_notes(record):
    assert record.objectives["unevenness"] == unevenness(record.holes, record.notes)
    sizes = [one.diameter_mm for one in record.holes]  # all four open on E5, in their order
    steps = [(above - below) / max(above, below) for below, above in pairwise(sizes)]
    assert record.objectives["unevenness"] == pytest.approx(100 * max(max(s, -0.5 * s) for s in steps), rel=1e-12)


@pytest.mark.parametrize("name", ["practice pipe", "meadow-pipe"])
def test_what_a_solve_makes_small_brings_the_largest_step_down(name):
    problem = Problem(pipe(PIPE) if name == "practice pipe" else load_project(CONFIGS / f"{name}.toml"))
    start = 0.5 * (problem.parametrisation.low + problem.parametrisation.high)

    def largest(emphasis):
        found = refine(problem, start, Emphasis(unevenness=emphasis))
        sizes = zip(problem.project.holes, np.asarray(problem.layout(found.x).diameter_mm), strict=True)
        holes = [one.model_copy(update={"diameter_mm": size}) for one, size in sizes]
        return unevenness(holes, problem.notes)

    assert largest(30.0) < 0.5 * largest(0.0)
