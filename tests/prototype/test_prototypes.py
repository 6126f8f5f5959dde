"""The tenor of the shelf and its measured notes: the demo as documents have it, and some drawn prototypes of it."""

import json
from itertools import pairwise

import jsonschema
import numpy as np
import pytest
from commanded import told
from places import CONFIGS
from prototypes import drawn, draws, heard, hold_nine_of_ten

from optimizer.prototype.calibration import Fit, calibrated
from optimizer.prototype.first_notes import first_notes
from optimizer.prototype.next_best import best_next, candidates, doubt_of
from optimizer.prototype.played_model import played
from optimizer.prototype.tuner_table import read_tuner_table
from optimizer.records.calibration import CalibrationRecord
from optimizer.records.files import read_record
from optimizer.records.kinds import schema_text
from optimizer.records.layout import LayoutRecord

TENOR = CONFIGS / "prototypes" / "lantern-tenor.json"
NOTES = CONFIGS / "prototypes" / "lantern-tenor-notes.csv"


@pytest.fixture(scope="module")
def tenor():
    return read_record(TENOR, LayoutRecord)


@pytest.fixture(scope="module")
def model(tenor):
    return played(tenor)


@pytest.fixture(scope="module")
def calibrated_tenor(tenor):
    return calibrated(tenor, read_tuner_table(NOTES, tenor), next_steps=5)


def test_bands_of_notes_that_were_not_heard_hold_nine_of_ten(tenor, model):
    # Four of the two hundred prototypes of tests/benchmarks/prototypes.py.
    telling = [step.name for step in first_notes(tenor, 3)]
    lines = [line for line, note in enumerate(tenor.notes) if note.written in telling and not note.alternate]
    others = [place for place, line in enumerate(model.lines) if line not in lines]
    inside, off, before = [], [], []
    for seed in range(draws(4)):
        prototype = drawn(model, seed)
        cents, sd = (fit := Fit(tenor, heard(tenor, prototype, lines, seed, model))).of_instrument
        inside.append(np.abs(cents - prototype.cents)[others] < 1.645 * sd[others])
        off += list((cents - prototype.cents)[others])
        before += list((fit.model.layout.cents - prototype.cents)[others])
    assert len(lines) == 12
    assert hold_nine_of_ten(inside)
    assert np.sqrt(np.mean(np.square(off))) < 0.35 * np.sqrt(np.mean(np.square(before)))


def test_next_best_is_what_trying_each_alone_finds(tenor, model):
    # Every candidate's covariance worked out anew instead of by an update, and the greedy list never rises.
    theta = np.zeros(len(model.names))
    slopes = model.slopes(theta, model.layout.cents)
    offered, main = candidates(tenor, model, slopes, 3.0), slopes[model.layout.main] * ~model.of_measurement
    found = best_next(model, slopes, np.eye(theta.size), offered, 4)
    tried = {}
    for each in offered:
        information = np.eye(theta.size) + np.outer(each.row, each.row) / each.sd**2
        tried[each.name] = doubt_of(main, np.linalg.inv(information))
    best = min(tried, key=tried.get)
    assert (found[0].name, found[0].doubt_cents) == (best, pytest.approx(tried[best], rel=1e-9))
    fall = [doubt_of(main, np.eye(theta.size)), *(step.doubt_cents for step in found)]
    assert all(second < first for first, second in pairwise(fall))


def test_the_demo_says_what_its_notes_show(calibrated_tenor):
    by_note = {note.written: note for note in calibrated_tenor.notes if not note.alternate}
    heard_notes = [note for note in by_note.values() if note.measured_cents is not None]
    assert len(heard_notes) >= 12
    assert all(abs(note.measured_cents - note.cents) < 8.0 for note in heard_notes)
    assert all(note.sd_cents < 0.6 * note.designed_sd_cents for note in by_note.values())
    assert calibrated_tenor.tiers[-1].fair
    assert len(calibrated_tenor.next_best) == 5
    assert calibrated_tenor.next_best[0].doubt_cents < calibrated_tenor.doubt_cents
    assert calibrated_tenor.says


def test_every_command_of_the_section_does_what_it_says(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    bench, taught, fitted = tmp_path / "bench.csv", tmp_path / "learned.toml", tmp_path / "fit.json"
    code, out, _ = told(capsys, "bench", TENOR, "--csv", bench)
    assert (code, "What to measure next" in out) == (0, True)
    assert bench.read_text().count("\n") > len(read_record(TENOR, LayoutRecord).notes)
    code, out, _ = told(capsys, "fit", TENOR, NOTES, "--learned", taught, "--json", fitted)
    assert code == 0
    assert "What the notes say" in out
    jsonschema.Draft202012Validator(json.loads(schema_text("calibration"))).validate(json.loads(fitted.read_text()))
    assert read_record(fitted, CalibrationRecord).learned.numbers
    code, out, _ = told(capsys, "predict", TENOR, "--learned", taught)
    assert (code, "what the measured instrument left open" in out) == (0, True)
    said = dict(read_record(fitted, CalibrationRecord).learned.numbers)["crook_bore_mm"]
    assert f"bore of the crook {said[0]:+.2g} +- {said[1]:.2g} mm" in out
    old = told(capsys, "fit", TENOR, NOTES, "--next", "0", "--learned", tmp_path / "old.toml", "--another", "crook")
    assert (old[0], "crook_bore_mm" in (tmp_path / "old.toml").read_text()) == (0, False)
    code, out, _ = told(capsys, "tolerance", TENOR, "--learned", taught, "--samples", "20")
    assert (code, "what the measured instrument left open" in out) == (0, True)
    gauged = tmp_path / "gauged.csv"
    size = next(hole.diameter_mm for hole in read_record(TENOR, LayoutRecord).holes if hole.id == "h05")
    gauged.write_text(f"what,where,reading_mm,tool\nhole,h05,{size + 0.1:.2f},cone\n")
    assert told(capsys, "gauged", TENOR, gauged, "--json", gauged.with_suffix(".json"))[0] == 0
    for form in (".csv", ".json"):
        code, out, _ = told(capsys, "fit", TENOR, NOTES, "--gauged", gauged.with_suffix(form), "--next", "0")
        assert (code, "diameter of h05 +0.1" in out) == (0, True)
    search = ["search", CONFIGS / "lantern-tenor.toml", "--learned", taught, "--trials", "1", "--workers", "1"]
    code, out, _ = told(capsys, *search, "--no-report", "--results", tmp_path / "results", "--anyway")
    assert code in (0, 1)
    run = next((tmp_path / "results").iterdir())
    kept = read_record(next((run / "layouts").iterdir()), LayoutRecord)
    assert kept.reference.learned == read_record(fitted, CalibrationRecord).learned


def test_without_the_tuners_a4_the_command_asks_for_it(tmp_path, capsys):
    table = tmp_path / "notes.csv"
    table.write_text(NOTES.read_text().replace("# a4_hz = 440\n", ""))
    code, _, err = told(capsys, "fit", TENOR, table)
    assert (code, "a4_hz = 440" in err) == (2, True)
    assert told(capsys, "fit", TENOR, table, "--a4", "440", "--next", "0")[0] == 0
