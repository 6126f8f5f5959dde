"""Flat plans as files: DXF read by the standard's group codes, PDF rendered and measured."""

import math
import os
import subprocess
import sys
from itertools import combinations
from types import SimpleNamespace

import numpy as np
import pypdfium2
import pytest
from dxf_codes import entities, header, pairs_of
from places import ROOT

from optimizer.handoff.sheets.dxf import dxf_text
from optimizer.handoff.sheets.paper import A4, CHECK, PAPERS, sheets_of
from optimizer.handoff.sheets.pdf import pdf_bytes
from optimizer.handoff.sheets.plan import Plan, Words, corners_of
from optimizer.handoff.sheets.profiles import profiles

WINDOW = A4.window


@pytest.fixture
def plan():
    drawn = Plan("lid", "Lantern Hall lid", ("Told of it.",))
    drawn.closed("outline", [(0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (0.0, 50.0)])
    drawn.circle("holes", (30.0, 20.0), 12.5)
    drawn.cross("centres", (30.0, 20.0))
    drawn.text((5.0, 40.0), "lid, µ")
    return drawn


def test_dxf_is_in_millimetres_and_of_a_version_that_cutters_read(plan):
    found = header(dxf_text(plan))
    assert found["$ACADVER"] == "AC1024"  # R2010
    assert (found["$INSUNITS"], found["$MEASUREMENT"]) == ("4", "1")  # millimetres, metric


def test_dxf_has_what_was_drawn_on_its_layers_and_nothing_that_cutters_refuse(plan):
    found = entities(dxf_text(plan))
    assert {each.kind for each in found} == {"LWPOLYLINE", "CIRCLE", "TEXT"}
    outline = next(each for each in found if each.layer == "outline")
    assert outline.points == [(0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (0.0, 50.0)]
    assert int(outline.first(70)) & 1
    circle = next(each for each in found if each.kind == "CIRCLE")
    assert (circle.layer, circle.points, float(circle.first(40))) == ("holes", [(30.0, 20.0)], 6.25)
    assert next(each for each in found if each.kind == "TEXT").first(1) == "lid, µ"


def test_the_same_plan_gives_the_same_bytes(plan):
    assert dxf_text(plan) == dxf_text(plan)
    assert pdf_bytes([plan], "lid", "foot") == pdf_bytes([plan], "lid", "foot")
    assert all(value == value.strip() for code, value in pairs_of(dxf_text(plan)) if code == 8)


AGAIN = """
from optimizer.handoff.sheets.dxf import dxf_text
from optimizer.handoff.sheets.plan import Plan
plan = Plan("lid", "Lantern Hall lid")
plan.circle("holes", (0.0, 0.0), 1.0)
print(dxf_text(plan))
"""


def test_another_process_with_another_order_of_sets_writes_the_same_dxf():
    found = set()
    for seed in ("1", "42", "4321"):
        environment = os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)}
        command = [sys.executable, "-c", AGAIN]
        found.add(subprocess.run(command, env=environment, capture_output=True, text=True, check=True).stdout)
    assert len(found) == 1


def rendered(data, page=0, dots_per_inch=508):
    """A page as dark or not, 20 dots a millimetre."""
    document = pypdfium2.PdfDocument(data)
    return np.asarray(document[page].render(scale=dots_per_inch / 72.0, grayscale=True).to_numpy()) < 128


def runs(line):
    """Lengths of unbroken dark stretches."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], line.astype(int), [0]])))
    return edges[1::2] - edges[::2]


def test_both_rulers_of_a_page_are_100_mm_long(plan):
    dark = rendered(pdf_bytes([plan], "lid", "foot"))
    assert dark.shape == pytest.approx((210.0 * 20, 297.0 * 20), abs=2)
    # Base lines and the marks at their ends: 100 mm and the width of the line, 0.15 to 0.3 mm.
    below = dark[int((210.0 - WINDOW.bottom) * 20) :]
    along = max(max(runs(row), default=0) for row in below)
    right = dark[:, int((WINDOW.right + 0.5) * 20) :]
    upright = max(max(runs(column), default=0) for column in right.T)
    assert along / 20 == pytest.approx(100.2, abs=0.25)
    assert upright / 20 == pytest.approx(100.2, abs=0.25)


def test_what_is_drawn_is_as_large_on_paper(plan):
    dark = rendered(pdf_bytes([plan], "lid", "foot"))
    inside = dark[int((210.0 - WINDOW.top) * 20) : int((210.0 - WINDOW.bottom) * 20), : int(WINDOW.right * 20)]
    rows, columns = (np.flatnonzero(inside.any(axis)) for axis in (1, 0))
    assert (rows[-1] - rows[0]) / 20 == pytest.approx(50.3, abs=0.15)
    assert (columns[-1] - columns[0]) / 20 == pytest.approx(100.3, abs=0.15)


def test_a_page_asks_viewers_not_to_scale_and_says_how_to_check(plan):
    data = pdf_bytes([plan], "lid", "foot")
    assert b"/PrintScaling /None" in data
    words = pypdfium2.PdfDocument(data)[0].get_textpage().get_text_range()
    assert CHECK in words.replace("\r\n", " ")
    assert "100.0 mm" in CHECK


@pytest.mark.parametrize(("long", "high", "columns", "rows"), [
    (270.0, 100.0, 1, 1), (271.0, 100.0, 2, 1), (459.9, 100.0, 2, 1), (460.1, 100.0, 3, 1), (250.0, 260.0, 1, 2),
])  # fmt: skip
def test_every_place_of_a_long_plan_shows_on_a_sheet_and_marks_on_two(long, high, columns, rows):
    plan = Plan("long", "Lantern Hall rod")
    plan.closed("outline", [(0.0, 0.0), (long, 0.0), (long, high), (0.0, high)])
    found = sheets_of(plan.extent)
    assert (found[0].columns, found[0].rows) == (columns, rows)
    for x, y in [(0.0, 0.0), (long / 2, high / 2), (long, high), (200.0, 0.0)]:
        shown = [sheet for sheet in found if WINDOW.left <= sheet.origin[0] + x <= WINDOW.right + 1e-9
                 and WINDOW.bottom <= sheet.origin[1] + y <= WINDOW.top + 1e-9]  # fmt: skip
        assert shown
    steps = {round(first.origin[0] - second.origin[0], 6) for first in found for second in found}
    assert steps <= {0.0, *(n * A4.step_mm[0] for n in range(-3, 4))}


@pytest.mark.parametrize(
    ("word", "wide", "high"),
    [("letter", 11.0 * 25.4, 8.5 * 25.4), ("tabloid", 17.0 * 25.4, 11.0 * 25.4), ("a3", 420.0, 297.0)],
)
def test_other_papers_have_their_size_both_rulers_and_every_place_of_a_plan(plan, word, wide, high):
    # ANSI letter and ledger by inch, A3 of ISO 216.
    paper = PAPERS[word]
    dark = rendered(pdf_bytes([plan], "lid", "foot", paper), dots_per_inch=254)
    assert dark.shape == pytest.approx((high * 10, wide * 10), abs=2)
    below, right = dark[int((high - paper.window.bottom) * 10) :], dark[:, int((paper.window.right + 0.5) * 10) :]
    for lines in (below, right.T):
        assert max(max(runs(line), default=0) for line in lines) / 10 == pytest.approx(100.2, abs=0.4)
    assert paper.step_mm[0] + 20.0 <= paper.window.right - paper.window.left
    assert paper.step_mm[1] + 20.0 <= paper.window.top - paper.window.bottom


def test_crossing_marks_lie_on_the_same_places_of_the_plan_on_neighbouring_sheets():
    plan = Plan("long", "Lantern Hall rod")
    plan.line("outline", (0.0, 0.0), (400.0, 30.0))
    data = pdf_bytes([plan], "rod", "foot")
    first, second = (rendered(data, page) for page in (0, 1))
    # The rod crosses the second mark of one sheet as it crosses the first of the next.
    here, there = (int((WINDOW.left + 10.0 + far) * 20) for far in (200.0 - 3.0, -3.0))
    window = slice(int((210.0 - WINDOW.top) * 20), int((210.0 - WINDOW.bottom) * 20))
    assert np.mean(first[window, here] == second[window, there]) > 0.998
    assert first[window, here].any()


def test_labels_keep_off_each_other():
    plan = Plan("labels", "Lantern Hall labels")
    for number in range(5):
        plan.label((0.0, 0.1 * number), f"label {number}", 2.0)
    places = [shape.at[1] for shape in plan.shapes if isinstance(shape, Words)]
    assert all(abs(a - b) >= 2.0 for n, a in enumerate(places) for b in places[n + 1 :])
    assert math.isclose(places[0], 0.0)


def test_labels_keep_off_the_crosses_that_are_punched():
    plan = Plan("labels", "Lantern Hall labels")
    plan.cross("centres", (6.0, 1.0), 1.0)
    plan.label((0.0, 0.5), "post 1 of kB", 2.0)
    (words,) = (shape for shape in plan.shapes if isinstance(shape, Words))
    assert words.at[0] == 0.0
    assert words.at[1] + 2.0 <= 0.0 + 1e-9  # below the cross, which reaches down to 0


def test_words_that_the_font_lacks_become_question_marks(plan):
    plan.text((0.0, 0.0), "Ω lantern")
    words = pypdfium2.PdfDocument(pdf_bytes([plan], "lid", "foot"))[0].get_textpage().get_text_range()
    assert "? lantern" in words


@pytest.mark.parametrize("length", [60.0, 100.0, 240.0])
def test_words_below_a_profile_keep_apart_however_short_the_piece(length):
    ends = {"outside": [(0.0, 9.0), (length, 10.0)], "inside": [(0.0, 5.0), (length, 6.0)]}
    state = SimpleNamespace(state="finished")
    piece = SimpleNamespace(name="piece 1", stem="p", sizing=state, length_mm=length, beyond_mm=9.0)
    piece.__dict__.update(ends, flats=(), holes=(), bends=())
    (drawing,) = profiles(SimpleNamespace(instrument="Moth Pipe", pieces=[piece]))
    words = [shape for shape in drawing.shapes if isinstance(shape, Words)]
    assert len(words) == 3
    for one, other in combinations(words, 2):
        (left, right), (low, high) = zip(*corners_of(one), strict=True)
        (others_left, others_right), (others_low, others_high) = zip(*corners_of(other), strict=True)
        assert left >= others_right or others_left >= right or low >= others_high or others_low >= high
