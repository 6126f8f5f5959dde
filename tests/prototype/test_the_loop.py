"""The whole loop on the tenor of the shelf: heard, fitted, corrected, measured, corrected again, as documents say."""

import re
import shlex

import pytest
from commanded import told
from places import CONFIGS, ROOT

from optimizer.records.correction import CorrectionRecord
from optimizer.records.files import read_record
from optimizer.records.measurement import MeasurementRecord

README = ROOT / "results" / "README.md"


def lines_of(command):
    """Lines of a command in the document that need nothing but the shelf and what lines before them wrote."""
    found = re.findall(rf"(?m)^holewright ({command} .*)$", README.read_text(encoding="utf-8"))
    return [line for line in found if "results/RUN" not in line and "--test-bore" not in line]


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """A folder with the shelf beside it."""
    folder = tmp_path_factory.mktemp("bench")
    (folder / "configs").symlink_to(CONFIGS)
    return folder


def test_the_loop_goes_round_as_the_document_has_it(bench, monkeypatch, capsys):
    monkeypatch.chdir(bench)
    said = [*lines_of("bench"), *lines_of("hear"), *lines_of("fit"), *lines_of("correct")]
    assert [line.split()[0] for line in said] == ["bench", "hear", *["fit"] * 3, *["correct"] * 3]
    heard = next(line for line in said if "heard.json" in line and line.startswith("fit"))
    order = [said[0], said[1], heard, said[2], said[5], said[3], *said[6:]]
    for line in order:
        words = shlex.split(line)
        more = ["--seconds", "0.5"] if words[0] == "correct" else []
        if "done-1.csv" in words:
            # The first step as told; what the others say stands in the file beside the list.
            step = read_record(bench / "pass-1.json", CorrectionRecord).steps[0]
            (bench / "done-1.csv").write_text(f"step,done_{step.unit}\n1,{step.now:g}\n")
        code, _, err = told(capsys, *words, *more)
        assert (code, err) == (0, ""), line
    second = [stage.what for stage in read_record(bench / "pass-1.json", CorrectionRecord).history]
    assert second == ["designed", "measured", "corrected"]
    assert "measured, pass 2" in (bench / "history.svg").read_text(encoding="utf-8")


def test_what_is_heard_is_what_the_tuner_showed(bench, monkeypatch, capsys):
    # The recording was played from the tuner's table with 3 cents of scatter and 4 of warming: within three deviations.
    monkeypatch.chdir(bench)
    heard, shown = bench / "heard.json", CONFIGS / "prototypes" / "lantern-tenor-notes.csv"
    assert told(capsys, *shlex.split(lines_of("hear")[0]))[0] == 0
    rows = [row.split(",") for row in shown.read_text().splitlines() if re.match(r"[A-G]", row)]
    wanted = {}
    for row in rows:
        wanted.setdefault(row[0], []).extend(float(value) for value in row[3:] if value)
    found = read_record(heard, MeasurementRecord).notes
    assert len(found) == 13
    for note in found:
        takes = wanted[note.written]
        assert abs(note.cents - sum(takes) / len(takes)) < 3.0 * 3.0 + 4.0
    page = (bench / "takes.html").read_text(encoding="utf-8")
    assert all(note.written in page for note in found)
    assert "http" not in page.replace("http-equiv", "").replace("http://www.w3.org/2000/svg", "")


def test_the_recording_is_small():
    assert (CONFIGS / "prototypes" / "lantern-tenor-take.ogg").stat().st_size < 300_000
