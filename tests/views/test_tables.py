"""Tables as data: drawn with the same figures in a terminal, a page and Markdown."""

import io
import re
from dataclasses import dataclass

import pytest
from made_records import hole, layout, note
from page_reader import EVIL, Reader
from rich.console import Console

from optimizer.limits.catalogue import LIMITS
from optimizer.records.run import RunRecord
from optimizer.views import objectives
from optimizer.views.drawings.canvas import Canvas
from optimizer.views.front_tables import in_the_way_lines
from optimizer.views.html import rendered
from optimizer.views.layout_section import layout_section
from optimizer.views.layout_tables import HOLES, holes_table, notes_table
from optimizer.views.table import Cell, Column, markdown, tabled
from optimizer.views.terminal import show_table


@dataclass
class Loan:
    name: str
    days: int | None
    weight: float


LOANS = [Loan("pipe", 14, 1.5), Loan(EVIL, None, -0.04)]
COLUMNS = [
    Column("name", lambda loan: Cell(loan.name, target="shelf-1")),
    Column("lent", lambda loan: loan.days, "d", "days"),
    Column("weight", lambda loan: loan.weight, "+z.1f", heading="by hand"),
    Column("state", lambda loan: Cell("out", "bad") if loan.days else "in", heading=""),
]
TABLE = tabled("Loans", COLUMNS, LOANS, "of the shelf", ["weights are rounded"])


def in_terminal(table, width=100):
    console = Console(width=width, file=io.StringIO(), markup=False)
    show_table(console, table)
    return [line.rstrip() for line in console.file.getvalue().splitlines()]


def test_a_terminal_draws_title_headings_rows_and_notes():
    title, heads, first, second, said = in_terminal(TABLE)
    assert title.split() == ["Loans,", "of", "the", "shelf"]
    assert heads.split() == ["name", "lent", "days", "by", "hand"]
    assert first.split() == ["pipe", "14", "+1.5", "out"]
    assert second.split()[-3:] == ["-", "+0.0", "in"]
    assert said == "  weights are rounded"


def test_figures_stand_to_the_right_and_words_to_the_left():
    _, heads, first, *_ = in_terminal(TABLE)
    assert first.index("14") + 2 == heads.index("lent days") + len("lent days")
    assert first.index("pipe") == heads.index("name") == 0


def test_a_page_draws_the_same_words():
    found = Reader(rendered("table.html", table=TABLE))
    assert [each for each in found.words if each] == [
        "Loans, of the shelf", "name", "lent, days", "by hand", "pipe", "14", "+1.5", "out", EVIL, "-", "+0.0", "in",
        "weights are rounded",
    ]  # fmt: skip
    assert [each["scope"] for each in found.of("th")] == ["col"] * 4 + ["row"] * 2
    assert [each.get("class") for each in found.of("td")] == ["n", "n", None] * 2
    assert [each.get("data-layout") for each in found.of("tr")] == [None, "shelf-1", "shelf-1"]
    assert [each["href"] for each in found.of("a")] == ["#shelf-1"] * 2
    assert [each["class"] for each in found.of("span")] == ["bad"]


def test_markdown_draws_the_same_words():
    assert markdown(TABLE).splitlines() == [
        "| name | lent, days | by hand |  |",
        "| --- | --- | --- | --- |",
        "| pipe | 14 | +1.5 | out |",
        f"| {EVIL} | - | +0.0 | in |",
    ]


def test_a_drawing_stands_in_a_page_and_its_words_in_a_terminal():
    drawing = Canvas(10, 10, "a ring")
    drawing.circle("hole", (5, 5), 4)
    table = tabled("", [Column("strip", lambda _: Cell("one ring", drawing=drawing))], [None])
    assert [each["aria-label"] for each in Reader(rendered("table.html", table=table)).of("svg")] == ["a ring"]
    assert in_terminal(table)[-1].strip() == "one ring"


def test_the_page_of_a_layout_has_every_figure_of_the_terminal():
    holes = [hole("g1", 220.0), hole("g2", 200.0)]
    silent = note("B4", None).model_copy(update={"status": "silent"})
    moved = note("D5", 3.04, 2).model_copy(update={"quality": 31.4, "vent_moves_cents": 355.2})
    record = layout(holes=holes, notes=[moved, silent], warnings=["g1: too wide", "g9: gone"])
    table = notes_table(record.notes, record.warnings, record.holes)
    words = Reader(layout_section(record, True)).words
    words = words[words.index("Notes") :]
    for row in table.cells():
        place = words.index(row[0].words)
        found = [each for each in words[place:] if each][: sum(bool(cell.words) for cell in row)]
        assert found == [cell.words for cell in row if cell.words]
    text = "\n".join(in_terminal(table, 200))
    for said in ("31", "+355", "+3.0", "silent"):
        assert re.search(rf"(?<!\S){re.escape(said)}(?!\S)", text)


def test_a_note_says_which_of_its_open_holes_lie_outside_a_formula():
    holes = [hole("g1", 220.0), hole("g2", 200.0), hole("g3", 180.0)]
    notes = [note("A4", 1.0, openness=(0, 1, 1)), note("B4", 1.0, alternate=True, openness=(1, 0.5, 0))]
    cells = notes_table(notes, ["g1: too wide", "g2: too near"], holes).cells()
    assert [row[-1].words for row in cells] == [
        "outside a formula's range: g2", "alternate outside a formula's range: g1, g2",
    ]  # fmt: skip


def test_every_column_has_a_key_of_its_own():
    with pytest.raises(ValueError, match="name, lent, weight, state, lent"):
        tabled("Loans", [*COLUMNS, COLUMNS[1]], LOANS)


@pytest.mark.parametrize("missing", ["title", "ways"])
def test_a_page_without_one_of_its_values_is_an_error(missing):
    from jinja2 import UndefinedError

    values = {"title": "x", "begun": "", "ways": TABLE, "bodies": "", "work": [], "drilling": TABLE, "drawn": "",
              "notes": TABLE, "cautions": []}  # fmt: skip
    assert "<title>x</title>" in rendered("extension.html", **values)
    del values[missing]
    with pytest.raises(UndefinedError):
        rendered("extension.html", **values)


def test_holes_tell_how_wide_and_how_high_their_flats_are():
    sunk = {"outer_diameter_mm": 14.88, "rim_width_mm": 1.44, "top_mm": -0.52}
    _, heads, first, second, *said = in_terminal(holes_table([hole("g1", 100.0, seat=sunk), hole("g2", 80.0)]), 160)
    start, end = heads.index("  flat"), heads.index("high") + len("high")
    assert first[start:end].split() == ["14.9", "-0.5"]
    assert second[start:end].split() == ["-", "-"]
    assert "below 0 it is sunk" in " ".join(said)


def test_holes_name_what_finishes_them_where_a_stock_does():
    pad = {"diameter_mm": 9.0, "cup_diameter_mm": 9.9, "opening_mm": 2.5}
    tube = {"kind": "tube", "size_mm": 1.5, "called": "tube 2 x 0.25", "tolerance_mm": 0.03}
    lined = hole("v1", 100.0, pad=pad | {"in_stock": True}, tool=tube)
    _, heads, first, second, *said = in_terminal(holes_table([lined, hole("g2", 80.0, pad=pad)]), 160)
    assert heads.endswith("finished by")
    assert first.endswith("tube 2 x 0.25 +-0.03")
    assert second.endswith(" -")
    assert said[-1].strip() == "pads are of the stock, but for g2"
    assert "finished by" not in in_terminal(holes_table([hole("g2", 80.0, pad=pad)]), 160)[1]


def test_a_worst_note_that_is_silent_is_said_to_be():
    # A note with no resonance within 150 cents counts as 150 out of tune, which is no figure of its own.
    assert objectives.figures({"tuning": 31.25, "worst_note": 150.0}, "; ") == "tuning 31.25 cents; worst_note silent"
    assert objectives.figures({"worst_note": 149.99}, "; ") == "worst_note 149.99 cents"
    assert [objectives.figure("worst_note", value) for value in (150.0, 12.5, None)] == ["silent", 12.5, None]
    assert objectives.figure("stretch", 150.0) == 150.0


def test_what_is_counted_is_named_once():
    assert [objectives.heading(name) for name in ("worst_note", "joints", "plates")] == [
        "worst note, cents", "joints", "plates",
    ]  # fmt: skip
    assert (
        objectives.box({"tuning": 10.0, "stretch": 100.0, "joints": 13.0})
        == "10 cents tuning, 100 % stretch, 13 joints"
    )


@pytest.mark.parametrize("kind", LIMITS)
def test_ways_out_of_what_binds_the_hands_are_named_where_a_limit_of_the_hand_was_in_the_way(kind):
    run = RunRecord.model_construct(broken={f"{kind}.L1-L2": 2}, trials_done=3)
    assert any("holewright relieve" in line for line in in_the_way_lines(run)) is LIMITS[kind].of_hand


def test_of_what_was_in_the_way_five_are_told_and_of_how_many_trials():
    run = RunRecord.model_construct(broken={f"web.g{n}-g{n + 1}": n for n in range(1, 9)}, trials_done=20)
    (said, *_) = in_the_way_lines(run)
    assert said == (
        "Most often in the way, of 20 trials: the limit web.g8-g9 in 8, the limit web.g7-g8 in 7, the limit web.g6-g7 "
        "in 6, the limit web.g5-g6 in 5 and the limit web.g4-g5 in 4."
    )
    assert in_the_way_lines(run.model_copy(update={"broken_of": 9}))[0].startswith("Most often in the way, of 9 trials")


def test_an_angle_just_short_of_the_front_is_0():
    assert [column.cell(-0.3) for column in HOLES if column.key == "azimuth"] == [Cell("0")]
