"""What follows from a project alone, worked out once for it, and what follows from its layouts, compiled once."""

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar

from acoustics.staging import staged
from optimizer.compiled_code import mark_of
from optimizer.project import Project

MOST_KEPT = 16
"""Projects that each function remembers; beyond that it forgets them all."""

Thing = TypeVar("Thing")


def _remembered(build: Callable[[Project, str], Thing]) -> Callable[[Project], Thing]:
    """What a project and its mark make, made once for projects that say the same."""
    found: dict[str, Thing] = {}

    def of(project: Project) -> Thing:
        mark = mark_of(project)
        if mark not in found:
            if len(found) >= MOST_KEPT:
                found.clear()
            found[mark] = build(project, mark)
        return found[mark]

    return of


def once(build: Callable[[Project], list[Thing]]) -> Callable[[Project], list[Thing]]:
    """The same function, working out its list once for projects that say the same; every caller has a list of its
    own."""
    kept = _remembered(lambda project, _: build(project))

    @wraps(build)
    def call(project: Project) -> list[Thing]:
        return list(kept(project))

    return call


def compiled_once(function: Callable[..., Thing]) -> Callable[..., Thing]:
    """The same function of a project and pytrees of arrays, compiled once for projects that say the same. Whatever it
    asks of functions under `once` must have been asked before, as nothing can be settled within a trace."""
    compiled = _remembered(lambda project, mark: _for_project(function, project, mark))

    @wraps(function)
    def call(project: Project, *arguments: Any) -> Thing:
        return compiled(project)(*arguments)

    return call


def _for_project(function: Callable[..., Thing], project: Project, mark: str) -> Callable[..., Thing]:
    @staged(closes_over=mark)
    @wraps(function)
    def of_arrays(*arguments: Any) -> Thing:
        return function(project, *arguments)

    return of_arrays
