"""What follows from a project alone, worked out once for it."""

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

from optimizer.project import Project

MOST_KEPT = 16
"""Projects that each function remembers; beyond that it forgets them all."""

Thing = TypeVar("Thing")


def once(build: Callable[[Project], list[Thing]]) -> Callable[[Project], list[Thing]]:
    """The same function, working out its list once for projects that say the same; every caller has a list of its
    own."""
    found: dict[str, list[Thing]] = {}

    @wraps(build)
    def kept(project: Project) -> list[Thing]:
        text = project.model_dump_json()
        if text not in found:
            if len(found) >= MOST_KEPT:
                found.clear()
            found[text] = build(project)
        return list(found[text])

    return kept
