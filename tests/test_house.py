"""The house in order: what is loaded by whom, what stands where, and documents that tell the truth about it.

The physics brings in nothing of the search, a command nothing that it does not use.
"""

import ast
import importlib
import json
import os
import re
import subprocess
import sys

import numpy as np
import pytest
from command_line import command_names, commands_in, parses, text_of
from ducts import make_duct, make_holes
from places import ROOT, tracked
from shelf import PIPE, pipe, progress
from takes import kept

from acoustics.arrays import map_arrays
from acoustics.resonances import note_errors
from acoustics.scan import input_admittance
from optimizer.handoff.kinds import KINDS
from optimizer.hearing.synthesis import Played, tone
from optimizer.limits.catalogue import LIMITS
from optimizer.project.objectives import OBJECTIVES
from optimizer.prototype.present_tables import HOLES
from optimizer.records.files import write_record
from optimizer.search.run_folder import create_run

HEAVY = (
    "ezdxf", "fastapi", "jinja2", "manifold3d", "moocore", "optuna", "piqp", "psutil", "ray", "reportlab", "rich",
    "scipy", "soundfile", "sqlalchemy", "tomlkit", "uvicorn",
)  # fmt: skip
TOP = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", "acoustics", "optimizer", "tests", "configs", "results",
}  # fmt: skip
DOCUMENTS = [name for name in tracked() if name.suffix == ".md"]
DOORS = (ROOT / "optimizer").glob("*/**/__init__.py")
ROOMS = sorted(".".join(door.parent.relative_to(ROOT / "optimizer").parts) for door in DOORS)
COMMANDS = {
    "--help": "",
    "--version": "",
    "schema run": "",
    "check pipe.toml --quick": "",
    "check pipe.toml": "piqp",
    "show run": "rich",
    "predict run --json predicted.json": "rich",
    "show layout.json": "rich",
    "predict layout.json": "rich",
    "resonances layout.json --note A4": "rich",
    "tolerance layout.json --samples 20": "rich",
    "hear layout.json A4.wav": "rich scipy soundfile",
    "play layout.json --to played.wav": "rich scipy soundfile",
    "fingerings run --note A4": "rich",
    "compare layout.json layout.json": "rich",
    "compare layout.json layout.json --html page.html": "jinja2 rich",
    "report run": "jinja2 manifold3d rich",
    "gauge": "rich",
    "gauged layout.json --sheet sheet.csv": "rich",
    "reach layout.json --quick": "rich",
    "handoff layout.json --only tables --state finished --to tables": "jinja2 rich",
    "handoff layout.json --only keys --to keys": "ezdxf jinja2 reportlab rich",
    "search pipe.toml --trials 1 --workers 1 --results new": "jinja2 manifold3d moocore optuna piqp rich",
    "search pipe.toml --trials 1 --workers 2 --no-report --results new": "moocore optuna piqp rich",
}
"""Commands, and heavy packages that each needs."""

EACH = """
import json, os, sys
import acoustics.resonances, optimizer.project.loading, optimizer.records.kinds
from optimizer.commands.cli import main
def loaded():
    return sorted({name.partition(".")[0] for name in sys.modules})
print("\\0" + json.dumps({"command": "", "code": 0, "loaded": loaded()}), flush=True)
for command in sys.argv[1:]:
    if not os.fork():
        try:
            code = main(command.split())
        except SystemExit as end:
            code = end.code
        print("\\0" + json.dumps({"command": command, "code": code, "loaded": loaded()}), flush=True)
        os._exit(0)
    os.wait()
"""
"""Every command in a process of its own that has loaded what most share, which is nothing heavy."""


def test_importing_the_physics_loads_nothing_of_the_search():
    # A fresh interpreter; the list is what the search and the files need and the physics must not.
    script = (
        "import sys, acoustics, acoustics.resonances\n"
        "unwanted = {'ray', 'optuna', 'pydantic', 'piqp', 'rich', 'scipy', 'optimizer'} & set(sys.modules)\n"
        "assert 'numpy' in sys.modules\n"
        "print(','.join(sorted(unwanted)))\n"
    )
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""


def test_the_physics_works_in_double_precision(tier):
    # A cent is 6e-4 and slopes are taken of thousandths of it: single precision would not do.
    # Whole numbers and single precision as they may come from a caller.
    duct = make_duct([(0, 3), (500, 8)], make_holes([300], [3], [4], [9]))
    single = map_arrays(lambda row: np.asarray(row, np.float32), duct)
    openness, target = np.ones((1, 1), np.float32), np.array([300], np.int64)
    found = note_errors(single, openness, target)
    assert found.error.dtype == found.slope.holes.radius.dtype == np.float64
    widened = map_arrays(lambda row: np.asarray(row, float), single)
    assert found.error == pytest.approx(note_errors(widened, openness, target).error, rel=1e-14)
    assert input_admittance(single, openness[0], 300).dtype == np.complex128


@pytest.fixture(scope="module")
def place(tmp_path_factory, record):
    """A folder with a project, a run of it, and a layout."""
    folder = tmp_path_factory.mktemp("place")
    (folder / "pipe.toml").write_text(PIPE)
    write_record(folder / "layout.json", record)
    kept(folder / "A4.wav", tone(Played(440.0), np.random.default_rng(1)))
    run = create_run(folder, pipe(PIPE), seed=7, minutes=1.0, trials=1, workers=1)
    run.keep(record, record.model_dump_json(indent=1))
    run.close(progress("trials", 1))
    run.path.rename(folder / "run")
    return folder


@pytest.fixture(scope="module")
def said(place):
    """What every command, and none, ended with and had loaded, and what was complained of."""
    environment = {name: value for name, value in os.environ.items() if name != "RAY_ADDRESS"}
    done = subprocess.run(
        [sys.executable, "-c", EACH, *COMMANDS], cwd=place, env=environment | {"PYTHONPATH": str(ROOT)},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    found = [json.loads(line) for line in re.findall(r"\0(.*)", done.stdout)]
    return {each["command"]: each for each in found}, done.stderr


@pytest.mark.parametrize(("command", "needed"), {"": "", **COMMANDS}.items())
def test_a_command_loads_no_heavy_package_that_it_does_not_need(command, needed, said):
    ends, complaints = said
    assert ends[command]["code"] in (0, None), complaints
    assert set(HEAVY) & set(ends[command]["loaded"]) == set(needed.split())


def test_a_short_command_reads_and_does_no_more_than_it_needs(place):
    # Not what other packages say of themselves, nor every source of this one; and nothing is left for Python to look
    # through as it ends. What a hook of the interpreter is told of is all that was opened.
    script = (
        "import gc, sys\n"
        "opened = []\n"
        "sys.addaudithook(lambda event, said: opened.append(str(said[0])) if event == 'open' else None)\n"
        "from optimizer.entry import main\n"
        "sys.argv = ['holewright', 'predict', 'layout.json']\n"
        "code = main()\n"
        "last = len(gc.get_objects())\n"
        "read = [name for name in opened if name.endswith(('entry_points.txt', 'METADATA', 'analysis/reliefs.py'))]\n"
        "print(code, 'layout.json' in opened, read, last < 1000 < gc.get_freeze_count(), file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=place, env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert done.stderr == "0 True [] True\n"


TABLES = {
    "| objective | meaning | unit |": [f"| `{row.name}` | {row.told} | {row.unit} |" for row in OBJECTIVES.values()],
    "| limit | what must hold |": [f"| `{row.kind}` | {row.holds} |" for row in LIMITS.values()],
    "| kind | what it holds |": [f"| `{name}` | {kind.told} |" for name, kind in KINDS.items()],
    "| header | what it says |": [f"| `{row.header}`{' (needed)' * row.needed} | {row.told} |" for row in HOLES],
}


@pytest.mark.parametrize(("head", "rows"), TABLES.items(), ids=["objectives", "limits", "kinds", "holes"])
def test_what_is_told_of_objectives_limits_and_tables_is_what_there_is(head, rows):
    told = []
    pages = [ROOT / "README.md", *ROOT.glob("*/**/README.md"), *ROOT.glob("docs/**/*.md")]
    for page in pages:
        lines = page.read_text(encoding="utf-8").splitlines()
        told += [lines[at + 2 : at + 2 + len(rows) + 1] for at, line in enumerate(lines) if line == head]
    assert told, "no page has the table"
    assert all(found[:-1] == rows and not found[-1].startswith("|") for found in told)


def test_a_worker_loads_nothing_of_the_driver():
    script = (
        "import sys, optimizer.search.worker_process, optimizer.search.trial\n"
        "print(*{one.partition('.')[0] for one in sys.modules})"
    )
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    assert set(HEAVY) & set(done.stdout.split()) == {"piqp"}


def test_nothing_else_stands_at_the_top():
    assert {name.parts[0] for name in tracked() if not name.parts[0].startswith(".")} == TOP


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_says_what_lives_there_and_offers_what_to_begin_with(room):
    door = importlib.import_module(f"optimizer.{room}")
    assert 2 <= len(door.__doc__.strip().splitlines()) <= 4
    assert door.__all__
    modules = {path.stem for path in (ROOT / "optimizer" / room.replace(".", "/")).glob("*.py")}
    assert not modules & set(door.__all__), "a name offered would be hidden by the module of that name"
    for name in door.__all__:
        assert getattr(door, name).__module__.startswith(f"optimizer.{room}.")


def test_the_doors_of_all_rooms_load_nothing_heavy():
    script = (
        f"import sys, {', '.join(f'optimizer.{room}' for room in ROOMS)}\n"
        "print(*{one.partition('.')[0] for one in sys.modules})"
    )
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    assert not {*HEAVY, "numpy", "pydantic"} & set(done.stdout.split())


@pytest.mark.parametrize("room", ["prototype", "hearing"])
def test_what_pages_show_as_well_names_no_option_of_a_command(room):
    for path in sorted((ROOT / "optimizer" / room).glob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        documents = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        said = [
            node.value for node in ast.walk(tree)
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in documents
        ]  # fmt: skip
        assert not [words for words in said if re.search(r"--[a-z]", words)], path.name


def test_no_test_imports_another():
    for path in (ROOT / "tests").rglob("*.py"):
        assert not re.search(r"(?m)^\s*(from|import) test_", path.read_text()), path


# documents


@pytest.mark.parametrize("document", DOCUMENTS, ids=str)
def test_every_command_in_a_document_is_understood(document):
    assert [words for words in commands_in(document) if not parses(words)] == []


def test_documents_have_commands_and_the_parser_refuses_others():
    assert sum(len(list(commands_in(document))) for document in DOCUMENTS) >= 20
    assert not parses(["search", "configs/lantern-tenor.toml", "--no-such-option"])
    assert not parses(["no-such-command"])


def test_the_readme_lists_every_command_and_no_other():
    section = text_of("README.md").partition("## Commands")[2].partition("\n## ")[0]
    listed = re.findall(r"(?m)^\| `(\S+?)`", section)
    assert sorted(listed) == sorted(command_names())


def slug(heading):
    """How a link names a heading."""
    return re.sub(r"[^a-z0-9 -]", "", heading.lower()).replace(" ", "-")


@pytest.mark.parametrize("document", DOCUMENTS, ids=str)
def test_every_link_of_a_document_leads_somewhere(document):
    for target in re.findall(r"\]\(([^)]+)\)", text_of(document)):
        name, _, anchor = target.partition("#")
        path = (ROOT / document.parent / name).resolve() if name else ROOT / document
        assert path.exists(), target
        if anchor:
            assert anchor in [slug(each) for each in re.findall(r"(?m)^#+ (.+)$", path.read_text())], target


@pytest.mark.parametrize("document", DOCUMENTS, ids=str)
def test_every_file_that_a_document_names_is_there(document):
    # Files of the tree are told by their kind; what runs write is JSON, HTML and SVG, and named as such.
    prose = re.sub(r"(?ms)^```.*?^```", "", text_of(document))
    files = [name.parts for name in tracked()]
    for named in re.findall(r"`([\w./-]+\.(?:py|md|c|h|npz|toml))\b[^`]*`", prose):
        wanted = tuple(part for part in named.split("/") if part not in (".", ".."))
        assert any(parts[-len(wanted) :] == wanted for parts in files), named
    for named in re.findall(r"\b(?:configs|tests|results)/[\w./-]+\.(?:json|svg|toml|py)\b", text_of(document)):
        assert (ROOT / named).exists() or "RUN" in named, named
