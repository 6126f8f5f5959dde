"""Two things side by side, one of which may be missing."""

from collections.abc import Mapping
from typing import Any

Numbers = tuple[float | None, float | None]


def pair(first: object | None, other: object | None, name: str) -> tuple[Any, Any]:
    """One field of both; null where there is no such thing."""
    return getattr(first, name, None), getattr(other, name, None)


def difference(figures: Numbers) -> float | None:
    """Other less first, where both have a figure."""
    first, other = figures
    return None if first is None or other is None else other - first


def names_of_both(first: Mapping[str, object], other: Mapping[str, object]) -> list[str]:
    """Names of either, in the first's order, the other's own after them."""
    return [*first, *(name for name in other if name not in first)]
