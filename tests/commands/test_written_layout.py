"""Commands about a layout, given a project file: one that leaves nothing open has its layout, of any other is said what
makes one, and whether there is a run of it."""

import json
import re
import shutil

import pytest
from commanded import cents, told
from made_records import run_folder
from shelf import PIPE, changed

SPANS = re.compile(r"(\w+_mm) = \[([\d.]+), ([\d.]+)\]")


@pytest.fixture
def fixed(record, tmp_path):
    """The practice pipe with every range a single number, those of a solved layout."""
    made = {hole.id: hole for hole in record.holes}
    lines = []
    for line in PIPE.splitlines():
        hole = made.get(line.split(" ")[0])
        value = (lambda name: getattr(hole, name)) if hole else lambda name: record.bore.points_mm[-1][0]  # noqa: B023
        lines.append(SPANS.sub(lambda found: f"{found[1]} = {value(found[1])}", line))  # noqa: B023
    text = re.sub(r"volume_cm3 = \[.*\]", f"volume_cm3 = {record.reed.volume_cm3}", "\n".join(lines))
    path = tmp_path / "fixed.toml"
    path.write_text(text)
    return path


def test_a_project_that_leaves_nothing_open_is_shown_and_predicted(fixed, record, tmp_path, capsys):
    code, out, err = told(capsys, "show", fixed)
    assert (code, err) == (0, "")
    assert "layout as-written: meets every limit" in out
    solved = {note.written: note.cents for note in record.notes}
    assert cents(out) == {note: pytest.approx(value, abs=0.06) for note, value in solved.items()}
    code, out, _ = told(capsys, "predict", fixed)
    assert code == 0
    assert cents(out) == {note: pytest.approx(value, abs=0.06) for note, value in solved.items()}
    drawing = tmp_path / "reach-fixed.svg"
    code, out, _ = told(capsys, "reach", fixed)
    assert code == 0
    assert drawing.read_text().startswith("<svg")
    code, out, _ = told(capsys, "tolerance", fixed, "--samples", "20", "--json", tmp_path / "t.json")
    assert code == 0
    assert json.loads((tmp_path / "t.json").read_text())["layout"] == "as-written"
    assert told(capsys, "resonances", fixed, "--note", "E5")[0] == 0


@pytest.mark.parametrize("command", ["show", "predict", "reach", "tolerance", "resonances"])
def test_of_a_project_that_leaves_something_open_is_said_what_to_do(command, record, tmp_path, capsys):
    path, results = tmp_path / "mine.toml", tmp_path / "results"
    path.write_text(PIPE)
    code, out, err = told(capsys, command, path, "--results", results)
    assert (code, out) == (2, "")
    ranges = len(re.findall(r"(?:position_mm|diameter_mm|chimney_mm|end_mm|volume_cm3) = \[", PIPE))
    assert f"{path} is a project that leaves {ranges} numbers open" in err
    assert f"holewright search {path}" in err
    assert "there is a run" not in err
    run = run_folder(results / "pipe-1", [record], project_text=PIPE)
    assert f"there is a run of it:  {run}\n" in told(capsys, command, path, "--results", results)[2]
    shutil.copytree(run, results / "pipe-2")
    assert "(1 other run of it beside)" in told(capsys, command, path, "--results", results)[2]
    path.write_text(changed("wall_mm = 4.0", "wall_mm = 4.5"))
    (results / "pipe-2" / "run.json").write_text("{}")
    assert "there is a run" not in told(capsys, command, path, "--results", results)[2]


@pytest.mark.parametrize("command", ["compare", "prices"])
def test_commands_that_need_a_run_name_what_makes_one(command, tmp_path, capsys):
    path = tmp_path / "pipe.toml"
    path.write_text(PIPE)
    code, _, err = told(capsys, command, path)
    assert code == 2
    assert f"{path} is a project, not a layout; `holewright search {path}` makes a run of it" in err
