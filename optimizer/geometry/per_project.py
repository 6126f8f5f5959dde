"""What follows from a project alone, worked out once for it."""

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

from optimizer.project.marks import mark_of
from optimizer.project.model import Project

MOST_KEPT = 16
"""Projects that each function remembers; beyond that it forgets them all."""

Thing = TypeVar("Thing")


def once(build: Callable[[Project], Thing]) -> Callable[[Project], Thing]:
    """The same function, worked out once for projects that say the same; what it gives is for all to read."""
    found: dict[str, Thing] = {}

    @wraps(build)
    def call(project: Project) -> Thing:
        mark = mark_of(project)
        if mark not in found:
            if len(found) >= MOST_KEPT:
                found.clear()
            found[mark] = build(project)
        return found[mark]

    return call
