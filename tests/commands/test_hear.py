"""`hear` at the command line: the table, the files it writes, and what is told of recordings that are no use."""

import json
import xml.etree.ElementTree as ElementTree

import jsonschema
import numpy as np
import pytest
from command_line import commands_in
from commanded import told
from takes import Prototype, chart, kept

from optimizer.hearing.recording import RATE
from optimizer.records.files import read_record, write_record
from optimizer.records.kinds import schema_text
from optimizer.records.measurement import MeasurementRecord

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """A folder with a layout and a take of six of its notes, a tone too short and one of no note among them."""
    folder = tmp_path_factory.mktemp("bench")
    rng = np.random.default_rng(1)
    prototype = Prototype(chart("G3", 12), rng)
    write_record(folder / "layout.json", prototype.record)
    sound = prototype.played(prototype.lines[:6], rng, seconds=0.9)
    hiss = np.concatenate([0.1 * rng.standard_normal(RATE // 2), np.zeros(RATE // 2)])
    kept(folder / "take.wav", np.concatenate([sound, hiss]))
    (folder / "order.txt").write_text("G3 G#3 A3\nA#3, B3, C4\n")
    return folder, prototype


def test_a_take_is_told_and_kept(place, capsys):
    folder, prototype = place
    code, out, err = told(
        capsys, "hear", folder / "layout.json", folder / "take.wav", "--notes", folder / "order.txt",
        "--json", folder / "heard.json", "--svg", folder / "takes.svg", "--bell-degc", 21,
    )  # fmt: skip
    assert (code, err) == (0, "")
    assert "6 lines of the chart from recording take.wav" in out
    assert "without a pitch" in out
    found = read_record(folder / "heard.json", MeasurementRecord)
    jsonschema.validate(json.loads((folder / "heard.json").read_text()), json.loads(schema_text("measurement")))
    for note, line in zip(found.notes, prototype.lines, strict=False):
        assert note.cents == pytest.approx(prototype.wanted_cents(line), abs=0.3)
        assert f"{note.cents:+.1f}" in out
    assert len(found.unassigned) == 1
    assert found.temperature_degC == 21.0


def test_the_picture_has_every_note_and_what_was_left_out(place, capsys):
    folder, prototype = place
    assert told(capsys, "hear", folder / "layout.json", folder / "take.wav", "--svg", folder / "again.svg")[0] == 0
    drawing = ElementTree.parse(folder / "again.svg").getroot()
    words = [element.text for element in drawing.iter(f"{SVG}text")]
    for line in prototype.lines[:6]:
        assert words.count(line.label) >= 1
    assert "take.wav: 6 notes found, 1 left out" in words
    assert any(word.startswith("1  0:0") and "without a pitch" in word for word in words)
    bands = [each for each in drawing.iter(f"{SVG}line") if each.get("stroke") == "#b9d6cf"]
    assert len(bands) == 6
    heights = [float(each.get("y1")) for each in bands]
    assert heights == sorted(heights, reverse=True)


def test_all_that_cannot_be_heard_is_told_at_once(place, capsys):
    folder, _ = place
    (folder / "empty.wav").write_bytes(b"")
    code, out, err = told(capsys, "hear", folder / "layout.json", folder / "empty.wav", folder / "gone.wav")
    assert (code, out) == (2, "")
    assert err.splitlines()[0] == "cannot hear this"
    assert len(err.splitlines()) == 3


def test_a_list_with_other_notes_is_told_before_anything_is_heard(place, capsys):
    folder, _ = place
    (folder / "wrong.txt").write_text("G3, H9\n")
    code, _, err = told(
        capsys, "hear", folder / "layout.json", folder / "gone.wav", "--notes", folder / "wrong.txt"
    )  # fmt: skip
    assert code == 2
    assert "wrong.txt: line 1: the chart has no note 'H9'" in err
    assert "gone.wav" not in err


def test_what_the_documents_show_can_be_done(place, capsys, monkeypatch):
    folder, prototype = place
    rng = np.random.default_rng(2)
    lines = {line.label: line for line in prototype.lines}
    for name, note in {"B3.wav": "B3", "C#4-1.flac": "C#4", "C#4-2.flac": "C#4"}.items():
        kept(folder / name, prototype.played([lines[note]], rng))
    for name in ("take-1.wav", "take-2.wav"):
        kept(folder / name, prototype.played(prototype.lines[:6], rng, seconds=0.8))
    monkeypatch.chdir(folder)
    shown = [words for words in commands_in("results/README.md") if words[0] == "hear" and "results/RUN" in words]
    assert len(shown) == 1  # the other, of the shelf's own recording, goes round the loop with the rest
    for words in shown:
        code, out, err = told(capsys, *("layout.json" if word == "results/RUN" else word for word in words))
        assert (code, err) == (0, "")
        assert "lines of the chart from recordings" in out
