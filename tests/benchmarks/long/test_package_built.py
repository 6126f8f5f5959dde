"""The package as it is handed on: what one command builds holds all that a demo needs, far from the tree."""

import json
import os
import shutil
import subprocess
import sys
import tarfile

import pytest
from places import CONFIGS, ROOT, tracked
from ray_nodes import bare_python

OWN = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}


def run(*command, folder, **changes):
    """What a command printed."""
    environment = OWN | changes
    done = subprocess.run([*map(str, command)], cwd=folder, env=environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr[-3000:] or done.stdout[-3000:]
    return done.stdout


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """Source archive and wheel, made of a copy of the tree; without the kernel, whose compiling others test."""
    pytest.importorskip("build.env", reason="the package build is not installed here")
    tree, made = tmp_path_factory.mktemp("tree"), tmp_path_factory.mktemp("made")
    for name in tracked():
        (tree / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / name, tree / name)
    run(sys.executable, "-m", "build", "--no-isolation", "--outdir", made, tree, folder=made, CC="false")
    (archive,), (wheel,) = made.glob("*.tar.gz"), made.glob("*.whl")
    return archive, wheel


@pytest.fixture(scope="module")
def python(built, tmp_path_factory):
    """A Python with the wheel and the libraries it asks for, but without the tree."""
    python = bare_python(tmp_path_factory.mktemp("fresh"))
    options = ("--no-deps", "--no-index", "--ignore-installed", "--disable-pip-version-check")
    run(sys.executable, "-m", "pip", "--python", python, "install", *options, built[1], folder=python.parent)
    return python


def test_the_wheel_runs_a_demo_without_the_tree(python, tmp_path):
    where = "import optimizer.project as project; print(project.demo_path('meadow-pipe'))"
    demo = run(python, "-c", where, folder=tmp_path).strip()
    assert demo.startswith(str(python.parent.parent))
    command = python.parent / "holewright"
    run(command, "search", demo, "--trials", "8", "--workers", "1", folder=tmp_path)
    (folder,) = (tmp_path / "results").iterdir()
    told = json.loads((folder / "run.json").read_text())
    assert (told["trials_done"], told["acoustics"]) == (8, "numpy")
    assert run(command, "report", folder, folder=tmp_path)
    assert list((folder / "layouts").glob("*.json"))


def test_the_wheel_holds_every_demo_hand_and_printer(python, tmp_path):
    where = "from optimizer.project.demos import demos_folder; print(demos_folder())"
    folder = type(ROOT)(run(python, "-c", where, folder=tmp_path).strip())
    here = {path.relative_to(CONFIGS): path.read_text() for path in CONFIGS.rglob("*.toml")}
    assert {path.relative_to(folder): path.read_text() for path in folder.rglob("*.toml")} == here


def test_the_archive_holds_the_sources_of_every_package(built):
    with tarfile.open(built[0]) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    wanted = {str(name) for name in tracked() if name.parts[0] in ("acoustics", "optimizer", "configs")}
    assert {name for name in wanted if not name.endswith(".md")} <= names
