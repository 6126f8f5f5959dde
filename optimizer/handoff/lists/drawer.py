"""Parts held against what lies in the drawer: which of its sizes a part is, or what is nearest where it has none."""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from optimizer.handoff.lists.bill import Counted
from optimizer.project.stock import Stock
from optimizer.words import listed

SAME_MM = 0.01
"""Sizes that differ by no more are one, as inches are rounded in places."""


class Have(NamedTuple):
    """A size that there is: by what parts are told apart [mm], and what it is called."""

    sizes_mm: tuple[float, ...]
    called: str


def drawer_of(stock: Stock) -> Mapping[str, list[Have]]:
    """What lies in the drawer for each kind of part, of those that are bought by their size; none for a list that the
    stock leaves out."""
    found = {
        "axle rod": [Have((size.mm,), size.called) for size in stock.rods],
        "hinge tube": [Have((tube.outer_mm, tube.wall_mm), tube.called) for tube in stock.tubes],
        "vent tube": [Have((tube.bore_mm,), tube.called) for tube in stock.tubes],
        "pad": [Have((size.mm,), size.called) for size in stock.pads],
        "O-ring": [Have((ring.inner_mm, ring.cord_mm), ring.called) for ring in stock.o_rings],
    }
    return {what: there for what, there in found.items() if there}


def in_drawer(part: Counted, drawer: Mapping[str, Sequence[Have]]) -> str:
    """What the drawer has for a part, in words; empty where it says nothing of such parts."""
    there = drawer.get(part.what)
    if not there or not part.sizes_mm:
        return ""
    if any(have.called == part.size for have in there):
        return part.size
    nearest = min(there, key=lambda have: _off_mm(part, have))
    return nearest.called if _off_mm(part, nearest) <= SAME_MM else f"no; nearest {nearest.called}"


def _off_mm(part: Counted, have: Have) -> float:
    return sum(abs(one - other) for one, other in zip(part.sizes_mm, have.sizes_mm, strict=True))


def lacks(parts: Iterable[Counted], stock: Stock) -> list[str]:
    """What the drawer lacks for parts, in one sentence; none where it lacks nothing.

    Parameters
    ----------
    parts : those that are alike together
    stock : the drawer
    """
    drawer = drawer_of(stock)
    words = {part: in_drawer(part, drawer) for part in parts}
    missing = [f"{part.what} {part.size} ({said})" for part, said in words.items() if said.startswith("no")]
    return [f"{stock.name} lacks {listed(list(dict.fromkeys(missing)))}."] if missing else []
