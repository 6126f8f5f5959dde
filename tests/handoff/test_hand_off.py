"""Folders for the maker, as the command writes them: whole, the same each time, true to their layout."""

import csv
import hashlib
import json

import folded
import pytest
from commanded import told
from made_records import hole, layout
from page_reader import Reader
from pieced import PIECES, jointed
from places import CONFIGS

from optimizer.handoff.handed import Wanted, states_of
from optimizer.handoff.handing_over import hand_off
from optimizer.handoff.sheets.paper import PAPERS
from optimizer.records.files import read_record
from optimizer.records.handoff import AS_PRINTED, FILE, HandoffRecord, NotWritten
from optimizer.records.layout import LayoutRecord
from optimizer.records.named_layouts import chosen_layout

TENOR = CONFIGS / "prototypes" / "lantern-tenor.json"
BENCH = ("tables", "lists", "profiles", "templates", "drilling", "keys")


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The tenor's folder, printed to ream."""
    place = tmp_path_factory.mktemp("bench") / "tenor"
    hand_off(read_record(TENOR, LayoutRecord), place, Wanted(BENCH, ("printed to ream",)))
    return place


def test_the_folder_holds_what_its_record_lists_and_each_file_has_its_hash(made):
    record = read_record(made / FILE, HandoffRecord)
    there = {path.relative_to(made).as_posix() for path in made.rglob("*") if path.is_file()}
    assert there - {FILE, "index.html"} == {file.file for file in record.files}
    for file in record.files:
        content = (made / file.file).read_bytes()
        assert (file.bytes, file.sha256) == (len(content), hashlib.sha256(content).hexdigest())
    assert {file.kind for file in record.files} == {"all", *BENCH}
    assert (
        record.layout_sha256
        == hashlib.sha256((read_record(TENOR, LayoutRecord).model_dump_json(indent=1) + "\n").encode()).hexdigest()
    )


def test_of_a_folded_body_everything_is_written(tmp_path):
    record = folded.solved()
    told = hand_off(record, tmp_path / "pipe", Wanted(BENCH, ("finished",)))
    assert told.not_written == []
    files = {file.file for file in told.files}
    assert {
        "profiles/profile-piece-2-finished-bend-high.dxf",
        "keys/keys-tube-2.dxf",
        "keys/keys-across-k3.dxf",
    } <= files
    page = (tmp_path / "pipe" / "index.html").read_text()
    assert page.count("half profile of tube") >= 4  # of both pieces with a bend


def test_the_same_layout_gives_the_same_bytes(made, tmp_path):
    hand_off(read_record(TENOR, LayoutRecord), tmp_path / "again", Wanted(BENCH, ("printed to ream",)))
    for path in made.rglob("*"):
        if path.is_file():
            assert path.read_bytes() == (tmp_path / "again" / path.relative_to(made)).read_bytes(), path


def test_the_record_says_the_state_and_which_end_goes_down(made):
    record, layout_of = read_record(made / FILE, HandoffRecord), read_record(TENOR, LayoutRecord)
    assert [state.state for state in record.states] == ["printed to ream"]
    assert record.printed.factor_along == layout_of.printing.factor_along
    assert record.printed.hole_less_mm
    assert [piece.length_mm for piece in record.printed.pieces] == pytest.approx(
        [piece.length_mm * record.printed.factor_along for piece in layout_of.pieces], abs=1e-3
    )
    assert all(piece.down in ("reed", "bell") for piece in record.printed.pieces)
    assert {"python", "ezdxf", "reportlab"} <= record.versions.keys()


def test_as_printed_is_what_comes_off_the_printer_and_lies_flat(made):
    record, finished = read_record(made / FILE, HandoffRecord), read_record(TENOR, LayoutRecord)
    printed = read_record(made / AS_PRINTED, LayoutRecord)
    for before, after in zip(finished.holes, printed.holes, strict=True):
        less = record.printed.hole_less_mm.get(before.id, 0.0)
        assert after.diameter_mm == pytest.approx(before.diameter_mm - less, abs=1e-9)
    fallen = {
        a.written: b.cents - a.cents for a, b in zip(finished.notes, printed.notes, strict=True) if max(a.openness)
    }
    assert all(cents < 0.0 for cents in fallen.values())
    # With every hole closed there is only less air below the pads, and the lowest note is a little sharp.
    assert 0.0 < printed.notes[0].cents - finished.notes[0].cents < 10.0


def test_commands_for_prototypes_take_a_hand_off_as_it_was_printed(made, tmp_path, capsys):
    printed = read_record(made / AS_PRINTED, LayoutRecord)
    assert chosen_layout(made) == chosen_layout(made / FILE) == printed
    readings = tmp_path / "readings.csv"
    h05 = next(hole.diameter_mm for hole in printed.holes if hole.id == "h05")
    readings.write_text(f"what,where,reading_mm,tool\nhole,h05,{h05 + 0.1:.2f},caliper\n")
    code, _, complaints = told(capsys, "gauged", made, readings, "--json", tmp_path / "gauged.json")
    assert code == 0, complaints
    assert json.loads((tmp_path / "gauged.json").read_text())["values"][0]["drawn_mm"] == h05


def test_the_page_shows_every_piece_and_every_caution_once(made):
    page = (made / "index.html").read_text(encoding="utf-8")
    record = read_record(made / FILE, HandoffRecord)
    assert page.count('class="drawing plan"') == len(record.printed.pieces)
    for caution in record.cautions:
        assert page.count(caution.replace("'", "&#39;")) == 1
    assert "http" not in page.replace("http-equiv", "").replace("http://www.w3.org/2000/svg", "")
    assert Reader(page).of("h1")


def test_kinds_left_out_for_one_reason_are_told_in_one_sentence(made):
    left = [
        NotWritten(kind=kind, why=why) for kind, why in (("keys", "folded"), ("cake", "no oven"), ("step", "folded"))
    ]
    record = read_record(made / FILE, HandoffRecord).model_copy(update={"not_written": left})
    assert record.left_out == ["keys and step were left out: folded", "cake was left out: no oven"]


def test_drilling_goes_from_the_bell_up_and_never_below_what_is_printed(made):
    lines = (made / "drilling" / "drilling.csv").read_text(encoding="utf-8").splitlines()
    heads, rows = (
        lines[0].split(","),
        [dict(zip(lines[0].split(","), line.split(","), strict=True)) for line in lines[1:]],
    )
    assert heads[2:6] == ["from_end_mm", "azimuth_deg", "from_print_mm", "drill_mm"]
    layout_of = read_record(TENOR, LayoutRecord)
    holes = {hole.id: hole for hole in layout_of.holes}
    places = [holes[row["hole"]].position_mm for row in rows]
    assert places == sorted(places, reverse=True)
    for row in rows:
        assert float(row["finished_mm"]) == pytest.approx(holes[row["hole"]].diameter_mm)
        assert float(row["from_print_mm"]) <= float(row["finished_mm"])
        if row["drill_mm"]:
            assert (
                float(row["from_print_mm"]) < float(row["drill_mm"]) == pytest.approx(float(row["finished_mm"]) - 0.5)
            )
    cents = {note.written: note.cents for note in layout_of.notes if not note.alternate}
    assert all(float(row["stop_at_cents"]) == pytest.approx(cents[row["listen_to"]], abs=0.06) for row in rows)


def test_an_undercut_hole_says_how_wide_and_how_deep(tmp_path):
    record = layout(holes=[hole("g1", 200.0, diameter_mm=9.0, top_diameter_mm=6.0)])
    hand_off(record, tmp_path / "out", Wanted(("drilling",), ("finished",)))
    row = (tmp_path / "out" / "drilling" / "drilling.csv").read_text().splitlines()[1].split(",")
    assert row[6] == "6.00"
    assert row[8:10] == ["9.00", "5.00"]


def test_a_flared_hole_says_how_wide_its_top_is(tmp_path):
    record = layout(holes=[hole("g1", 200.0, diameter_mm=6.0, top_diameter_mm=7.5)])
    hand_off(record, tmp_path / "out", Wanted(("drilling",), ("finished",)))
    row = (tmp_path / "out" / "drilling" / "drilling.csv").read_text().splitlines()[1].split(",")
    assert row[6:8] == ["6.00", "open to 7.50 at the top"]


def test_a_body_without_holes_gets_no_sheet_without_anything_on_it(tmp_path):
    hand_off(
        layout(holes=[]),
        tmp_path / "pipe",
        Wanted(
            (
                "templates",
                "drilling",
                "profiles",
            ),
            ("finished",),
        ),
    )
    found = {path.name for path in (tmp_path / "pipe").rglob("*") if path.is_file()}
    assert {"profiles.pdf", "profile-body-finished.dxf", "drilling.csv"} <= found
    assert not {"templates.pdf", "drilling.pdf"} & found


def test_a_body_of_one_piece_is_handed_over_too(tmp_path):
    hand_off(layout(), tmp_path / "pipe", Wanted(BENCH, ("finished",)))
    assert (tmp_path / "pipe" / "templates" / "wrap-1.dxf").exists()
    assert not (tmp_path / "pipe" / "tables" / "keys.csv").exists()


def test_meshes_are_held_against_the_layout_and_their_figures_kept(tmp_path):
    made = hand_off(jointed(PIECES), tmp_path / "out", Wanted(("meshes",), ("printed",)))
    assert {check.file for check in made.checks} == {file.file for file in made.files if file.kind == "meshes"}
    for check in made.checks:
        assert check.figures["closed"] is True
        assert check.figures["solids"] == 1
        assert check.figures["open_holes"] == check.figures["holes_wanted"] > 0
        assert abs(check.figures["volume_off"]) <= 2e-4
    page = (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    assert all(check.file in page for check in made.checks)


# what stands in the way: a sentence, and nothing half written


def test_all_states_lie_in_one_folder_and_names_say_which(tmp_path, printed):
    record, wanted = printed, Wanted(("tables", "profiles"), states_of(["all"]))
    made = hand_off(record, tmp_path / "out", wanted)
    states = ["finished", "printed", "printed to ream"]
    assert [state.state for state in made.states] == states
    names = [state.replace(" ", "-") for state in states]
    tables = tmp_path / "out" / "tables"
    assert {path.stem.partition("-")[2] for path in tables.glob("holes-*.csv")} == set(names)
    for name, state in zip(names, states, strict=True):
        rows = list(csv.DictReader((tables / f"pieces-{name}.csv").read_text().splitlines()))
        assert {row["state"] for row in rows} == {state}
    pieces = len(record.pieces)
    assert len(list((tmp_path / "out" / "profiles").glob("*.dxf"))) == 3 * pieces
    page = (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    assert all(f"Names of files: -{name}." in page for name in names)
    # The last is what is printed, and what is measured later is held against it.
    holes = {hole.id: hole.diameter_mm for hole in read_record(tmp_path / "out" / AS_PRINTED, LayoutRecord).holes}
    assert made.printed.hole_less_mm
    for hole_ in record.holes:
        assert holes[hole_.id] == pytest.approx(hole_.diameter_mm - made.printed.hole_less_mm.get(hole_.id, 0.0))


def test_what_notes_do_until_holes_are_reamed_is_said(made):
    # Open holes made narrower sound flat; where all are closed there is less air in them, and the note is sharp.
    said = next(each for each in read_record(made / FILE, HandoffRecord).remarks if each.startswith("Until the holes"))
    finished, printed = read_record(TENOR, LayoutRecord), read_record(made / AS_PRINTED, LayoutRecord)
    flattest = min(b.cents - a.cents for a, b in zip(finished.notes, printed.notes, strict=True))
    lowest = printed.notes[0].cents - finished.notes[0].cents
    assert f"by {-flattest:.1f} cents" in said
    assert f"{finished.notes[0].written}, with its holes closed, comes out {lowest:.1f} cents sharp" in said


def test_sheets_are_for_the_paper_that_is_wanted(tmp_path):
    wanted = Wanted(("drilling",), ("finished",), PAPERS["letter"])
    made = hand_off(layout(), tmp_path / "out", wanted)
    assert made.paper == "US letter"
    with (tmp_path / "out" / "drilling" / "drilling.pdf").open("rb") as file:
        assert b"/MediaBox [ 0 0 792 612 ]" in file.read()
