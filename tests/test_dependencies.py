"""What the code imports is what pyproject.toml asks for, no more and no less, extra by extra.

Read from the syntax of every module, against the modules that each installed distribution says it brings (core metadata
of Python packages, `importlib.metadata`).
"""

import ast
import importlib.metadata
import re
import sys
import tomllib
from functools import cache

import pytest
from places import ROOT, tracked

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
EXTRAS = PROJECT["optional-dependencies"]

STARTED = {
    "build": "python -m build, which makes the wheel",
    "import-linter": "lint-imports",
    "mypy": "a program",
    "ruff": "a program",
}
"""Asked for as programs."""
CALLED = {
    "axe-core-python": "its script is read as a file and run by the page",
    "cmaes": "Optuna's sampler of that name imports it",
    "lxml": "trimesh reads 3MF by it",
    "networkx": "trimesh reads 3MF by it",
    "psycopg": "SQLAlchemy imports it for addresses that begin with postgresql+psycopg",
    "pytest-xdist": "pytest takes -n from it",
}
"""Asked for because another library imports them where the code has it do so."""
MESHES = {"helmholtz", "netgen", "ngsolve", "shapes"}
"""Imported by scripts of tests/reference alone, which made its data with solvers that no user needs."""

FUZZED = {"atheris"}
"""Imported by the search for files that no reader holds against, which asks for an extra of its own."""


def named(requirement):
    """A requirement's distribution as PyPI writes it in addresses: lower case, hyphens (PEP 503)."""
    return re.sub(r"[-_.]+", "-", re.match(r"[\w.-]+", requirement)[0]).lower()


@cache
def imports(tree):
    """Top-level modules that the code of a tree imports, but for its own."""
    found = {}
    for name in tracked():
        if name.suffix == ".py" and name.parts[0] == tree:
            for node in ast.walk(ast.parse((ROOT / name).read_text(encoding="utf-8"))):
                if isinstance(node, ast.Import):
                    modules = [alias.name for alias in node.names]
                else:
                    modules = (
                        [node.module] if isinstance(node, ast.ImportFrom) and node.module and not node.level else []
                    )
                for module in modules:
                    found.setdefault(module.partition(".")[0], set()).add(str(name))
    own = {"acoustics", "optimizer"} | {path.stem for path in (ROOT / "tests").rglob("*.py")}
    return {module: files for module, files in found.items() if module not in own | sys.stdlib_module_names}


@cache
def distributions():
    """The distribution of every module that can be imported here."""
    brought = {module: named(names[0]) for module, names in importlib.metadata.packages_distributions().items()}
    for distribution in importlib.metadata.distributions():  # extension modules at the top, which the above leaves out
        for file in distribution.files or ():
            if len(file.parts) == 1 and file.suffix == ".so":
                brought.setdefault(file.name.partition(".")[0], named(distribution.name))
    return brought


def asked(*extras):
    return {named(requirement) for extra in extras for requirement in EXTRAS[extra]} | {
        named(requirement) for requirement in PROJECT["dependencies"]
    }


@pytest.mark.parametrize(("tree", "extras"), [("acoustics", ()), ("optimizer", ("cad",)), ("tests", ("test",))])
def test_what_is_imported_is_asked_for(tree, extras):
    granted = asked(*extras) | ({"setuptools"} if tree == "acoustics" else set())  # the build's own
    for module, files in imports(tree).items():
        if tree != "tests" or module not in MESHES | FUZZED:
            assert distributions().get(module) in granted, (module, sorted(files))


def test_what_is_asked_for_is_imported_or_says_why():
    code = {distributions()[module] for tree in ("acoustics", "optimizer") for module in imports(tree)}
    everywhere = code | {distributions().get(module) for module in imports("tests")}
    assert asked() <= code
    assert asked("fuzz") - asked() == FUZZED
    assert asked("cad", "postgres", "test") - everywhere <= STARTED.keys() | CALLED.keys()
    assert STARTED.keys() | CALLED.keys() <= asked("postgres", "test"), "reasons for what nothing asks for"
