"""`tolerance`: its table, its file against the schema, its drawing read back, and what it refuses."""

import json
import re
import xml.etree.ElementTree as ElementTree

import jsonschema
import pytest
from shelf import PIPE, pipe, progress

from optimizer.commands.cli import main
from optimizer.records.files import read_record, write_record
from optimizer.records.kinds import schema_text
from optimizer.records.named_layouts import chosen_layout
from optimizer.records.tolerance import HoleAdvice, ToleranceRecord
from optimizer.search.run_folder import create_run
from optimizer.views.tolerance_tables import sharp_until_reamed


@pytest.fixture(scope="module")
def written(record, tmp_path_factory):
    """A layout file, and what `tolerance` wrote of it."""
    folder = tmp_path_factory.mktemp("tolerance")
    write_record(folder / "layout.json", record)
    asked = ["--samples", "40", "--seed", "3", "--within", "12", "--json", str(folder / "t.json"), "--svg"]
    assert main(["tolerance", str(folder / "layout.json"), *asked, str(folder / "t.svg")]) == 0
    return folder


@pytest.fixture(scope="module")
def told(written):
    return read_record(written / "t.json", ToleranceRecord)


def run_of(folder, *records):
    """A closed run folder of some layouts."""
    run = create_run(folder, pipe(PIPE), seed=7, minutes=1.0, trials=1, workers=1)
    for record in records:
        run.keep(record, record.model_dump_json(indent=1))
    run.close(progress("trials", len(records)))
    return run.path


def complaint(capsys, *arguments):
    """What the command says on standard error, with exit code 2."""
    assert main(["tolerance", *map(str, arguments)]) == 2
    return capsys.readouterr().err


def test_the_file_fits_its_schema_and_says_what_was_asked(written, told, record):
    data = json.loads((written / "t.json").read_text())
    jsonschema.Draft202012Validator(json.loads(schema_text("tolerance"))).validate(data)
    assert (told.samples, told.seed, told.chance.within_cents, told.layout) == (40, 3, 12.0, record.id)
    assert [note.written for note in told.notes] == [note.written for note in record.notes]
    for note, saved in zip(told.notes, record.notes, strict=True):
        assert note.linear.p50 == note.cents == saved.cents
        assert note.making_sd_cents == pytest.approx(saved.making_sd_cents)
        # Independent parts: their squares add to the square of the layout's own standard deviation.
        parts = note.making_sd_cents**2 + note.playing_sd_cents**2 + note.model_sd_cents**2
        assert parts == pytest.approx(saved.sd_cents**2)
    assert sum(share.percent for share in told.shares) == pytest.approx(100.0)


def test_the_same_seed_tells_the_same(written, told):
    again = written / "again.json"
    asked = ["--samples", "40", "--seed", "3", "--within", "12", "--json", str(again)]
    assert main(["tolerance", str(written / "layout.json"), *asked]) == 0
    assert read_record(again, ToleranceRecord) == told


def test_the_table_has_bands_chance_and_what_to_ream(written, told, capsys):
    asked = ["--samples", "40", "--seed", "3", "--within", "12"]
    assert main(["tolerance", str(written / "layout.json"), *asked]) == 0
    out = capsys.readouterr().out
    for note in told.notes:
        low, high = (f"{round(value, 1) + 0.0:+.1f}" for value in (note.drawn.p05, note.drawn.p95))
        assert re.search(rf"(?m)^{note.written} .*{re.escape(low)} .*{re.escape(high)}$", out)
    assert f"All 5 main notes within +-12 cents: {100 * told.chance.share:.1f} %" in out
    assert f"  {told.shares[0].name}: {told.shares[0].percent:.0f} %" in out
    advised = [hole for hole in told.holes if hole.under_mm]
    assert advised
    for hole in advised:
        assert f"{hole.hole}: print at {hole.finished_mm:.2f} mm, {hole.under_mm:.2f} under" in out
    assert re.search(r"hole diameter|diameter of a hole\s+0.1 mm\s+hole by hole; the default: common practice", out)


def test_notes_that_stand_sharp_until_holes_are_reamed_are_named():
    # Half a millimetre narrower, both holes: B3 by -5 x (-0.3 - 0.2) = +2.5 cents, C4 by -5 x (2.0 - 0.1), D4 by +0.25.
    holes = [
        HoleAdvice(
            hole=name, diameter_mm=9.0, moves=moves, note="C4", cents_per_tenth=2.0, reading_cents=0.0, under_mm=0.5
        )
        for name, moves in (("h1", {"C4": 2.0, "B3": -0.3}), ("h2", {"C4": -0.1, "B3": -0.2, "D4": -0.05}))
    ]
    (said,) = sharp_until_reamed(holes)
    assert "until all are reamed, B3 stands sharp" in said
    assert sharp_until_reamed(holes[:0]) == []


def test_the_drawing_has_every_band_to_one_scale(written, told):
    drawing = ElementTree.parse(written / "t.svg").getroot()
    name = "{http://www.w3.org/2000/svg}"
    bars = [
        [float(point.split(",")[1]) for point in shape.get("points").split()]
        for shape in drawing.iter(f"{name}polygon")
    ][1:]  # the first is the legend's
    words = [text.text for text in drawing.iter(f"{name}text")]
    assert len(bars) == len(told.notes) == 5
    assert {note.written for note in told.notes} <= set(words)
    scales = [
        (max(bar) - min(bar)) / (note.drawn.p95 - note.drawn.p05) for bar, note in zip(bars, told.notes, strict=True)
    ]
    assert scales == pytest.approx([scales[0]] * 5, abs=1e-3)
    # Where a bar's middle lies against the next tells its cents, too; y grows downward.
    middles = [0.5 * (max(bar) + min(bar)) + scales[0] * 0.5 * (n.drawn.p95 + n.drawn.p05)
               for bar, n in zip(bars, told.notes, strict=True)]  # fmt: skip
    assert middles == pytest.approx([middles[0]] * 5, abs=2e-2)


def test_of_a_run_the_best_tuned_layout_is_taken(tmp_path, record):
    worse = {"tuning": record.objectives["tuning"] + 5.0, "stretch": 0.0, "unevenness": 0.0}
    other = record.model_copy(update={"id": "t00009", "objectives": record.objectives | worse})
    run = run_of(tmp_path, other, record)
    assert chosen_layout(run, feasible=True).id == record.id
    assert chosen_layout(run, "t00009").id == "t00009"


def test_what_cannot_be_told_is_said(tmp_path, record, capsys):
    run = run_of(tmp_path, record.model_copy(update={"feasible": False}))
    assert f"no layout of {run} is feasible; name one with --layout: {record.id}" in complaint(capsys, run)
    said = complaint(capsys, run, "--layout", "t7")
    assert f"{run} has no layout 't7'; it has {record.id}" in said
    assert f"there is no file {tmp_path / 'none.json'}" in complaint(capsys, tmp_path / "none.json")
    assert "--layout picks one of a run folder" in complaint(capsys, tmp_path / "none.json", "--layout", "t1")
    silent = [note.model_copy(update={"frequency_hz": None, "cents": None}) for note in record.notes]
    write_record(tmp_path / "silent.json", record.model_copy(update={"notes": silent}))
    assert "no main note of this layout sounds" in complaint(capsys, tmp_path / "silent.json")


@pytest.mark.parametrize(
    ("option", "value", "sentence"),
    [
        ("--samples", "3", "--samples must be between 20 and 100000, but got 3"),
        ("--seed", "-1", "--seed must be at least 0, but got -1"),
        ("--within", "0", "--within must be more than 0 and at most 1200 cents, but got 0"),
        ("--worth", "nan", "--worth must be more than 0 and at most 100 cents, but got nan"),
    ],
)
def test_options_to_mend_are_told(option, value, sentence, capsys):
    assert sentence in complaint(capsys, "layout.json", f"{option}={value}")


def test_a_file_that_cannot_be_written_is_told(written, capsys):
    blocked = written / "layout.json" / "t.svg"
    assert "cannot write" in complaint(capsys, written / "layout.json", "--samples", "20", "--svg", blocked)
