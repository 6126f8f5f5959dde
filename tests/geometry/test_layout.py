"""Layouts as vectors and back: nothing is lost, and what is fixed stays fixed to the last bit."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from shelf import KEYED, PIPE, between, pipe

from optimizer.geometry.layout import STEP, Layout, layout_bounds, numbers_of, parametrise, with_numbers
from optimizer.solving.assemble import rounded
from optimizer.solving.problem import Problem

KEYED_PROBLEM = Problem(pipe(KEYED))
KEYED_CODING = KEYED_PROBLEM.parametrisation
shares = arrays(float, KEYED_CODING.low.size, elements=st.floats(0, 1))


def at(share):
    """The vector at this share of every range."""
    return KEYED_CODING.low + share * (KEYED_CODING.high - KEYED_CODING.low)


def test_free_numbers_are_those_with_a_range():
    # 4 positions and 4 diameters, no chimney, the bell, the reed.
    assert parametrise(pipe(PIPE).project).names == (
        "position_mm.g1", "position_mm.g2", "position_mm.g3", "position_mm.g4",
        "diameter_mm.g1", "diameter_mm.g2", "diameter_mm.g3", "diameter_mm.g4", "end_mm", "reed_volume_cm3",
    )  # fmt: skip


def test_a_locked_hole_and_fixed_numbers_are_not_free():
    # All but h5 move and are bored; only h4's chimney and h3's touch are chosen; the reed is given.
    moving = ["h1", "h2", "h3", "h4", "h6", "h7", "v1"]
    assert KEYED_CODING.names == (
        *(f"position_mm.{name}" for name in moving), *(f"diameter_mm.{name}" for name in moving),
        "chimney_mm.h4", "touch_offset_mm.h3", "end_mm",
    )  # fmt: skip


def test_bounds_are_the_projects_in_steps():
    coding = parametrise(pipe(PIPE).project)
    assert coding.low * [*[5] * 4, *[1] * 4, 5, 0.2] == pytest.approx([220, 170, 150, 120, 5, 5, 5, 5, 300, 0.1])
    assert coding.high * [*[5] * 4, *[1] * 4, 5, 0.2] == pytest.approx([300, 250, 220, 200, 11, 10, 10, 10, 340, 0.6])


def test_a_touch_may_lie_either_side_of_its_plate():
    low, high = layout_bounds(pipe(f"{KEYED}\n[keywork]\nplate_offset_max_mm = 9\n").project)
    assert low.touch_offset_mm.tolist() == [0, 0, -9, 0, 0, 0, 0, 0]
    assert high.touch_offset_mm.tolist() == [0, 0, 9, 0, 0, 0, 0, 0]


@given(shares)
def test_decode_then_encode_gives_the_vector_back(share):
    x = at(share)
    assert KEYED_CODING.encode(KEYED_CODING.layout(x)) == pytest.approx(x, rel=1e-14, abs=1e-14)


@given(shares)
def test_encode_then_decode_gives_the_layout_back(share):
    low, high = layout_bounds(KEYED_PROBLEM.project)
    draw = np.random.default_rng(int(1e6 * share.sum())).uniform
    layout = between(low, high, draw)
    again = KEYED_CODING.layout(KEYED_CODING.encode(layout))
    for name in STEP:
        assert np.asarray(getattr(again, name)) == pytest.approx(getattr(layout, name), rel=1e-14, abs=1e-13)


@given(shares)
def test_decoded_numbers_lie_in_their_ranges(share):
    low, high = layout_bounds(KEYED_PROBLEM.project)
    for name, value in numbers_of(KEYED_CODING.layout(at(share))).items():
        assert np.all(np.asarray(value) >= getattr(low, name) - 1e-12)
        assert np.all(np.asarray(value) <= getattr(high, name) + 1e-12)


@given(arrays(float, KEYED_CODING.low.size, elements=st.floats(-1e6, 1e6)))
def test_fixed_numbers_never_move(x):
    layout = KEYED_CODING.layout(x)
    assert float(layout.position_mm[4]) == 260.25
    assert float(layout.diameter_mm[4]) == 7.1234567
    assert np.asarray(layout.chimney_mm)[[0, 1, 2, 4, 5, 6, 7]].tolist() == [5, 5, 5, 5, 5, 5, 7]
    assert np.asarray(layout.touch_offset_mm)[[0, 1, 3, 4, 5, 6, 7]].tolist() == [0.0] * 7
    assert float(layout.reed_volume_cm3) == 0.3


def test_encoding_clips_to_the_ranges():
    low, high = layout_bounds(KEYED_PROBLEM.project)
    far = with_numbers(high, {name: value + 1e3 for name, value in numbers_of(high).items()})
    assert KEYED_CODING.encode(far).tolist() == KEYED_CODING.high.tolist()
    near = with_numbers(low, {name: value - 1e3 for name, value in numbers_of(low).items()})
    assert KEYED_CODING.encode(near).tolist() == KEYED_CODING.low.tolist()


def test_each_field_has_a_step():
    assert {*STEP, "choice"} == set(Layout._fields)
    assert all(step > 0 for step in STEP.values())


@given(shares)
def test_rounding_keeps_locked_holes_to_the_last_bit(share):
    layout = rounded(KEYED_PROBLEM, at(share))
    assert (float(layout.position_mm[4]), float(layout.diameter_mm[4])) == (260.25, 7.1234567)
    assert float(layout.chimney_mm[4]) == 5.0


@given(shares)
def test_rounding_moves_nothing_by_more_than_half_a_digit_and_stays_in_range(share):
    low, high = layout_bounds(KEYED_PROBLEM.project)
    before, after = KEYED_CODING.layout(at(share)), rounded(KEYED_PROBLEM, at(share))
    for name in STEP:
        old, new = np.asarray(getattr(before, name)), np.asarray(getattr(after, name))
        assert np.all(np.abs(new - old) <= 0.005 + 1e-9)
        assert np.all((new >= getattr(low, name)) & (new <= getattr(high, name)))


@given(shares)
def test_rounded_numbers_have_two_decimals(share):
    layout = rounded(KEYED_PROBLEM, at(share))
    for value in (*np.asarray(layout.position_mm), float(layout.end_mm)):
        assert f"{value:.2f}" == f"{value:.10f}"[:-8]
        assert abs(round(value, 2) - value) == 0.0


def test_a_project_with_nothing_free_still_has_a_layout():
    text = re.sub(r"(?<= = )\[(\d[\d.]*), \d[\d.]*\]", r"\1", PIPE)  # every range becomes its lower end
    coding = parametrise(pipe(text).project)
    assert coding.names == ()
    assert np.asarray(coding.layout(np.empty(0)).position_mm).tolist() == [220, 170, 150, 120]
