"""Gauge readings: what several of one thing make of its size, and a sentence for what they cannot be."""

import math
import re

import numpy as np
import pytest
from commanded import told
from places import CONFIGS

from optimizer.prototype.gauge_readings import TOOLS, Drawn, read_gauges
from optimizer.prototype.gauged_layout import drawn_of, gauged, sheet
from optimizer.prototype.measured_table import TableError
from optimizer.prototype.present_gauged import with_gauges
from optimizer.prototype.present_layout import present_layout
from optimizer.prototype.present_project import Told, present_project
from optimizer.prototype.present_tables import TableOfHoles
from optimizer.records.files import read_record
from optimizer.records.gauge import GaugedRecord

HEADERS = "what,where,reading_mm,along_mm,around_mm,tool,flat_mm,times_x"
HERE = Drawn(
    {("hole", "g1"): 8.0, ("hole", "g2"): 6.0, ("chimney", "g1"): 4.0, ("length", "bell"): 320.0},
    [(0.0, 4.0), (320.0, 20.0)],
)


def read(tmp_path, rows, drawn=HERE):
    path = tmp_path / "readings.csv"
    path.write_text(f"{HEADERS}\n{rows}")
    return read_gauges(path, drawn)


def test_jaws_with_flats_read_a_chord_less_than_the_hole(tmp_path):
    # Two flats w wide across a circle d wide touch it at their edges: (d/2)^2 = (r/2)^2 + (w/2)^2 (Pythagoras).
    wide, flat = 6.05, 1.2
    reading = 2.0 * math.sqrt((wide / 2.0) ** 2 - (flat / 2.0) ** 2)
    ((found,), _) = read(tmp_path, f"hole,g2,{reading!r},,,caliper,{flat},\n")
    assert found.value_mm == pytest.approx(wide, abs=1e-4)
    assert found.sd_mm == pytest.approx(TOOLS["caliper"])


def test_pins_leave_a_size_between_them(tmp_path):
    # Evenly spread between its ends, a size has a standard deviation of their distance over sqrt(12) (any handbook).
    ((found,), _) = read(tmp_path, "hole,g1,7.9,,,go,,\nhole,g1,7.8,,,go,,\nhole,g1,8.1,,,no-go,,\n")
    assert (found.value_mm, found.readings) == (8.0, 3)
    assert found.sd_mm == pytest.approx(np.std(np.linspace(7.9, 8.1, 200_001)), abs=1e-4)


def test_an_oval_hole_counts_as_the_circle_of_its_area(tmp_path):
    ((found,), _) = read(tmp_path, "hole,g1,,8.4,7.8,cone,,\n")
    assert math.pi * found.value_mm**2 == pytest.approx(math.pi * 8.4 * 7.8, rel=1e-4)
    assert found.oval_mm == pytest.approx(0.6)


def test_several_readings_are_as_good_as_they_say(tmp_path):
    # Drawn at random: each tool with an error of its own, each reading with scatter; 90 of 100 sizes lie within 1.645.
    dice, hit = np.random.default_rng(20), 0
    for _ in range(300):
        rows = []
        for tool, scatter in (("caliper", 0.02), ("cone", 0.03)):
            off = dice.normal(0.0, TOOLS[tool])
            rows += [f"hole,g1,{8.0 + off + dice.normal(0.0, scatter)!r},,,{tool},," for _ in range(4)]
        ((found,), _) = read(tmp_path, "\n".join(rows) + "\n")
        hit += abs(found.value_mm - 8.0) < 1.645 * found.sd_mm
    assert 0.86 <= hit / 300 <= 0.94


def test_tools_that_do_not_agree_are_told(tmp_path):
    _, remarks = read(tmp_path, "hole,g1,8.0,,,telescope,,\nhole,g1,8.4,,,cone,,\n")
    assert any("hole g1: cone says 8.40" in line and "read again" in line for line in remarks)
    assert read(tmp_path, "hole,g1,8.0,,,telescope,,\nhole,g1,8.05,,,cone,,\n")[1] == []


WRONG = {
    "unknown hole": ("hole,g7,8,,,cone,,", "line 2, column where: there is no hole 'g7'"),
    "place beyond": ("bore,400,8,,,cone,,", "line 2, column where: must be a place between 0 and 320, but got '400'"),
    "no place": ("bore,bell,8,,,cone,,", "must be a place between 0 and 320, but got 'bell'"),
    "unknown thing": ("web,g1,8,,,cone,,", "line 2, column what: must be one of hole, hole_top"),
    "unknown tool": ("hole,g1,8,,,thumb,,", "line 2, column tool: must be one of go, no-go"),
    "no reading": ("hole,g1,,,,cone,,", "line 2, column reading_mm: is empty"),
    "half an oval": ("hole,g1,,8,,cone,,", "line 2: give reading_mm, or along_mm and around_mm together"),
    "inches": ("hole,g1,0.315,,,cone,,", "far from the 8.00 that hole g1 has; is it in inches? write millimetres"),
    "another hole": ("hole,g1,12.5,,,cone,,", "12.5 mm is far from the 8.00 that hole g1 has; is it this place?"),
    "flats of a cone": ("hole,g1,8,,,cone,1,", "line 2, column flat_mm: only the jaws of a caliper have flats"),
    "pin on a length": ("length,bell,320,,,go,,", "a pin gauges the diameter of a hole or bore"),
    "go alone": ("hole,g1,8,,,go,,", "line 2: hole g1 needs a line for the thinnest pin that does not go, no-go, too"),
    "no-go alone": ("hole,g1,8,,,no-go,,", "needs a line for the thickest pin that goes, go, too"),
    "pins crossed": ("hole,g1,8.1,,,go,,\nhole,g1,8,,,no-go,,", "in hole g1 a pin of 8.1 goes and one of 8 does not"),
    "times": ("hole,g1,8,,,cone,,0", "line 2, column times_x: must be at least 1"),
}


@pytest.mark.parametrize("what", WRONG)
def test_what_no_reading_can_be_is_told_with_its_place(tmp_path, what):
    rows, said = WRONG[what]
    with pytest.raises(TableError, match=re.escape(said)):
        read(tmp_path, rows + "\n")


def test_a_sheet_asks_for_every_hole_and_reads_back_when_filled_in(tmp_path, record):
    text = sheet(record)
    rows = [line for line in text.splitlines() if not line.startswith("#")][1:]
    assert sum(row.startswith("hole,") for row in rows) == len(record.holes)
    drawn = drawn_of(record)
    filled = text
    for row in rows:
        what, where = row.split(",")[:2]
        filled = filled.replace(row, f"{what},{where},{drawn.at(what, where)!r},,,ruler,,")
    path = tmp_path / "sheet.csv"
    path.write_text(filled)
    found = gauged(record, path)
    assert len(found.values) == len(rows)
    assert all(value.value_mm == pytest.approx(value.drawn_mm, abs=1e-4) for value in found.values)


def test_the_command_writes_a_sheet_and_reads_one(tmp_path, record, capsys):
    from optimizer.records.files import write_record

    write_record(tmp_path / "layout.json", record)
    assert told(capsys, "gauged", tmp_path / "layout.json", "--sheet", tmp_path / "sheet.csv")[0] == 0
    (tmp_path / "read.csv").write_text(f"{HEADERS}\nhole,g1,{record.holes[0].diameter_mm + 0.3},,,cone,,\n")
    code, out, _ = told(
        capsys, "gauged", tmp_path / "layout.json", tmp_path / "read.csv", "--json", tmp_path / "g.json"
    )
    assert code == 0
    assert re.search(r"hole +g1 .* \+0\.30 ", out)
    assert read_record(tmp_path / "g.json", GaugedRecord).values[0].where == "g1"
    assert told(capsys, "gauged", tmp_path / "layout.json")[0] == 2


def test_an_instrument_takes_what_was_gauged():
    place = CONFIGS / "present"
    tables = {"holes": place / "attic-reed-holes.csv", "bore": place / "attic-reed-bore.csv", "reed_cm3": 5.3}
    found = present_project(CONFIGS / "attic-reed.toml", Told(**tables, gauged=place / "attic-reed-readings.csv"))
    made = present_layout(found)
    holes = {hole.id: hole for hole in made.holes}
    assert holes["r1"].diameter_mm == pytest.approx(1.775, abs=1e-3)
    assert holes["c12"].chimney_mm == pytest.approx(5.1, abs=1e-3)
    assert holes["c12"].diameter_mm == 7.73  # was not gauged
    assert [300.0, pytest.approx(15.42)] in [list(point) for point in made.bore.points_mm]
    assert made.bore.points_mm[-1][0] == 653.0


def test_steps_of_a_bore_stay_and_straight_holes_stay_straight(tmp_path):
    holes = TableOfHoles({"g1": {"position_mm": 200.0, "diameter_mm": 8.0, "chimney_mm": 4.0}})
    path = tmp_path / "read.csv"
    path.write_text(f"{HEADERS}\nhole,g1,8.2,,,cone,,\nbore,150,9.1,,,telescope,,\n")
    bore, _ = with_gauges(path, holes, {"points_mm": [[0, 4.0], [100, 6.0], [100, 8.0], [320, 15.0]]})
    assert bore["points_mm"] == [[0.0, 4.0], [100.0, 6.0], [100.0, 8.0], [150.0, 9.1], [320.0, 15.0]]
    assert holes.entries["g1"] == {"position_mm": 200.0, "diameter_mm": 8.2, "chimney_mm": 4.0}
    path.write_text(f"{HEADERS}\nhole_top,g1,8.61,,,cone,,\n")
    with_gauges(path, holes, {"points_mm": [[0, 4.0], [320, 15.0]]})
    assert holes.entries["g1"]["top_ratio"] == 1.05
