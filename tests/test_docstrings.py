"""Docstrings of all rooms, held against the code they stand in: parameters, errors, shapes of arrays."""

import ast
import re

import pytest
from places import ROOT

ROOMS = ("acoustics", "optimizer")
ARRAYS = re.compile(r"\b(Array|Floats|Complexes|ndarray)\b")
SHAPE = re.compile(r"\((\d )?(\w|rows|\.\.\.)( [-+] [\w ]+)?,.*?\)|\((\.\.\.)?\)|\bshapes?\b")
"""A shape such as (N, H), (2 N,), (n - 2,), (...) or (), or a word about it."""


def functions(tree, prefix=""):
    """Functions and methods under a node with their names, those within functions left out."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield f"{prefix}{node.name}", node
        elif isinstance(node, ast.ClassDef):
            yield from functions(node, f"{prefix}{node.name}.")


def all_functions():
    """Every function of the rooms by file and name."""
    for room in ROOMS:
        for path in sorted((ROOT / room).rglob("*.py")):
            for name, node in functions(ast.parse(path.read_text())):
                yield f"{path.relative_to(ROOT)}:{name}", node


def all_classes():
    """Every class of the rooms by file and name."""
    for room in ROOMS:
        for path in sorted((ROOT / room).rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text())):
                if isinstance(node, ast.ClassDef):
                    yield f"{path.relative_to(ROOT)}:{node.name}", node


CLASSES = dict(all_classes())
FUNCTIONS = dict(all_functions())
PUBLIC = {place: node for place, node in FUNCTIONS.items() if not re.search(r"[:.]_", place.partition(".py")[2])}


def section(node, title):
    """Lines of a numpydoc section; None where there is none."""
    said = ast.get_docstring(node) or ""
    found = re.search(rf"^{title}\n-+\n(.*?)(?:\n\n|\Z)", said, re.DOTALL | re.MULTILINE)
    return found and found[1].splitlines()


def entries(lines):
    """Names that the entries of a section begin with, several where they share one."""
    heads = [line.partition(" : ")[0] for line in lines if not line.startswith(" ")]
    return [name.strip() for head in heads for name in head.split(",")]


def signature(node):
    """Names of a function's parameters, self aside."""
    given = node.args
    names = [*given.posonlyargs, *given.args, given.vararg, *given.kwonlyargs, given.kwarg]
    return [item.arg for item in names if item is not None and item.arg not in ("self", "cls")]


@pytest.mark.parametrize("place", [place for place, node in FUNCTIONS.items() if section(node, "Parameters")])
def test_a_parameters_section_names_the_parameters_and_no_others(place):
    assert entries(section(FUNCTIONS[place], "Parameters")) == signature(FUNCTIONS[place])


@pytest.mark.parametrize("place", [place for place, node in CLASSES.items() if section(node, "Parameters")])
def test_parameters_of_a_class_are_those_it_is_made_with(place):
    (made,) = (node for name, node in functions(CLASSES[place]) if name == "__init__")
    assert entries(section(CLASSES[place], "Parameters")) == signature(made)


def attributes(node):
    """Names of a class's fields, and of what its `__init__` sets."""
    fields = [item.target.id for item in node.body if isinstance(item, ast.AnnAssign)]
    stored = [item for item in ast.walk(node) if isinstance(item, ast.Attribute) and isinstance(item.ctx, ast.Store)]
    return fields, [*fields, *(item.attr for item in stored)]


@pytest.mark.parametrize("place", [place for place, node in CLASSES.items() if section(node, "Attributes")])
def test_attributes_of_a_class_are_there(place):
    fields, known = attributes(CLASSES[place])
    told = entries(section(CLASSES[place], "Attributes"))
    assert set(told) <= set(known)
    assert not fields or told == fields


def described(node):
    """Parameters that a docstring without a section for them describes."""
    said = ast.get_docstring(node) or ""
    return [name for name in signature(node) if re.search(rf"(^|, |; ){name} : ", said, re.MULTILINE)]


@pytest.mark.parametrize("place", [place for place, node in FUNCTIONS.items() if described(node)])
def test_parameters_are_described_in_a_section_of_their_own(place):
    assert section(FUNCTIONS[place], "Parameters") is not None


def raised(node):
    """Names of the errors that a function raises itself; what cannot happen is asserted, and no error to tell of."""
    for item in ast.walk(node):
        if isinstance(item, ast.Raise) and item.exc is not None:
            name = ast.unparse(item.exc.func if isinstance(item.exc, ast.Call) else item.exc)
            if name[0].isupper() and name != "AssertionError":
                yield name


@pytest.mark.parametrize("place", [place for place, node in PUBLIC.items() if set(raised(node))])
def test_errors_that_a_function_raises_are_told(place):
    node = PUBLIC[place]
    assert set(raised(node)) <= set(entries(section(node, "Raises") or []))


def with_arrays(node):
    """Whether a function takes or gives arrays."""
    said = [item.annotation for item in ast.walk(node.args) if isinstance(item, ast.arg) and item.annotation]
    return any(ARRAYS.search(ast.unparse(item)) for item in [*said, node.returns] if item is not None)


@pytest.mark.parametrize("place", [place for place, node in PUBLIC.items() if with_arrays(node)])
def test_functions_of_arrays_tell_shapes(place):
    assert SHAPE.search(ast.get_docstring(PUBLIC[place]) or "")
