"""The command as a maker meets it: what it prints, its exit codes, and how little `--help` loads."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest
from places import REFERENCE
from shelf import KEYED, PIPE, changed, pipe, progress

from optimizer.commands import search as search_commands
from optimizer.commands.cli import COMMANDS, main
from optimizer.commands.project import KINDS
from optimizer.records.files import read_record, write_record
from optimizer.records.kinds import RECORDS, schema_text
from optimizer.records.prediction import PredictionRecord
from optimizer.records.run import ProgressRecord
from optimizer.search.run_folder import create_run
from optimizer.views import front_tables

HEAVY = {"fastapi", "moocore", "numpy", "optuna", "piqp", "pydantic", "ray", "rich", "scipy", "sqlalchemy", "uvicorn"}
COMMAND = Path(sys.executable).parent / "holewright"


def told(capsys, *arguments):
    """Run the command: exit code, standard output, standard error."""
    code = main([str(argument) for argument in arguments])
    streams = capsys.readouterr()
    return code, streams.out, streams.err


@pytest.fixture
def layout(tmp_path, record):
    path = tmp_path / "t00001.json"
    write_record(path, record)
    return path


@pytest.fixture
def run(tmp_path, record):
    folder = create_run(tmp_path / "results", pipe(PIPE), seed=7, minutes=1.0, trials=1, workers=1)
    folder.keep(record, record.model_dump_json(indent=1))
    folder.close(progress("trials", 1))
    return folder.path


def cents(text):
    """Written note to cents, from a printed note table: target in Hz, then cents with a sign."""
    rows = re.findall(r"(?m)^([A-G][#b]?\d)\s+\S+\s+\d+\s+\d+\.\d\d\s+([+-]\d+\.\d)", text)
    return {note: float(value) for note, value in rows}


# Help


def test_schema_knows_every_kind():
    assert set(KINDS) == {"project", *RECORDS}


@pytest.mark.parametrize("command", ["", *(each.__name__ for each in COMMANDS)])
def test_help_loads_no_heavy_module(command):
    script = (
        "import sys\nfrom optimizer.commands.cli import main\n"
        f"assert main([*{command.split()}, '--help']) == 0\n"
        f"heavy = {HEAVY} & set(sys.modules)\n"
        "print('heavy:', *sorted(heavy))\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "heavy:"


@pytest.mark.parametrize("command", [[], ["show"]])
def test_help_has_a_short_name(command, capsys):
    assert told(capsys, *command, "-h") == told(capsys, *command, "--help")


def test_the_installed_command_helps():
    done = subprocess.run([COMMAND, "--help"], capture_output=True, text=True, check=True)
    for command in ("check", "search", "survey", "show", "predict", "schema"):
        assert re.search(rf"(?m)^ +{command} +\w", done.stdout)
    assert done.stderr == ""


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ([], "Missing command"),
        (["tune"], "No such command 'tune'"),
        (["check"], "Missing argument 'PROJECT'"),
        (["check", "a.toml", "b.toml"], "unexpected extra argument"),
        (["show", "run", "--colour", "red"], "No such option: --colour"),
        (["show", "run", "--hand"], "Option '--hand' requires an argument"),
    ],
)
def test_a_wrong_call_ends_with_usage_and_2(arguments, sentence, capsys):
    code, out, err = told(capsys, *arguments)
    assert (code, out) == (2, "")
    assert err.startswith("usage: holewright")
    assert sentence in err.splitlines()[1]


def test_every_wrong_value_is_told_at_once(capsys):
    options = ["--trials", "x", "--minutes", "0", "--seed=-1", "--workers", "1.5", "--locked", "a.json"]
    code, out, err = told(capsys, "search", "none.toml", *options)
    assert (code, out) == (2, "")
    assert err.splitlines() == [
        "options to mend",
        "  --minutes must be more than 0, but got 0",
        "  --trials must be a whole number, but got 'x'",
        "  --workers must be a whole number, but got '1.5'",
        "  --seed must be at least 0, but got -1",
        "  --locked names a layout file and --pieces which of its pieces are printed; give both or neither",
    ]


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["search", "a.toml", "--minutes", "2e6"], "--minutes must be at most 1000000, but got 2000000"),
        (["search", "a.toml", "--pieces", "one"], "--pieces must be numbers with commas between, such as 1,2, "
                                                  "but got 'one'"),
        (["hands", "a.toml", "--minutes", "2e4"], "--minutes must be more than 0 and at most 10000, but got 20000"),
        (["relieve", "a.toml", "--only", "plate", "lid"], "--only must be one of plate, key, maximum, crook, bore, "
                                                          "turned, wider, but got 'lid'"),
        (["serve", "--port", "0"], "--port must be between 1 and 65535, but got 0"),
        (["serve", "--projects", "nowhere"], "--projects: there is no folder nowhere"),
        (["schema", "hole"], "KIND must be one of project, layout, front, run, progress, hands, reliefs, comparison, "
                             "tolerance, extension, prices, prediction, but got 'hole'"),
        (["compare", "a", "b", "--density", "nan"], "--density must lie between 0.1 and 25 g/cm3, but got nan"),
        (["extend", "a", "b", "--redrill", "101"], "--redrill must be between 0 and 100, but got 101"),
    ],
)  # fmt: skip
def test_a_wrong_value_is_told_in_a_sentence(arguments, sentence, capsys):
    code, out, err = told(capsys, *arguments)
    assert (code, out) == (2, "")
    assert f"  {sentence}" in err.splitlines()


# check


def test_check_tells_what_the_project_says(tmp_path, capsys):
    path = tmp_path / "keyed.toml"
    path.write_text(KEYED)
    code, out, err = told(capsys, "check", path)
    assert (code, err) == (0, "")
    # Written E4 to E5, a fifth lower A3 to A4; six notes and one more in register 2.
    for said in (
        "Lantern Hall Keyed Pipe", "written E4 to E5, sounding A3 to A4", "A4 = 440 Hz", "7 notes in 2 registers",
        "20 to 20 mm diameter, 550 to 600 mm long", "wall 5 mm", "7 tone holes and 1 vent: 4 under bare fingers, "
        "1 under plates, 3 under keys, 1 locked", "17 numbers", "36 constraints",
    ):  # fmt: skip
        assert said in out


def test_check_counts_alternates_apart(tmp_path, capsys):
    path = tmp_path / "pipe.toml"
    path.write_text(changed("D5   1  L1", "D5   1  L1\nD5   1  L2  alternate"))
    assert "5 notes in 1 register, 1 alternate" in told(capsys, "check", path)[1]


# schema


@pytest.mark.parametrize("kind", RECORDS)
def test_schema_prints_json(kind, capsys):
    code, out, _ = told(capsys, "schema", kind)
    assert code == 0
    assert json.loads(out)["title"].lower().startswith(kind)


# show


def test_show_a_layout_has_all_a_maker_needs(layout, record, capsys):
    code, out, _ = told(capsys, "show", layout)
    assert code == 0
    assert "Lantern Hall Practice Pipe, layout t00001: meets every limit, every note sounds as wanted" in out
    assert cents(out) == {note.written: pytest.approx(note.cents, abs=0.051) for note in record.notes}
    for hole in record.holes:
        sizes = rf"{hole.position_mm:.2f}\s+0\s+{hole.diameter_mm:.2f}"
        assert re.search(rf"(?m)^{hole.id}\s+{hole.by}\s+open\s+{sizes}", out)
    assert f"over {record.bore.points_mm[-1][0]:.2f} mm" in out
    assert f"reed volume {record.reed.volume_cm3:.4f} cm3" in out
    for pair in record.reach:
        assert re.search(rf"(?m)^{pair.pair}\s+{pair.spacing_mm:.1f}\s+{pair.comfortable_mm:.1f}", out)
    for binding in record.binds:
        assert binding.name in out
    assert "Stop if you feel pain" in out.replace("\n", " ")


def test_show_a_run_says_how_much_of_the_box_its_front_fills(run, capsys):
    path = run / "progress.json"
    path.write_text(read_record(path, ProgressRecord).model_copy(update={"hypervolume": 0.5004}).model_dump_json())
    assert "1 trial; ended by trials; hypervolume 0.500\n" in told(capsys, "show", run)[1]


def test_show_a_run_lists_its_front_and_where_to_look(run, record, capsys):
    code, out, _ = told(capsys, "show", run)
    assert code == 0
    assert "1 trial; ended by trials\n" in out
    assert re.search(rf"(?m)^t00001\s+{record.objectives['tuning']:.2f}", out)
    assert str(run) in out.replace("\n", "")
    assert "tuning, reach, evenness" in out


def test_a_layout_that_breaks_a_limit_says_so(tmp_path, record, capsys):
    broken = record.binds[0].model_copy(update={"margin_mm": -4.5, "name": "reach.L1-L2"})
    path = tmp_path / "bad.json"
    write_record(path, record.model_copy(update={"feasible": False, "binds": [broken]}))
    out = told(capsys, "show", path)[1]
    assert "is NOT feasible, see below" in out
    assert "reach.L1-L2: broken by 4.50 mm; must hold: " in out


def test_a_run_with_nothing_feasible_ends_with_1(tmp_path, record, capsys):
    folder = create_run(tmp_path, pipe(PIPE), 1, 1.0, None, 1)
    short = record.model_copy(update={"feasible": False, "margins_mm": {"web.g1-g2": -3.0}})
    folder.keep(short, short.model_dump_json())
    folder.close(progress("time", 1))
    code, out, _ = told(capsys, "show", folder.path)
    assert code == 1
    assert "No layout met everything" in out


@pytest.mark.parametrize("name", ["none.json", "pipe.toml", "empty"])
def test_what_cannot_be_shown_is_named(tmp_path, name, capsys):
    (tmp_path / "pipe.toml").write_text(PIPE)
    (tmp_path / "empty").mkdir()
    code, out, err = told(capsys, "show", tmp_path / name)
    assert (code, out) == (2, "")
    assert err.startswith("cannot show this\n  ")
    assert name in err
    assert len(err.splitlines()) == 2


# predict


def test_predict_as_designed_repeats_the_layout(layout, record, capsys):
    code, out, _ = told(capsys, "predict", layout)
    assert code == 0
    assert cents(out) == {note.written: pytest.approx(note.cents, abs=0.061) for note in record.notes}


def test_predict_one_degree_warmer_is_sharp_by_about_three_cents(layout, capsys):
    # The sound speed's published slope is 2.945 cents per kelvin at 20 degC; some hundredths less here (23 degC, and
    # losses that grow). Two printed roundings of 0.05.
    before = cents(told(capsys, "predict", layout)[1])
    after = cents(told(capsys, "predict", layout, "--reed-degc", 26, "--bell-degc", 22)[1])
    assert list(after) == ["A4", "B4", "C#5", "D5", "E5"]
    for note in after:
        assert after[note] - before[note] == pytest.approx(2.9, abs=0.16)


def test_predict_at_442_hz_is_flat_by_the_interval(layout, capsys):
    # 1200 log2(440 / 442) = -7.851 cents; two printed roundings of 0.05.
    before = cents(told(capsys, "predict", layout)[1])
    after = cents(told(capsys, "predict", layout, "--a4", 442)[1])
    assert list(after) == list(before)
    for note in after:
        assert after[note] - before[note] == pytest.approx(-7.851, abs=0.101)


def test_predict_says_what_it_compares(layout, capsys):
    out = told(capsys, "predict", layout, "--a4", 442, "--bell-degc", 18)[1].replace("\n", " ")
    assert "A4 = 442 Hz, 25 degC at the reed, 18 at the bell" in out
    assert "designed for 440 Hz, 25 and 21 degC" in out


@pytest.mark.parametrize(
    ("option", "value", "sentence"),
    [
        ("--a4", "500", "--a4 must lie between 380 and 480 Hz, but got 500"),
        ("--a4", "0", "--a4 must lie between 380 and 480 Hz, but got 0"),
        ("--a4", "nan", "--a4 must lie between 380 and 480 Hz, but got nan"),
        ("--reed-degc", "45", "--reed-degc must lie between 0 and 40 degC, but got 45"),
        ("--bell-degc", "-3", "--bell-degc must lie between 0 and 40 degC, but got -3"),
        ("--bell-degc", "nan", "--bell-degc must lie between 0 and 40 degC, but got nan"),
    ],
)
def test_predict_refuses_what_it_was_not_made_for(layout, option, value, sentence, capsys):
    code, out, err = told(capsys, "predict", layout, f"{option}={value}")
    assert (code, out) == (2, "")
    assert err == f"options to mend\n  {sentence}\n"


def test_predict_needs_a_layout(run, capsys):
    code, _, err = told(capsys, "predict", run / "run.json")
    assert code == 2
    assert "is not a holewright-layout file" in err


def test_predict_takes_a_run_or_a_layout_of_it_and_writes_what_it_found(run, layout, record, tmp_path, capsys):
    written = []
    for asked in ([layout], [run], [run, "--layout", record.id]):
        place = tmp_path / f"{len(written)}.json"
        code, out, err = told(capsys, "predict", *asked, "--a4", 442, "--json", place)
        assert (code, err) == (0, "")
        assert f"written: {place}" in out
        written.append(read_record(place, PredictionRecord))
    assert written[0] == written[1] == written[2]
    jsonschema.Draft202012Validator(json.loads(schema_text("prediction"))).validate(json.loads(place.read_text()))
    found = written[0]
    assert (found.layout, found.a4_hz, found.air, found.hand) == (record.id, 442.0, record.reference.air, None)
    cents_found = [note.cents for note in found.notes]
    assert (min(cents_found), max(cents_found)) == (found.least_cents, found.most_cents)
    # 1200 log2(440 / 442) = -7.851 cents
    shifts = [after.cents - before.cents for after, before in zip(found.notes, record.notes, strict=True)]
    assert shifts == pytest.approx([-7.851] * len(shifts), abs=0.002)


def test_show_takes_a_layout_of_a_run(run, layout, record, capsys):
    assert told(capsys, "show", run, "--layout", record.id)[:2] == told(capsys, "show", layout)[:2]


# the same names for the same things

MEANINGS = {
    "--results": {"search", "survey", "hands", "relieve", "extend", "serve"},
    "--out": {"hands", "relieve", "extend", "gauge", "report"},
    "--json": {"prices", "predict", "tolerance", "compare"},
    "--layout": {"show", "reach", "prices", "predict", "resonances", "tolerance"},
    "--hand": {"check", "search", "survey", "show", "reach", "hands", "relieve", "extend", "gauge", "predict"},
    "--minutes": {"search", "resume", "survey", "reach", "hands", "relieve", "prices", "extend"},
    "--workers": {"search", "resume", "survey", "reach", "hands", "relieve", "extend"},
}


@pytest.mark.parametrize("name", MEANINGS)
def test_an_option_is_taken_wherever_it_makes_sense(name, capsys):
    takes = set()
    for each in COMMANDS:
        out = told(capsys, each.__name__, "--help")[1]
        takes |= {each.__name__} if re.search(rf"(?m)^  {name} ", out) else set()
    assert takes == MEANINGS[name]


@pytest.mark.parametrize(
    ("command", "beside"),
    [
        (["hands", "pipe.toml", "--hand", "small.toml"], "pipe-hands"),
        (["extend", "layout.json", "pipe.toml"], "pipe-extension"),
    ],
)
def test_folders_of_results_are_made_where_the_results_go(command, beside, tmp_path, monkeypatch, record, capsys):
    # A file stands where the folder would be made, so that nothing is solved.
    monkeypatch.chdir(tmp_path)
    (tmp_path / "pipe.toml").write_text(PIPE)
    (tmp_path / "small.toml").write_text('name = "small"\n')
    write_record(tmp_path / "layout.json", record)
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / beside).write_text("")
    code, _, err = told(capsys, *command, "--results", "elsewhere")
    assert (code, err) == (2, f"cannot write\n  elsewhere/{beside}: File exists\n")


# how a command ends


def test_ctrl_c_and_what_the_system_refuses(run, capsys, monkeypatch):
    def ends(with_):
        def told_of(*_, **__):
            raise with_

        monkeypatch.setattr(front_tables, "show_front", told_of)
        return told(capsys, "show", run)

    assert ends(KeyboardInterrupt) == (130, "", "stopped\n")
    assert ends(PermissionError(13, "Permission denied", "front")) == (
        2, "", "cannot show this\n  [Errno 13] Permission denied: 'front'\n",
    )  # fmt: skip


def test_a_reader_that_went_away_is_no_fault():
    reader, writer = os.pipe()
    os.close(reader)
    with os.fdopen(writer, "wb") as gone:
        done = subprocess.run(
            [sys.executable, "-u", "-m", "optimizer.commands.cli", "schema", "layout"],
            stdout=gone,
            stderr=subprocess.PIPE,
        )
    assert (done.returncode, done.stderr) == (0, b"")


# duct

CASES = REFERENCE / "duct_finite_elements.json"


def test_duct_prints_every_case_with_its_differences(capsys):
    # The bounds of test_plain_duct: one cent for the first two resonances, 2.5 for all.
    code, out, err = told(capsys, "duct", CASES)
    assert (code, err) == (0, "")
    for name, case in json.loads(CASES.read_text())["cases"].items():
        (row,) = [line for line in out.splitlines() if line.startswith(f"{name} ") and case["title"][:20] in line]
        differences = [float(value) for value in re.findall(r"[+-]\d+\.\d\d", row)]
        assert len(differences) == len(case["resonances"])
        assert max(map(abs, differences[:2])) < 1.0
        assert max(map(abs, differences)) < 2.5
        assert re.search(r"\d\.\d at \d+ Hz", row)


TUBE = {"bore": [[0, 7.5], [300, 7.5]], "outer": [[0, 11.5], [300, 11.5]], "holes": []}


def cases(**changes):
    return json.dumps({"c_m_per_s": 343.2, "cases": {"A": TUBE | changes}})


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "Expecting property name"),
        ("[]", "TypeError"),
        ("{}", "KeyError 'cases'"),
        ('{"cases": {"A": {}}}', "KeyError 'bore'"),
        (cases(holes=[{"x": 200, "r": 4, "state": "shut"}]), "must be 'open' or 'closed', but got 'shut'"),
        (cases(holes=[{"x": 400, "r": 4, "state": "open"}]), "inside the duct, but got one at 400"),
        (cases(holes=[{"x": 200, "state": "open"}]), "KeyError 'r'"),
        (cases(bore="wide"), "ValueError"),
    ],
)
def test_a_bad_file_of_cases_is_told_in_a_sentence(tmp_path, text, said, capsys):
    path = tmp_path / "cases.json"
    path.write_text(text)
    code, out, err = told(capsys, "duct", path)
    assert (code, out) == (2, "")
    assert err.startswith("cannot read the cases\n  ")
    assert len(err.splitlines()) == 2
    assert str(path) in err
    assert said in err


def test_a_missing_file_of_cases_is_named(tmp_path, capsys):
    code, _, err = told(capsys, "duct", tmp_path / "none.json")
    assert code == 2
    assert "none.json" in err


# resonances


def test_resonances_lists_them_to_4_khz(layout, record, capsys):
    code, out, err = told(capsys, "resonances", layout)
    assert (code, err) == (0, "")
    rows = re.findall(r"(?m)^([A-G][#b]?\d)? *(\d+)( \*)? +(\d+\.\d\d) +(\d\.\d{3}) +(\d+) +([+-]\d+)", out)
    heads = [index for index, row in enumerate(rows) if row[0]]
    assert [rows[index][0] for index in heads] == [note.written for note in record.notes]
    for note, first, last in zip(record.notes, heads, [*heads[1:], len(rows)], strict=True):
        found = [float(row[3]) for row in rows[first:last]]
        assert found == sorted(found)
        # A cone of 330 mm has a resonance each 343 / 0.66 = 520 Hz.
        assert 3400.0 < found[-1] < 4000.0
        assert len(found) >= 5
        (marked,) = [row for row in rows[first:last] if row[2]]
        assert int(marked[1]) == note.register_number
        assert float(marked[3]) == pytest.approx(note.frequency_hz, abs=0.006)
        assert int(marked[6]) == pytest.approx(note.cents, abs=0.51)


def test_resonances_of_one_note_are_its_own(layout, capsys):
    out = told(capsys, "resonances", layout, "--note", "B4")[1]
    assert re.findall(r"(?m)^([A-G][#b]?\d) ", out) == ["B4"]


def test_resonances_of_no_such_note_are_refused(layout, capsys):
    code, out, err = told(capsys, "resonances", layout, "--note", "A0")
    assert (code, out) == (2, "")
    assert err == "cannot show resonances\n  the layout has no note 'A0'; it has A4, B4, C#5, D5, E5\n"


def test_resonances_need_a_layout(run, capsys):
    code, _, err = told(capsys, "resonances", run / "run.json")
    assert code == 2
    assert "is not a holewright-layout file" in err


# search and survey, as far as they go without a search


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
    assert (code, err) == (2, f"{path}: 1 problem to mend\n  bore.wall_mm: this key is missing\n")


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
    code, out, _ = told(capsys, "survey", path, path)
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in out.splitlines() if line.startswith("|")]
    assert code == 0
    assert len(rows) == 4  # heads, rule, two projects
    assert len({len(row) for row in rows}) == 1
    named = dict(zip(rows[0], rows[2], strict=True))
    assert named["instrument"] == "Lantern Hall Practice Pipe"
    assert (named["holes"], named["notes"], named["trials"], named["feasible"]) == ("4", "5", "1", "yes")
    assert float(named["RMS cents"]) == pytest.approx(record.objectives["tuning"], abs=0.006)
    assert rows[2] == rows[3]


def test_a_survey_does_not_search_what_cannot_be_kept(tmp_path, run, capsys, monkeypatch):
    # g1 at most at 300 mm, g2 at least at 170: the hands come at most 130 mm apart, and 140 are asked for.
    monkeypatch.setattr(search_commands, "_searched", lambda *_: run)
    good, bad = tmp_path / "good.toml", tmp_path / "bad.toml"
    good.write_text(PIPE)
    bad.write_text(PIPE.replace("Practice Pipe", "Far Pipe") + "\n[hand]\nhand_gap_min_mm = 140\n")
    code, out, err = told(capsys, "survey", bad, good)
    assert code == 2
    assert "not searched: limits that conflict\n" in err
    assert all(line.startswith(f"  {bad}: ") for line in err.splitlines()[3:])
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
