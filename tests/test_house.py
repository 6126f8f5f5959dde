"""What is loaded by whom: the physics brings in nothing of the search, and a command nothing that it does not use."""

import json
import os
import subprocess
import sys

import numpy as np
import pytest
from ducts import make_duct, make_holes
from places import ROOT
from shelf import PIPE, pipe, progress

from acoustics.arrays import map_arrays
from acoustics.resonances import note_errors
from acoustics.scan import input_admittance
from optimizer.records.files import write_record
from optimizer.search.run_folder import create_run

HEAVY = ("fastapi", "moocore", "optuna", "piqp", "psutil", "ray", "rich", "scipy", "sqlalchemy", "uvicorn")
COMMAND = """
import json, sys
from optimizer.commands.cli import main
try:
    code = main(sys.argv[1:])
except SystemExit as end:
    code = end.code
loaded = {name.partition(".")[0] for name in sys.modules}
print(json.dumps({"code": code, "loaded": sorted(loaded)}))
"""


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
    run = create_run(folder, pipe(PIPE), seed=7, minutes=1.0, trials=1, workers=1)
    run.keep(record, record.model_dump_json(indent=1))
    run.close(progress("trials", 1))
    run.path.rename(folder / "run")
    return folder


@pytest.mark.parametrize(
    ("command", "needed"),
    [
        ("--help", ""),
        ("--version", ""),
        ("schema run", ""),
        ("check pipe.toml --quick", ""),
        ("check pipe.toml", "piqp"),
        ("show run", "rich"),
        ("predict run --json predicted.json", "rich"),
        ("show layout.json", "rich"),
        ("predict layout.json", "rich"),
        ("resonances layout.json --note A4", "rich"),
        ("tolerance layout.json --samples 20", "rich"),
        ("compare layout.json layout.json --html page.html", "rich"),
        ("report run", "rich"),
        ("gauge", "rich"),
        ("reach layout.json --quick", "rich"),
        ("search pipe.toml --trials 4 --workers 1 --results new", "moocore optuna piqp rich"),
        ("search pipe.toml --trials 4 --workers 2 --results new", "moocore optuna piqp rich"),
    ],
)
def test_a_command_loads_no_heavy_package_that_it_does_not_need(command, needed, place):
    environment = {name: value for name, value in os.environ.items() if name != "RAY_ADDRESS"}
    done = subprocess.run(
        [sys.executable, "-c", COMMAND, *command.split()], cwd=place, env=environment | {"PYTHONPATH": str(ROOT)},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    said = json.loads(done.stdout.splitlines()[-1])
    assert said["code"] in (0, None), done.stderr
    assert set(HEAVY) & set(said["loaded"]) == set(needed.split())


def test_a_worker_loads_nothing_of_the_driver():
    script = (
        "import sys, optimizer.search.worker_process, optimizer.search.trial\n"
        "print(*{one.partition('.')[0] for one in sys.modules})"
    )
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    assert set(HEAVY) & set(done.stdout.split()) == {"piqp"}
