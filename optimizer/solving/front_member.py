"""A layout on the front, as the outer search remembers it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Member:
    """A layout on the front as the search remembers it: the parameters it was proposed with, its objectives, and its
    numbers (`layout.STEP`)."""

    id: str
    params: Mapping[str, Any]
    objectives: tuple[float, ...]
    numbers: Mapping[str, Any]
