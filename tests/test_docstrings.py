"""Docstrings of all rooms, held against the code they stand in: parameters, errors, shapes of arrays."""

import ast
import re
from functools import cache

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


@cache
def sources():
    """Every file of the rooms by its name, parsed."""
    return {
        str(path.relative_to(ROOT)): ast.parse(path.read_text())
        for room in ROOMS
        for path in sorted((ROOT / room).rglob("*.py"))
    }


@cache
def all_functions():
    """Every function of the rooms by file and name."""
    return {f"{file}:{name}": node for file, tree in sources().items() for name, node in functions(tree)}


@cache
def all_classes():
    """Every class of the rooms by file and name."""
    return {
        f"{file}:{node.name}": node
        for file, tree in sources().items()
        for node in ast.walk(tree)
        if isinstance(node, ast.ClassDef)
    }


def public():
    """Functions that others may call, by file and name."""
    return {
        place: node for place, node in all_functions().items() if not re.search(r"[:.]_", place.partition(".py")[2])
    }


def chosen(nodes, by, at_least):
    """Those of the nodes that a rule is about; there must be some, or the rule would hold of nothing."""
    found = {place: node for place, node in nodes.items() if by(node)}
    assert len(found) >= at_least
    return found


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


def test_a_parameters_section_names_the_parameters_and_no_others():
    told = chosen(all_functions(), lambda node: section(node, "Parameters"), 150)
    assert [place for place, node in told.items() if entries(section(node, "Parameters")) != signature(node)] == []


def test_parameters_of_a_class_are_those_it_is_made_with():
    for place, node in chosen(all_classes(), lambda node: section(node, "Parameters"), 10).items():
        (made,) = (each for name, each in functions(node) if name == "__init__")
        assert entries(section(node, "Parameters")) == signature(made), place


def attributes(node):
    """Names of a class's fields, and of what its `__init__` sets."""
    fields = [item.target.id for item in node.body if isinstance(item, ast.AnnAssign)]
    stored = [item for item in ast.walk(node) if isinstance(item, ast.Attribute) and isinstance(item.ctx, ast.Store)]
    return fields, [*fields, *(item.attr for item in stored)]


def test_attributes_of_a_class_are_there():
    for place, node in chosen(all_classes(), lambda node: section(node, "Attributes"), 15).items():
        fields, known = attributes(node)
        told = entries(section(node, "Attributes"))
        assert set(told) <= set(known), place
        assert not fields or told == fields, place


def described(node):
    """Parameters that a docstring without a section for them describes."""
    said = ast.get_docstring(node) or ""
    return [name for name in signature(node) if re.search(rf"(^|, |; ){name} : ", said, re.MULTILINE)]


def test_parameters_are_described_in_a_section_of_their_own():
    told = chosen(all_functions(), described, 150)
    assert [place for place, node in told.items() if section(node, "Parameters") is None] == []


def raised(node):
    """Names of the errors that a function raises itself; what cannot happen is asserted, and no error to tell of."""
    for item in ast.walk(node):
        if isinstance(item, ast.Raise) and item.exc is not None:
            name = ast.unparse(item.exc.func if isinstance(item.exc, ast.Call) else item.exc)
            if name[0].isupper() and name != "AssertionError":
                yield name


def test_errors_that_a_function_raises_are_told():
    for place, node in chosen(public(), lambda node: set(raised(node)), 60).items():
        assert set(raised(node)) <= set(entries(section(node, "Raises") or [])), place


def with_arrays(node):
    """Whether a function takes or gives arrays."""
    said = [item.annotation for item in ast.walk(node.args) if isinstance(item, ast.arg) and item.annotation]
    return any(ARRAYS.search(ast.unparse(item)) for item in [*said, node.returns] if item is not None)


def test_functions_of_arrays_tell_shapes():
    told = chosen(public(), with_arrays, 150)
    assert [place for place, node in told.items() if not SHAPE.search(ast.get_docstring(node) or "")] == []
