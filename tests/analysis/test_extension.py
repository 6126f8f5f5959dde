"""An instrument carried on: kept holes to the last bit, few holes opened up, notes compared; the practice pipe."""

import json
import math
import time

import jsonschema
import pytest
from shelf import changed, pipe

from optimizer.analysis.extension_ways import Task, changes, common, extended_by, growing_holes
from optimizer.analysis.printed_pieces import Extended, KeptPiecesError, with_locked
from optimizer.commands.cli import main
from optimizer.limits.catalogue import build_constraints
from optimizer.project.loading import ProjectError
from optimizer.project.venting import Venting
from optimizer.records.extension import ExtensionRecord, NoteChange
from optimizer.records.files import read_record, write_record
from optimizer.records.kinds import schema_text
from optimizer.records.layout import LayoutRecord
from optimizer.solving.fitting import Fitting

LONG = changed("[holes]", "[sections]\njoints = [1, 2]\npiece_max_mm = 280\njoint_mm = 16\n[holes]")
"""The practice pipe in two pieces: three holes on the first, one on the second."""

LOWER = changed("[[0, 4.0], [330, 21.0]]", "[[0, 4.0], [330, 21.0], [396, 24.4]]", LONG)
LOWER = changed("end_mm = [300, 340]", "end_mm = [335, 400]", LOWER)
LOWER = changed('g1 = { by = "R1",', 'g0 = { by = "R2", position_mm = [260, 370], diameter_mm = [5, 12], '
                'chimney_mm = 4 }\ng1 = { by = "R1",', LOWER)  # fmt: skip
LOWER = changed("A4   1  L123 R1\n", "G4   1  L123 R12\nA4   1  L123 R1\n", LOWER)
LOWER += "\n[hand]\nright = { index_middle_mm = [40, 50] }\n\n[scale]\na4_hz = 446.0\n"
"""The same with a hole and a note more, sharper, so that holes want to grow; its cone carried on: (21 - 4) / 330 for
each mm, 66 mm are 3.4 mm."""

MADE = {"diameter_mm", "position_mm", "chimney_mm", "azimuth_deg", "top_diameter_mm", "bore_diameter_mm"}


@pytest.fixture(scope="module")
def present():
    """The practice pipe as it is, solved once."""
    fitting = Fitting(pipe(LONG))
    low = fitting.plain._replace(joints=(1.0,))
    return fitting.judged([fitting.solve(number, low) for number in range(3)], "present")


@pytest.fixture(scope="module")
def ways(present):
    """Its upper piece kept, and kept with one hole opened up."""
    return extended_by(Task(pipe(LOWER), present, (1,), 1, time.monotonic() + 1.0))


def made(record, names):
    return {hole.id: hole.model_dump(include=MADE) for hole in record.holes if hole.id in names}


def test_kept_holes_come_back_to_the_last_bit(present, ways):
    assert [one.entry.way for one in ways] == ["kept", "redrilled"]
    names = present.pieces[0].holes
    kept, drilled = (one.record for one in ways)
    assert made(kept, names) == made(present, names)
    assert all(hole.locked == (hole.id in names) for hole in kept.holes)
    grown = {hole.hole for hole in ways[1].entry.redrill}
    assert made(drilled, set(names) - grown) == made(present, set(names) - grown)
    assert len(grown) == 1
    assert kept.pieces[0].to_mm == present.pieces[0].to_mm
    assert kept.pieces[0].locked
    assert ways[0].entry.print_pieces == list(range(2, len(kept.pieces) + 1))


def test_a_redrilled_hole_only_grows_and_stays_where_it_is(present, ways):
    before = {hole.id: hole for hole in present.holes}
    most = {hole.id: hole.diameter_mm[1] for hole in pipe(LOWER).project.holes}
    drilled = {hole.id: hole for hole in ways[1].record.holes}
    for hole in ways[1].entry.redrill:
        assert hole.from_mm == before[hole.hole].diameter_mm
        assert hole.from_mm < hole.to_mm == drilled[hole.hole].diameter_mm <= most[hole.hole]
        assert drilled[hole.hole].position_mm == before[hole.hole].position_mm
        assert drilled[hole.hole].chimney_mm == before[hole.hole].chimney_mm


def test_holes_drilled_wider_and_new_ones_are_of_the_stock(present):
    drills = [size / 4 for size in range(20, 49)]  # 5 to 12
    text = LOWER.replace("chimney_mm = 4 }", 'chimney_mm = 4, finish = "drill" }') + f"\n[stock]\ndrill_mm = {drills}\n"
    kept = {hole.id: hole.diameter_mm for hole in present.holes if hole.id in present.pieces[0].holes}
    ways = extended_by(Task(pipe(text), present, (1,), 1, time.monotonic() + 1.0))
    for way in ways:
        grown = {hole.hole for hole in way.entry.redrill}
        for hole in way.record.holes:
            if hole.id in kept and hole.id not in grown:
                assert hole.diameter_mm == kept[hole.id]
            else:
                assert hole.diameter_mm in drills
                assert hole.tool.called == f"drill {hole.diameter_mm:g}"
    assert ways[1].entry.redrill


def test_more_freedom_is_no_dearer(ways):
    kept, drilled = (one.entry.fit for one in ways)
    assert kept.feasible
    assert drilled.objectives["tuning"] <= kept.objectives["tuning"] + 0.02


def test_what_the_notes_lost_is_counted_from_both_layouts(present, ways):
    before = {note.written: note.cents for note in present.notes}
    for way in ways:
        after = {note.written: note.cents for note in way.record.notes}
        assert set(after) - set(before) == {"G4"}
        assert {note.written: (note.before_cents, note.after_cents) for note in way.entry.notes} == {
            name: (before[name], after[name]) for name in before
        }
        rms = math.sqrt(sum(after[name] ** 2 for name in before) / len(before))
        assert way.entry.common_rms_cents == pytest.approx(rms, abs=1e-4)


def test_notes_of_both_by_hand():
    # Weights 1 and 0.5: sqrt((9 + 0.5 * 16) / 1.5) = 3.36650; an alternate counts in the RMS, not as the worst note.
    notes = [
        NoteChange(written="A4", register_number=1, alternate=False, weight=1.0, before_cents=1.0, after_cents=-3.0),
        NoteChange(written="B4", register_number=1, alternate=True, weight=0.5, before_cents=None, after_cents=4.0),
    ]
    assert common(notes, "after_cents") == pytest.approx((3.36650, 3.0), abs=1e-5)
    assert common(notes, "before_cents")[1] == 1.0


def test_a_layout_has_all_its_notes_in_common_with_itself(present):
    assert [note.written for note in changes(present, present)] == ["A4", "B4", "C#5", "D5", "E5"]
    assert all(note.before_cents == note.after_cents for note in changes(present, present))


def test_holes_that_may_grow_lie_on_kept_pieces(present):
    names = present.pieces[0].holes
    full = {hole.id for hole in present.holes if hole.diameter_mm >= (11 if hole.id == "g1" else 10)}
    assert growing_holes(pipe(LOWER), present, (1,)) == [name for name in names if name not in full]


def test_a_hole_to_redrill_has_a_range_from_what_it_is(present):
    name = present.pieces[0].holes[0]
    loaded = with_locked(pipe(LOWER), present, [1], Extended((name,)))
    (hole,) = (hole for hole in loaded.project.holes if hole.id == name)
    (was,) = (hole for hole in present.holes if hole.id == name)
    assert not hole.locked
    assert hole.diameter_mm == (was.diameter_mm, 10.0)
    assert hole.position_mm == (was.position_mm, was.position_mm)
    vented = loaded.project.model_copy(update={"venting": Venting()})
    of_new_ones = {item.name for item in build_constraints(vented).items if item.name[:4] in ("size", "step")}
    assert f"size.{name}" not in of_new_ones  # made already, though it may grow
    assert "size.g0" in of_new_ones
    with pytest.raises(ProjectError, match="locked must be true"):
        pipe(loaded.text.replace(f'redrill = ["{name}"]\n', ""))


def test_another_bore_on_the_kept_length_is_refused(present):
    with pytest.raises(ProjectError, match="a printed piece keeps its bore"):
        with_locked(pipe(LOWER.replace("[330, 21.0]", "[330, 21.5]")), present, [1], Extended())


def test_a_printed_hole_that_the_project_lacks_is_named(present):
    text = LOWER.replace("g2 =", "gg2 =")
    with pytest.raises(KeptPiecesError, match="g2: stands in only one"):
        with_locked(pipe(text), present, [1], Extended())


def test_the_command_writes_three_ways(present, tmp_path, capsys):
    write_record(tmp_path / "present.json", present)
    (tmp_path / "lower.toml").write_text(LOWER)
    arguments = ["extend", tmp_path / "present.json", tmp_path / "lower.toml", "--minutes", 0.05, "--workers", 1]
    code = main([str(item) for item in [*arguments, "--redrill", 1, "--out", tmp_path / "out"]])
    streams = capsys.readouterr()
    path = tmp_path / "out" / "extension.json"
    jsonschema.Draft202012Validator(json.loads(schema_text("extension"))).validate(json.loads(path.read_text()))
    record = read_record(path, ExtensionRecord)
    assert code == (0 if any(way.feasible for way in record.ways) else 1)
    assert record.new_notes == ["G4"]
    assert record.kept_pieces == [1]
    for way in record.ways:
        schema = json.loads(schema_text("layout"))
        jsonschema.Draft202012Validator(schema).validate(json.loads((tmp_path / "out" / way.fit.file).read_text()))
    free, kept = record.ways[:2]
    assert free.fit.objectives["tuning"] <= kept.fit.objectives["tuning"] + 0.05
    assert read_record(tmp_path / "out" / "present.json", LayoutRecord) == present
    assert "carried on to" in (tmp_path / "out" / "extension.html").read_text()
    assert (tmp_path / "out" / "extension.svg").read_text().startswith("<svg ")
    assert "extension.html" in streams.out
    assert "Three ways" in streams.out
    assert "everything new" in streams.out
    assert "3 of 3 steps" in streams.err


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (["--redrill", "-1"], "--redrill must be between 0 and 100"),
        (["--keep", "0"], "--keep must be at least 1"),
        (["--minutes", "0"], "--minutes must be more than 0"),
    ],
)
def test_options_to_mend(options, sentence, tmp_path, capsys):
    assert main(["extend", str(tmp_path), str(tmp_path / "lower.toml"), *options]) == 2
    assert sentence in capsys.readouterr().err


def test_a_layout_without_pieces_cannot_be_extended(record, tmp_path, capsys):
    write_record(tmp_path / "present.json", record)
    (tmp_path / "lower.toml").write_text(LOWER)
    arguments = ["extend", str(tmp_path / "present.json"), str(tmp_path / "lower.toml"), "--workers", "1"]
    assert main(arguments) == 2
    assert "has no pieces" in capsys.readouterr().err


def test_a_folder_that_cannot_be_made_is_told_before_anything_is_solved(record, tmp_path, capsys):
    write_record(tmp_path / "present.json", record)
    (tmp_path / "lower.toml").write_text(LOWER)
    (tmp_path / "taken").write_text("")
    out = tmp_path / "taken" / "out"
    assert main(["extend", str(tmp_path / "present.json"), str(tmp_path / "lower.toml"), "--out", str(out)]) == 2
    assert f"{out}: Not a directory" in capsys.readouterr().err
