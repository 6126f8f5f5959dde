"""The package as it is handed on: what a wheel would hold, by setuptools' own list, and its demos by their names.

`tests/benchmarks/long` builds one and runs it in a Python without the tree.
"""

import warnings

import pytest
from places import CONFIGS, ROOT, tracked

from optimizer.project.demos import demo_names, demo_path
from optimizer.project.loading import ProjectError


@pytest.fixture(scope="module")
def held():
    """Places of all files in a wheel, by what setuptools would copy into it."""
    from setuptools import Distribution

    with pytest.MonkeyPatch.context() as patch, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # setuptools calls the table of the kernel experimental
        patch.chdir(ROOT)
        made = Distribution({"script_name": "pyproject.toml"})
        made.parse_config_files()
        command = made.get_command_obj("build_py")
        command.build_lib = "wheel"
        command.ensure_finalized()
        return {file.removeprefix("wheel/") for file in command.get_outputs(include_bytecode=False)}


def test_a_wheel_holds_every_module_and_what_lies_beside_it(held):
    wanted = {str(name) for name in tracked() if name.parts[0] in ("acoustics", "optimizer") and name.suffix != ".md"}
    assert len(wanted) > 300
    assert wanted - held == set()


def test_a_wheel_holds_every_demo_hand_and_printer(held):
    here = {path.relative_to(CONFIGS).as_posix() for path in CONFIGS.rglob("*.toml")}
    demos = {place.removeprefix("optimizer/demos/") for place in held if place.startswith("optimizer/demos/")}
    assert {place for place in demos if place.endswith(".toml")} == here


def test_a_demo_is_found_by_its_name():
    assert demo_names() == sorted(path.stem for path in CONFIGS.glob("*.toml"))
    assert demo_path("meadow-pipe") == CONFIGS / "meadow-pipe.toml"


def test_a_demo_that_is_not_there_is_told():
    with pytest.raises(ProjectError) as caught:
        demo_path("../meadow-pipe")
    assert caught.value.problems == [f"there is no demo '../meadow-pipe'; there are: {', '.join(demo_names())}"]
