"""Layouts in sizes of the stock: every size exact and told, limits kept as without, and nothing changed without one."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pieced import PIECES, jointed
from shelf import KEYED, changed, pipe
from stocked import drilled, stocked

from optimizer.analysis.prices import prices_of
from optimizer.project.stock import size_of
from optimizer.records.layout import LayoutRecord
from optimizer.search.proposals import Proposal
from optimizer.search.trial import Solver
from optimizer.solving.assemble import assemble
from optimizer.solving.fitting import Fitting
from optimizer.solving.linearised import Emphasis
from optimizer.solving.problem import Problem
from optimizer.solving.refine import refine
from optimizer.solving.starts import Starts
from optimizer.solving.stock import limits_at, of_stock, snapped, solve

EVEN = Emphasis(stretch=0.1, unevenness=0.1)


def record_of(problem, outcome):
    return assemble(problem, np.asarray(outcome.x), "t00001", of_stock(outcome))


def fitted(text):
    """The record of one solve of a project."""
    fitting = Fitting(pipe(text))
    return fitting.judged([fitting.solve(0)], "fitted")


def test_without_a_stock_a_solve_is_the_plain_one():
    problem = Problem(pipe(KEYED))
    start = Starts(problem).at()
    found, plain = solve(problem, start, EVEN), refine(problem, start, EVEN)
    assert np.array_equal(found.x, plain.x)
    assert (found.steps, found.merit, of_stock(found)) == (plain.steps, plain.merit, {})


def test_every_drilled_hole_says_its_drill_and_is_just_so_wide():
    record = fitted(drilled())
    sizes = [float(size) for size in range(5, 13)]
    assert all(hole.diameter_mm in sizes for hole in record.holes)
    assert [hole.tool.called for hole in record.holes] == [f"drill {hole.diameter_mm:g}" for hole in record.holes]


def test_inches_are_not_rounded_to_hundredths():
    drills = [f"{sixteenths}/16 in" for sixteenths in range(3, 7)]
    record = fitted(drilled().replace("[5, 6, 7, 8, 9, 10, 11, 12]", str(drills)))
    exact = {size_of(name).mm: f"drill {name}" for name in drills}  # 4.7625, 6.35, 7.9375, 9.525
    assert [hole.tool.called for hole in record.holes] == [exact[hole.diameter_mm] for hole in record.holes]
    assert LayoutRecord.model_validate_json(record.model_dump_json()) == record


def test_the_nearest_size_is_taken():
    assert snapped(np.array([5.4, 5.4, 7.0]), {1: np.array([5.0, 5.5, 6.0]), 2: np.array([1.0, 9.0])}).tolist() == [
        5.4,
        5.5,
        9.0,
    ]


@settings(deadline=None, max_examples=12)
@given(
    st.lists(st.integers(80, 139), min_size=1, max_size=12, unique=True),
    st.lists(st.integers(8, 22), min_size=1, max_size=6, unique=True),
    st.floats(0.0, 1.0),
    st.integers(0, 1000),
)
def test_the_stock_breaks_no_limit_without_saying_so(tenths, pads, size, seed):
    drills, sizes = sorted(tenth / 10 for tenth in tenths), sorted(map(float, pads))
    drawer = f"[stock]\ndrill_mm = {drills}\npad_mm = {sizes}\ntube_mm = [[2.5, 0.5, 0.02], [3, 0.25, 0.03]]\n"
    text = stocked(KEYED, drawer).replace("[5, 12], chimney_mm = 5 }", '[5, 14], chimney_mm = 5, finish = "drill" }')
    text = text.replace("[5, 10], chimney_mm = [5, 8] }", '[5, 10], chimney_mm = [5, 8], finish = "free" }')
    problem = Problem(pipe(text))
    start = Starts(problem).at(size, 0.5, seed)
    free, found = refine(problem.loose, start, EVEN), solve(problem, start, EVEN)
    record = record_of(problem, found)
    told = any("sizes of the stock break limits" in said for said in record.to_settle)
    before = limits_at(problem.loose, free.x)
    assert told or all(-margin <= before.get(name, 0.0) + 1e-3 for name, margin in record.margins_mm.items())
    assert told == (found.broken_by_stock_mm > 0.0)
    tubes = {1.5: "tube 2.5 x 0.5", 2.0: "tube 2.5 x 0.25", 2.5: "tube 3 x 0.25"}
    for hole in record.holes:
        if hole.id in ("h1", "h3"):
            assert hole.diameter_mm in drills
            assert hole.tool.called == f"drill {hole.diameter_mm:g}"
        elif hole.id == "v1":
            assert hole.tool.called == tubes[hole.diameter_mm]
        else:
            assert hole.tool is None
        if hole.pad is not None:
            least = hole.pad.diameter_mm if hole.seat is None else hole.seat.outer_diameter_mm + 2.5
            assert hole.pad.diameter_mm >= least - 0.02
            assert hole.pad.diameter_mm in sizes if hole.pad.in_stock else hole.pad.diameter_mm > sizes[-1]


CLOSE = f"{drilled()}\n[hand]\nspacing_min_mm = 8\n"
"""The practice pipe for thin fingers."""


def close(diameter, drill):
    """The two upper holes 11.5 mm apart, so that a web of 3 mm leaves 17 mm for both; a drill in place of 8."""
    lower = changed("[150, 220], diameter_mm = [5, 10]", f"171.5, diameter_mm = {diameter}", CLOSE)
    both = changed("[120, 200], diameter_mm = [5, 10]", f"160, diameter_mm = {diameter}", lower)
    return Problem(pipe(changed("7, 8, 9", f"7, {drill}, 9", both)))


def test_where_the_nearest_sizes_break_a_limit_holes_go_one_down():
    # Free, the lower hole is as narrow as may be, 8, and the upper one takes the rest of the 17 mm, less what a solve
    # keeps to spare, 2 x 0.02. The nearest drills, 8.1 and 9, leave 2.95 mm of wall, two of 8.1 leave 3.4.
    problem = close("[8, 9.4]", 8.1)
    start = Starts(problem).at()
    free = np.asarray(problem.layout(refine(problem.loose, start, Emphasis()).x).diameter_mm)
    assert free[2:] == pytest.approx([8.0, 8.96], abs=1e-3)
    found = solve(problem, start, Emphasis())
    record = record_of(problem, found)
    assert [hole.diameter_mm for hole in record.holes[2:]] == [8.1, 8.1]
    assert record.margins_mm["web.g3-g4"] == pytest.approx(0.4)
    assert of_stock(found) == {}


def test_where_the_nearest_size_is_too_narrow_for_a_limit_a_hole_goes_one_up():
    # The bore is 12.835 mm wide at 171.5, and 48 % of it 6.16: free, the hole is just wider; 6 is the nearest drill.
    text = changed("[150, 220], diameter_mm = [5, 10]", "171.5, diameter_mm = [5, 10]", CLOSE)
    shares = "step_max_share = 0.9\ncutoff_least_share = 0\nleast_under_finger_share = 0.48"
    problem = Problem(pipe(changed("wanted = false", shares, text)))
    start = Starts(problem).at()
    free = np.asarray(problem.layout(refine(problem.loose, start, Emphasis()).x).diameter_mm)
    assert free[2] == pytest.approx(0.48 * 12.835, abs=0.03)
    found = solve(problem, start, Emphasis())
    assert record_of(problem, found).holes[2].diameter_mm == 7.0
    assert of_stock(found) == {}


def test_where_no_size_keeps_a_limit_the_layout_says_so():
    # From 8.4 on there is no drill but 9: 11.5 - 9 = 2.5 mm of wall.
    problem = close("[8.4, 9.4]", 8)
    found = solve(problem, Starts(problem).at(), Emphasis())
    record = record_of(problem, found)
    assert [hole.diameter_mm for hole in record.holes[2:]] == [9.0, 9.0]
    assert record.margins_mm["web.g3-g4"] == pytest.approx(-0.5)
    assert of_stock(found) == {"stock_breaks_mm": 0.5}
    assert record.to_settle[0].startswith("sizes of the stock break limits by 0.5 mm that are kept without them")
    assert not record.feasible


def test_a_trial_and_its_prices_keep_to_the_stock():
    loaded = pipe(drilled())
    proposal = Proposal(0, EVEN, 0.5, 0.0, 1)
    record = LayoutRecord.model_validate_json(Solver(loaded.text, loaded.source).solve(proposal).record_json)
    assert all(hole.tool.size_mm == hole.diameter_mm for hole in record.holes)
    limits = {price.limit for price in prices_of(loaded, record, 0.0, lambda done, all_of_them: None).prices}
    assert limits
    assert not any(name.startswith("diameter_mm") for name in limits)


def test_joints_take_the_o_ring_that_their_grooves_stretch():
    # The tenon is 3 mm of wall all round the bore; grooves are 1.78 x 0.8 - 0.2 = 1.224 mm deep.
    drawer = "[stock]\no_ring_mm = [[12.42, 1.78], [14, 1.78], [15.6, 1.78], [17.17, 1.78], [18.77, 1.78]]\n"
    joint = jointed(PIECES.replace("[printer]", f"{drawer}\n[printer]")).pieces[0].joint
    groove = joint.tenon_diameter_mm - 2 * (1.78 * 0.8 - 0.2)
    assert joint.groove_diameter_mm == pytest.approx(groove, abs=1e-3)
    inner, cord = map(float, joint.o_ring.split(" x "))
    assert cord == 1.78
    assert inner <= groove <= 1.08 * inner
    assert jointed(PIECES).pieces[0].joint.o_ring is None
    few = jointed(PIECES.replace("[printer]", "[stock]\no_ring_mm = [[40, 1.78]]\n\n[printer]"))
    assert f"joint 1: no O-ring of the stock fits its groove of {joint.groove_diameter_mm:g} mm" in few.to_settle
