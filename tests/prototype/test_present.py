"""An instrument that is made: shown as it is, whatever limits it breaks, and taken by what takes a layout."""

import dataclasses
import json
import re
import shlex

import numpy as np
import pytest
from commanded import cents, told
from pieced import LONG
from places import CONFIGS, ROOT
from shelf import PIPE, changed

from optimizer.commands.cli import asked_for
from optimizer.prototype.present_layout import present_layout
from optimizer.prototype.present_project import Told, present_project
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.run import FrontRecord

HEADERS = "hole,from_reed_mm,bore_end_mm,outer_end_mm,chimney_mm"


def table_of(record):
    rows = [
        f"{hole.id},{hole.position_mm},{hole.diameter_mm},{hole.top_diameter_mm},{hole.chimney_mm}"
        for hole in record.holes
    ]
    return "\n".join([HEADERS, *rows]) + "\n"


@pytest.fixture
def shelf(tmp_path, record):
    """The practice pipe's project, and the tables of a print of one of its layouts."""
    (tmp_path / "pipe.toml").write_text(PIPE)
    (tmp_path / "holes.csv").write_text(table_of(record))
    points = "\n".join(f"{place!r},{wide!r}" for place, wide in record.bore.points_mm)
    (tmp_path / "bore.csv").write_text(f"from_reed_mm,diameter_mm\n{points}\n")
    return tmp_path


def made_of(shelf, record, **said):
    asked = {"holes": shelf / "holes.csv", "bore": shelf / "bore.csv", "reed_cm3": record.reed.volume_cm3, **said}
    return present_project(shelf / "pipe.toml", Told(**asked))


def test_a_layout_made_as_it_was_solved_sounds_as_it_was_solved(shelf, record):
    made = present_layout(made_of(shelf, record))
    assert made.id == "present"
    assert made.holes == record.holes
    assert [note.cents for note in made.notes] == pytest.approx([note.cents for note in record.notes], abs=1e-6)
    assert [note.sd_cents for note in made.notes] == pytest.approx([note.sd_cents for note in record.notes], abs=1e-3)
    # pairs of holes that ranges alone bring near each other are not looked at where both are fast
    known = {name: margin for name, margin in record.margins_mm.items() if name in made.margins_mm}
    assert made.margins_mm == pytest.approx(known, abs=2e-3)
    assert {name.partition(".")[0] for name in record.margins_mm.keys() - known.keys()} <= {"web", "bell_margin"}
    assert made.feasible


def test_limits_that_are_broken_forbid_nothing_and_are_told_with_how_far(shelf, record):
    # 60 mm between neighbouring fingers: no hand's limit; a search refuses such a project before it begins.
    wide = {"g4": 120.0, "g3": 180.0, "g2": 240.0, "g1": 298.0}
    rows = [f"{hole.id},{wide[hole.id]},8.5,,4" for hole in record.holes]
    (shelf / "holes.csv").write_text("\n".join([HEADERS, *rows]) + "\n")
    made = present_layout(made_of(shelf, record))
    broken = {name: margin for name, margin in made.margins_mm.items() if margin < 0}
    assert broken["reach.L1-L2"] == pytest.approx(made.reach[0].working_mm - made.reach[0].spacing_mm, abs=0.02)
    assert not made.feasible
    assert all(note.target_hz > 0 for note in made.notes)


def test_places_and_sizes_outside_the_ranges_of_the_project_stay_as_measured(shelf, record):
    (shelf / "holes.csv").write_text(
        f"{HEADERS}\ng1,262.137,11.513,,4.25\ng2,171,4.6,4.14,4\ng3,140,5,,4\ng4,118,4.5,,4\n"
    )
    made = present_layout(made_of(shelf, record))
    assert [hole.position_mm for hole in made.holes] == [262.137, 171.0, 140.0, 118.0]
    assert (made.holes[0].diameter_mm, made.holes[0].chimney_mm) == (11.513, 4.25)
    assert made.holes[1].top_diameter_mm == pytest.approx(4.14, abs=1e-4)


def test_pads_are_those_that_are_there():
    holes = CONFIGS / "present" / "attic-reed-holes.csv"
    bore = CONFIGS / "present" / "attic-reed-bore.csv"
    found = present_project(CONFIGS / "attic-reed.toml", Told(holes, bore, 5.3))
    made = present_layout(found)
    pads = {hole.id: hole.pad for hole in made.holes}
    assert (pads["c01"].diameter_mm, pads["c01"].opening_mm) == (18.5, 3.5)
    assert pads["c04"].opening_mm == 3.8
    low = present_layout(present_project(CONFIGS / "attic-reed.toml", Told(holes, bore, 5.3)))
    assert low == made  # nothing is drawn at random


def test_a_lower_pad_makes_the_notes_above_it_flatter(shelf, tmp_path):
    # A pad that hangs lower shades its hole: an acoustic mass more at its top (Benade, 1976, from memory).
    holes = (CONFIGS / "present" / "attic-reed-holes.csv").read_text()
    line = next(row for row in holes.splitlines() if row.startswith("c03,"))
    low = tmp_path / "low.csv"
    low.write_text(holes.replace(line, ",".join([*line.split(",")[:-1], "1.5"])))
    bore = CONFIGS / "present" / "attic-reed-bore.csv"
    as_is, lower = (
        present_layout(present_project(CONFIGS / "attic-reed.toml", Told(path, bore, 5.3)))
        for path in (CONFIGS / "present" / "attic-reed-holes.csv", low)
    )
    change = {
        before.written: after.cents - before.cents for before, after in zip(as_is.notes, lower.notes, strict=True)
    }
    assert change["G3"] < -1.0  # its first open hole is c03
    assert abs(change["E3"]) < 0.1


def test_joints_that_are_told_part_the_body_and_without_them_it_is_one_piece(tmp_path, printed):
    (tmp_path / "pipe.toml").write_text(LONG)
    (tmp_path / "holes.csv").write_text(table_of(printed))
    joints = tuple(piece.to_mm for piece in printed.pieces[:-1])
    said = Told(tmp_path / "holes.csv", None, printed.reed.volume_cm3, printed.bore.points_mm[-1][0])
    parted = present_project(tmp_path / "pipe.toml", dataclasses.replace(said, joints_mm=joints))
    assert [piece.to_mm for piece in present_layout(parted).pieces] == [piece.to_mm for piece in printed.pieces]
    assert not parted.remarks
    whole = present_project(tmp_path / "pipe.toml", said)
    assert not present_layout(whole).pieces
    assert "as no joints_mm are told" in whole.remarks[0]


def test_plates_are_touched_where_they_are(tmp_path):
    holes = (CONFIGS / "present" / "attic-reed-holes.csv").read_text().splitlines()
    told_at = {"c05": "490.0"}
    rows = [
        f"{row},touch_from_reed_mm" if row.startswith("hole,") else f"{row},{told_at.get(row.split(',')[0], '')}"
        for row in holes if not row.startswith("#")
    ]  # fmt: skip
    path = tmp_path / "holes.csv"
    path.write_text("\n".join(rows) + "\n")
    found = present_project(CONFIGS / "attic-reed.toml", Told(path, CONFIGS / "present" / "attic-reed-bore.csv", 5.3))
    assert {hole.id: hole.touch_position_mm for hole in present_layout(found).holes}["c05"] == 490.0


def test_the_project_may_name_the_tables_itself(shelf, record):
    reed = record.reed.volume_cm3
    text = f'{PIPE}\n[present]\nholes = "holes.csv"\nbore = "bore.csv"\nreed_cm3 = {reed}\n'
    (shelf / "pipe.toml").write_text(text)
    assert present_layout(present_project(shelf / "pipe.toml", Told())) == present_layout(made_of(shelf, record))


def test_check_reads_the_tables_that_the_project_names(shelf, record, capsys):
    reed = record.reed.volume_cm3
    text = f'{PIPE}\n[present]\nholes = "holes.csv"\nbore = "bore.csv"\nreed_cm3 = {reed}\n'
    (shelf / "pipe.toml").write_text(text)
    code, out, _ = told(capsys, "check", shelf / "pipe.toml", "--quick")
    assert (code, "the instrument that is made: its tables can be read" in out) == (0, True)
    (shelf / "holes.csv").write_text(table_of(record).replace("from_reed_mm", "from_reed_in", 1))
    code, _, err = told(capsys, "check", shelf / "pipe.toml", "--quick")
    assert (code, "'from_reed_in' is in inches; this table takes from_reed_mm" in " ".join(err.split())) == (2, True)


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"holes": None}, "say where the table of its holes is: beside the project"),
        ({"reed_cm3": None}, "reed.volume_cm3 is a range, [0.1, 0.6]; say what this reed holds, by reed_cm3"),
        ({"bore": None}, "bore.end_mm is a range; say where the bell ends, by end_mm"),
    ],
)
def test_what_is_not_told_of_the_instrument_is_asked_for(shelf, record, said, sentence):
    from optimizer.project.faults import Fault

    with pytest.raises(Fault) as fault:
        made_of(shelf, record, **said)
    assert sentence in str(fault.value)


def test_every_command_takes_it(shelf, record, capsys):
    reed = str(record.reed.volume_cm3)
    tables = ["--holes", shelf / "holes.csv", "--bore", shelf / "bore.csv", "--reed-cm3", reed]
    code, out, err = told(capsys, "present", shelf / "pipe.toml", *tables, "--results", shelf / "results")
    assert (code, err) == (0, "")
    notes = cents(out)
    assert notes == {note.written: pytest.approx(note.cents, abs=0.06) for note in record.notes}
    (run,) = (shelf / "results").iterdir()
    assert (run / "report.html").exists()
    assert read_record(run / "pareto.json", FrontRecord).made
    assert json.loads((run / "run.json").read_text())["trials_done"] == 0
    made = read_record(run / "layouts" / "present.json", LayoutRecord)
    for words in (
        ["show", run], ["predict", run, "--a4", "442"], ["resonances", run, "--note", "A4"], ["report", run],
        ["tolerance", run, "--samples", "20"], ["compare", run, run / "layouts" / "present.json"],
        ["reach", run, "--quick"],
    ):  # fmt: skip
        code, out, err = told(capsys, *words)
        assert (code, err) == (0, ""), words
        assert np.all([note.cents is not None for note in made.notes])
    assert told(capsys, "resume", run, "--trials", "1")[0] == 2


def test_a_search_passes_the_instrument_over(shelf, record):
    from optimizer.project.loading import load_project

    (shelf / "pipe.toml").write_text(f'{PIPE}\n[present]\nholes = "holes.csv"\n')
    project = load_project(shelf / "pipe.toml").project
    assert not project.made
    assert project.holes[0].position_mm == (220, 300)


def test_made_ranges_prove_nothing_impossible():
    from optimizer.project.loading import ProjectError, parse_project

    apart = changed("position_mm = [120, 200]", "position_mm = [40, 60]")
    with pytest.raises(ProjectError):
        parse_project(apart, "pipe.toml")
    assert parse_project(f"{apart}\n[present]\nmade = true\n", "pipe.toml").project.made


def test_joints_are_one_value():
    asked = asked_for(["present", "pipe.toml", "--joints", "310,560", "--no-report"])
    assert (asked.values["joints"], asked.values["no_report"]) == ((310.0, 560.0), True)


def commands_of_the_documents():
    page = (CONFIGS / "README.md").read_text()
    return re.findall(r"^holewright (present (?:.*\\\n)*.*)$", page, re.MULTILINE)


@pytest.mark.parametrize("line", commands_of_the_documents())
def test_the_documents_instrument_is_shown_by_the_documents_commands(line, tmp_path, capsys):
    words = shlex.split(line.replace("\\\n", ""))
    words = [str(ROOT / word) if word.startswith("configs/") else word for word in words]
    code, out, err = told(capsys, *words, "--results", tmp_path)
    assert (code, err) == (0, "")
    assert len(cents(out)) == 33
    assert "layout present: as it is made; breaks " in out
    page = (next(tmp_path.iterdir()) / "report.html").read_text(encoding="utf-8")
    assert "As it is made; breaks " in page
    assert "Shown as it is made, without a search." in page
    assert "NOT feasible" not in page
    assert re.search(r"reach\.\S+: broken by \d+\.\d\d mm; must hold: ", out)


def test_the_documents_have_both_ways_to_tell_an_instrument():
    assert ["--gauged" in line for line in commands_of_the_documents()] == [False, True]


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('g1 = { by = "R1"', 'g1 = 5 #', "holes"),
        ('by = "R1"', 'by = "R9"', "holes.g1.by"),
        ("chimney_mm = 4 }", 'chimney_mm = 4, rest = "ajar" }', "holes.g1.rest"),
        ("points_mm = [[0, 4.0], [330, 21.0]]", 'points_mm = "none"', "bore.points_mm"),
        ("[chart]", "[chart", "the closing bracket is missing"),
        ("[venting]", "[present]\nholez = 1\n[venting]", "present.holez"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_the_project_is_told_as_ever(shelf, old, new, sentence, capsys):
    (shelf / "pipe.toml").write_text(PIPE.replace(old, new, 1))
    tables = ["--holes", shelf / "holes.csv", "--reed-cm3", "0.3", "--end-mm", "320"]
    code, _, err = told(capsys, "present", shelf / "pipe.toml", *tables, "--results", shelf / "results")
    assert code == 2
    assert sentence in err
    assert not (shelf / "results").exists()
