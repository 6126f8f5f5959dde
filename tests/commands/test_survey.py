"""`search` and `survey`, as far as they go without a search."""

import pytest
from commanded import told
from shelf import PIPE, changed, pipe, progress

from optimizer.commands import search as search_commands
from optimizer.search.run_folder import create_run


@pytest.mark.parametrize(
    ("option", "value", "sentence"),
    [
        ("--minutes", "0", "--minutes must be more than 0, but got 0"),
        ("--minutes", "-1", "--minutes must be more than 0, but got -1"),
        ("--minutes", "nan", "--minutes must be more than 0, but got nan"),
        ("--trials", "0", "--trials must be at least 1, but got 0"),
        ("--workers", "0", "--workers must be at least 1, but got 0"),
        ("--seed", "-1", "--seed must be at least 0, but got -1"),
    ],
)
@pytest.mark.parametrize("command", ["search", "survey"])
def test_options_are_checked_before_anything_starts(command, option, value, sentence, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(search_commands, "_searched", lambda *_: pytest.fail("a search was started"))
    path = tmp_path / "pipe.toml"
    path.write_text(PIPE)
    code, _, err = told(capsys, command, path, f"{option}={value}")
    assert (code, err) == (2, f"options to mend\n  {sentence}\n")


@pytest.mark.parametrize("command", ["search", "survey"])
def test_a_broken_project_is_told_as_check_tells_it(command, tmp_path, capsys):
    path = tmp_path / "pipe.toml"
    path.write_text(changed("wall_mm = 4.0\n", ""))
    code, _, err = told(capsys, command, path)
    assert (code, err) == (2, f"{path}: 1 problem to mend\n  line 13: bore.wall_mm: this key is missing\n")


def test_a_survey_checks_all_projects_before_it_starts(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(search_commands, "_searched", lambda *_: pytest.fail("a search was started"))
    (tmp_path / "good.toml").write_text(PIPE)
    (tmp_path / "bad.toml").write_text("")
    code, _, err = told(capsys, "survey", tmp_path / "good.toml", tmp_path / "bad.toml")
    assert code == 2
    assert str(tmp_path / "bad.toml") in err


def test_a_survey_prints_one_row_for_each_project(tmp_path, run, record, capsys, monkeypatch):
    monkeypatch.setattr(search_commands, "_searched", lambda *_: run)
    path = tmp_path / "pipe.toml"
    path.write_text(PIPE)
    code, out, err = told(capsys, "survey", path, path)
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in out.splitlines() if line.startswith("|")]
    assert code == 0
    assert len(rows) == 4  # heads, rule, two projects
    assert len({len(row) for row in rows}) == 1
    named = dict(zip(rows[0], rows[2], strict=True))
    assert named["instrument"] == "Lantern Hall Practice Pipe"
    assert (named["holes"], named["notes"], named["trials"], named["feasible"]) == ("4", "5", "1", "yes")
    assert float(named["RMS cents"]) == pytest.approx(record.objectives["tuning"], abs=0.006)
    assert rows[2] == rows[3]
    assert err.count(f"everything: {run}\n") == 2


def test_a_survey_does_not_search_what_cannot_be_kept(tmp_path, run, capsys, monkeypatch):
    # g1 at most at 300 mm, g2 at least at 170: the hands come at most 130 mm apart, and 140 are asked for.
    monkeypatch.setattr(search_commands, "_searched", lambda *_: run)
    good, bad = tmp_path / "good.toml", tmp_path / "bad.toml"
    good.write_text(PIPE)
    bad.write_text(PIPE.replace("Practice Pipe", "Far Pipe") + "\n[hand]\nhand_gap_min_mm = 140\n")
    code, out, err = told(capsys, "survey", bad, good)
    assert code == 2
    conflicts = err.partition("not searched: limits that conflict\n")[2].splitlines()
    assert conflicts
    assert all(line.startswith(f"  {bad}: ") for line in conflicts)
    assert "hand_gap.L3-R1" in err
    rows = [line for line in out.splitlines() if line.startswith("| Lantern")]
    assert ["no: limits conflict" in row for row in rows] == [True, False]
    assert told(capsys, "survey", bad, "--anyway")[0] == 0


def test_a_survey_that_found_nothing_still_has_its_row(tmp_path, capsys, monkeypatch):
    # A project whose search ended with no layout at all must not vanish from the table.
    folder = create_run(tmp_path, pipe(PIPE), 1, 1.0, None, 1)
    folder.close(progress("time"))
    monkeypatch.setattr(search_commands, "_searched", lambda *_: folder.path)
    path = tmp_path / "pipe.toml"
    path.write_text(PIPE)
    code, out, _ = told(capsys, "survey", path)
    assert code == 1
    assert "Lantern Hall Practice Pipe" in out


def test_a_survey_and_a_resumed_search_ask_about_likely_mistakes(tmp_path, run, capsys, monkeypatch):
    text = changed("bell_degC = 21.0", "bell_degC = 21.0\nhumidity_percent = 0.9")
    question = "air.humidity_percent: 0.9 % is nearly dry air; did you mean 90"
    path = tmp_path / "pipe.toml"
    path.write_text(text)
    monkeypatch.setattr(search_commands, "_searched", lambda *_: run)
    assert question in told(capsys, "survey", path)[2]
    assert question not in told(capsys, "survey", path, "--anyway")[2]
    folder = create_run(tmp_path / "runs", pipe(text), 1, None, 1, 1).path
    monkeypatch.setattr("optimizer.search.runs.resume", lambda *_: None)
    monkeypatch.setattr(search_commands, "_shown", lambda *_: 0)
    assert question in told(capsys, "resume", folder)[2]
