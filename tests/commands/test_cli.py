"""The command as a maker meets it: what it prints, its exit codes, and how little `--help` loads."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import get_args

import pytest
from commanded import cents, told
from made_records import layout as made
from made_records import run_folder
from shelf import KEYED, PIPE, changed, pipe, progress

from optimizer import entry
from optimizer.beginning.answers import FAMILIES
from optimizer.commands import begin, cli, handoff, options
from optimizer.commands.cli import COMMANDS
from optimizer.commands.project import KINDS
from optimizer.handoff.handed import EVERY, STATES
from optimizer.handoff.sheets.paper import PAPERS
from optimizer.project.note_names import NamesOfNotes
from optimizer.records.files import read_record, write_record
from optimizer.records.kinds import RECORDS
from optimizer.records.layout import Binding
from optimizer.records.run import ProgressRecord
from optimizer.search.run_folder import create_run
from optimizer.service.api_handoffs import PaperName
from optimizer.views import front_tables
from optimizer.words import to_people

HEAVY = {"fastapi", "moocore", "numpy", "optuna", "piqp", "pydantic", "ray", "rich", "scipy", "sqlalchemy", "uvicorn"}
COMMAND = Path(sys.executable).parent / "holewright"


# Help


def test_schema_knows_every_kind():
    assert set(KINDS) == {"project", *RECORDS}


def test_options_know_the_words_that_are_known_further_in():
    assert (FAMILIES, get_args(NamesOfNotes)) == (begin.FAMILIES, begin.NAMES)
    assert options.PAPERS == tuple(PAPERS) == get_args(PaperName)
    assert (*STATES, EVERY) == handoff.STATES


def test_help_loads_no_heavy_module():
    # Of the program and of every command, one after the other: after none may there be any.
    commands = [[], *([each.__name__] for each in COMMANDS)]
    script = (
        "import sys\nfrom optimizer.commands.cli import main\n"
        f"for command in {commands}:\n"
        "    assert main([*command, '--help']) == 0\n"
        f"    print('heavy after', command, *sorted({HEAVY} & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    said = [line for line in done.stdout.splitlines() if line.startswith("heavy after")]
    assert said == [f"heavy after {command}" for command in commands]


@pytest.mark.parametrize("command", [[], ["show"]])
def test_help_has_a_short_name(command, capsys):
    assert told(capsys, *command, "-h") == told(capsys, *command, "--help")


@pytest.mark.parametrize("command", [[], *([each.__name__] for each in COMMANDS)])
def test_help_says_nothing_of_errors_in_the_code(command, capsys):
    assert not re.search(r"Fault|Raises|----", told(capsys, *command, "--help")[1])


def test_a_docstring_speaks_to_people_above_its_sections():
    said = "Serve runs.\n\n    To submit.\n\n    Raises\n    ------\n    Fault\n        when it cannot\n    "
    assert to_people(said) == "Serve runs.\n\n    To submit."
    assert to_people("The Raises\n\n    and the rest.") == "The Raises\n\n    and the rest."
    assert to_people(None) == ""


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
        (["relieve", "a.toml", "--only", "plate", "lid"], "--only must be one of plate, key, row, spacing, touch, "
                                                          "maximum, crook, bore, turned, wider, but got 'lid'"),
        (["serve", "--port", "0"], "--port must be between 1 and 65535, but got 0"),
        (["serve", "--projects", "nowhere"], "--projects: there is no folder nowhere"),
        (["schema", "hole"], "KIND must be one of project, layout, front, recommendation, run, progress, hands, "
                             "reliefs, comparison, tolerance, extension, prices, prediction, sound, blowing, "
                             "fingerings, gauged, coupon, impedance, measurement, takes, calibration, correction, "
                             "handoff, but got 'hole'"),
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
        "20 mm wide at the reed, 20 at the bell, 550 to 600 mm long", "wall 5 mm",
        "7 tone holes and 1 vent: 4 under bare fingers, 1 under plates, 3 under keys, 1 locked",
        "17 numbers", "54 constraints",
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
    assert (
        "Lantern Hall Practice Pipe, layout t00001: meets every limit that is checked, every note sounds as wanted"
        in out
    )
    assert cents(out) == {note.written: pytest.approx(note.cents, abs=0.051) for note in record.notes}
    for hole in record.holes:
        sizes = rf"{hole.position_mm:.2f}\s+0\s+{hole.diameter_mm:.2f}"
        assert re.search(rf"(?m)^{hole.id}\s+{hole.by}\s+open\s+{sizes}", out)
    for place, wide in record.bore.points_mm:
        assert re.search(rf"(?m)^ *{place:.2f} +{wide:.2f} ", out)
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


def test_show_a_run_names_what_it_recommends_and_where_to_look(run, record, capsys):
    # A pipe in one piece, without a plate or a pad: nothing to call simpler.
    code, out, _ = told(capsys, "show", run)
    assert code == 0
    assert "1 trial; ended by trials\n" in out
    figure = f"{record.objectives['tuning']:.2f}"
    assert re.search(rf"(?m)^t00001\s+best compromise, in tune, in reach\s+{figure}", out)
    assert f"  t00001: The only layout: tuning {figure} cents, " in out
    assert "simplest to build: left out, as no layout has a joint, a plate or anything to settle in CAD" in out
    assert str(run) in out.replace("\n", "")
    assert "tuning, stretch, unevenness" in out
    assert "--all" not in out


def test_show_lists_the_whole_front_on_request(tmp_path, capsys):
    # None beats another; t00002, in the middle, misses least of the best of both, and the ends are best at one each.
    points = [(1.0 + number, 40.0 - 10.0 * number) for number in range(5)]
    layouts = [
        made(f"t{at:05d}", objectives={"tuning": tuning, "stretch": stretch, "unevenness": 1.0})
        for at, (tuning, stretch) in enumerate(points)
    ]
    run = run_folder(tmp_path / "run", layouts)
    listed = re.compile(r"(?m)^t\d{5}")
    code, few, _ = told(capsys, "show", run)
    assert (code, listed.findall(few)) == (0, ["t00002", "t00000", "t00004"])
    assert f"the whole front:  holewright show {run} --all\n" in few
    code, whole, _ = told(capsys, "show", run, "--all")
    assert (code, listed.findall(whole)) == (0, ["t00002", "t00000", "t00004", *(record.id for record in layouts)])
    assert "--all" not in whole


@pytest.mark.parametrize(("plates", "told_of"), [(0.0, False), (2.0, True)])
def test_a_layout_tells_of_plates_that_took_the_place_of_fingers_alone(plates, told_of, tmp_path, record, capsys):
    path = tmp_path / "pipe.json"
    write_record(path, record.model_copy(update={"objectives": record.objectives | {"plates": plates}}))
    out = told(capsys, "show", path)[1]
    assert (f"  {plates:.0f} plates" in out) == told_of


def test_a_layout_that_breaks_a_limit_says_so(tmp_path, record, capsys):
    broken = record.binds[0].model_copy(update={"margin_mm": -4.5, "name": "reach.L1-L2"})
    path = tmp_path / "bad.json"
    write_record(path, record.model_copy(update={"feasible": False, "binds": [broken]}))
    out = told(capsys, "show", path)[1]
    assert "is NOT feasible, see below" in out
    assert "reach.L1-L2: broken by 4.50 mm; must hold: " in out


def test_a_run_with_nothing_feasible_ends_with_1(tmp_path, record, capsys):
    folder = create_run(tmp_path, pipe(PIPE), 1, 1.0, None, 1)
    weak = Binding(name="note.D5", margin_mm=0.0, sentence="D5 stands lower")
    for number, margins in enumerate(({"reach.L1-L2": -3.0}, {"reach.L1-L2": -4.0, "web.g1-g2": 0.4}), start=1):
        changes = {"id": f"t{number}", "feasible": False, "margins_mm": margins, "binds": [weak][: number - 1]}
        short = record.model_copy(update=changes)
        folder.keep(short, short.model_dump_json())
    folder.close(progress("time", 2))
    code, out, _ = told(capsys, "show", folder.path)
    assert code == 1
    words = " ".join(out.split())
    assert "No layout met everything" in words
    assert "of 2 trials: the limit reach.L1-L2 in 2 and D5 not sounding as wanted in 1." in words
    for relief in ("holewright resume", "holewright relieve", "register_ratio_min"):
        assert relief in words


@pytest.mark.parametrize("name", ["none.json", "pipe.toml", "empty"])
def test_what_cannot_be_shown_is_named(tmp_path, name, capsys):
    (tmp_path / "pipe.toml").write_text(PIPE)
    (tmp_path / "empty").mkdir()
    code, out, err = told(capsys, "show", tmp_path / name)
    assert (code, out) == (2, "")
    assert err.startswith("cannot show this\n  ")
    assert name in err
    assert len(err.splitlines()) == 2


def test_show_takes_a_layout_of_a_run(run, layout, record, capsys):
    assert told(capsys, "show", run, "--layout", record.id)[:2] == told(capsys, "show", layout)[:2]


# the same names for the same things

MEANINGS = {
    "--results": {
        "search",
        "survey",
        "hands",
        "relieve",
        "extend",
        "serve",
        "show",
        "reach",
        "predict",
        "resonances",
        "tolerance",
        "present",
        "handoff",
        "play",
        "blow",
        "fingerings",
    },
    "--out": {"hands", "relieve", "extend", "gauge", "report"},
    "--json": {"prices", "predict", "tolerance", "compare", "fit", "hear", "gauged", "impedance", "correct"}
    | {"printer", "play", "blow", "fingerings"},
    "--layout": {"show", "reach", "prices", "predict", "resonances", "tolerance", "bench", "fit", "hear"}
    | {"gauged", "impedance", "correct", "handoff", "play", "blow", "fingerings"},
    "--hand": {"check", "search", "survey", "show", "reach", "hands", "relieve", "extend", "gauge", "predict"}
    | {"present", "begin"},
    "--minutes": {"search", "resume", "survey", "reach", "hands", "relieve", "prices", "extend", "correct"},
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


def test_ctrl_c_while_the_command_loads(capsys, monkeypatch):
    def interrupt(name, *_, **__):
        if name.startswith("optimizer.commands"):
            raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(sys, "meta_path", [SimpleNamespace(find_spec=interrupt), *sys.meta_path])
        patched.delitem(sys.modules, "optimizer.commands.cli")
        assert entry.main() == 130
    assert capsys.readouterr().err == "stopped\n"


def test_ctrl_c_while_the_call_is_read(capsys, monkeypatch):
    def interrupt(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(cli.Repeating, "parse_args", interrupt)
    assert told(capsys, "show", "run") == (130, "", "stopped\n")


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
