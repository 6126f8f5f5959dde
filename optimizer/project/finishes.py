"""What finishes a hole: the drills, straight reamers and lined tubes of the stock that its diameter may come from.

| hole, where a stock is named and nothing is said | finished by |
|---|---|
| a vent | the bore of a drawn tube that lines it |
| under a pad, as wide at its top as at the bore | a drill or a straight reamer |
| under a bare finger, or tapered | nothing of the stock: opened with a tapered reamer or a file until it is in tune |
| locked | made already |

Common practice, no source; `finish` of a hole says otherwise.
"""

from typing import Literal, NamedTuple

from optimizer.project.model import Hole, Project
from optimizer.project.stock import SAME_MM, Stock

Kind = Literal["drill", "reamer", "tube", "made"]


class Tool(NamedTuple):
    """What gives a hole its diameter at the bore [mm]: a tool, or the tube that lines it, and what its size is called;
    tolerance_mm: how far it may be off either way, where that is known. `made`: the hole stays as it was made."""

    kind: Kind
    mm: float
    called: str
    tolerance_mm: float | None = None


def finishes_of(hole: Hole, padded: bool) -> tuple[Kind, ...]:
    """Kinds of tool that may finish a hole, which a pad closes or not; none for a hole that stays free."""
    if hole.locked or hole.finish == "free":
        return ()
    if hole.finish is not None:
        return (hole.finish,)
    if hole.role == "vent" and hole.by == "key":
        return ("tube",)
    return ("drill", "reamer") if padded and hole.top_ratio == 1.0 else ()


def in_stock(stock: Stock, kind: Kind) -> list[Tool]:
    """All tools of a kind that the stock holds, from the smallest; of tubes with one bore the thinnest."""
    if kind == "tube":
        return [Tool("tube", tube.bore_mm, f"tube {tube.called}", tube.tolerance_mm) for tube in stock.tubes]
    sizes = {"drill": stock.drills, "reamer": stock.reamers}.get(kind, ())
    return [Tool(kind, size.mm, f"{kind} {size.called}") for size in sizes]


def tools_of(project: Project, hole: Hole, padded: bool) -> list[Tool]:
    """The tools that may finish a hole within its range, one for each size, from the smallest; none where it stays
    free. Of a drill and a reamer of one size it is the reamer; a hole of a printed piece may stay as it was made.
    """
    if project.stock is None:
        return []
    low, high = hole.diameter_mm
    found = {
        round(tool.mm, 6): tool
        for kind in finishes_of(hole, padded)
        for tool in reversed(in_stock(project.stock, kind))
        if low - SAME_MM <= tool.mm <= high + SAME_MM
    }
    redrilled = {name for piece in (project.sections.locked if project.sections else ()) for name in piece.redrill}
    if found and hole.id in redrilled:
        found.setdefault(round(low, 6), Tool("made", low, f"{low:g}"))
    return [found[size] for size in sorted(found)]


def tool_at(project: Project, hole: Hole, padded: bool, diameter_mm: float) -> Tool | None:
    """The tool that gives a hole just this diameter [mm]; None where none does."""
    return next((tool for tool in tools_of(project, hole, padded) if abs(tool.mm - diameter_mm) <= SAME_MM), None)
