"""What the stock decides of other tables, and where a project asks for what it does not hold."""

from collections.abc import Iterable, Mapping
from typing import Any

from optimizer.project.body import BodySections
from optimizer.project.findings import Finding, at
from optimizer.project.finishes import Kind, Tool, finishes_of, in_stock, tools_of
from optimizer.project.keywork import Keywork
from optimizer.project.model import Hole, Project
from optimizer.project.stock import SAME_MM, Stock

CALLED: dict[Kind, str] = {"drill": "drill", "reamer": "straight reamer", "tube": "tube's bore"}


def from_stock(sections: Mapping[str, Any]) -> tuple[dict[str, Any], list[Finding]]:
    """The tables with what the stock decides where they say nothing, and findings where they ask for what it lacks."""
    taken, stock = dict(sections), sections.get("stock")
    problems: list[Finding] = []
    if stock is None:
        return taken, problems
    if "keywork" in taken:
        taken["keywork"], more = _axles(taken["keywork"], stock)
        problems += more
    if taken.get("sections") is not None:
        taken["sections"], more = _cords(taken["sections"], stock)
        problems += more
    for hole in taken.get("holes", []):
        problems += _hole_findings(hole, stock, _redrilled(taken))
    return taken, problems


def _redrilled(sections: Mapping[str, Any]) -> set[str]:
    body: BodySections | None = sections.get("sections")
    return {name for piece in (body.locked if body else ()) for name in piece.redrill}


def _axles(keywork: Keywork, stock: Stock) -> tuple[Keywork, list[Finding]]:
    """Keywork with axles of the stock: the nearest to the default, or just what is stated."""
    there = [(rod.mm, 0.0, rod.called) for rod in stock.rods]
    if keywork.stock == "tube":
        there = [(tube.outer_mm, tube.bore_mm, tube.called) for tube in stock.tubes]
    if not there:
        return keywork, []
    wanted = keywork.axle_stock
    outer, inner, called = min(there, key=lambda one: abs(one[0] - wanted.outer_mm) + abs(one[1] - wanted.inner_mm))
    if abs(outer - wanted.outer_mm) + abs(inner - wanted.inner_mm) <= SAME_MM:
        return keywork, []
    if keywork.model_fields_set & {"stock_outer_mm", "stock_inner_mm"}:
        what = f"a {keywork.stock} of {wanted.outer_mm:g} mm" + (
            f" with a bore of {wanted.inner_mm:g}" if wanted.inner_mm else ""
        )
        return keywork, [at("keywork.stock_outer_mm", f"the stock has not {what}; nearest is {called}")]
    changes = {"stock_outer_mm": outer, "stock_inner_mm": inner or None}
    return keywork.model_copy(update=changes), []


def _cords(body: BodySections, stock: Stock) -> tuple[BodySections, list[Finding]]:
    """Joints with cords of the stock: the nearest to the default, or just what is stated; beside printed joints theirs,
    whether there is such a cord or not."""
    cords = {ring.cord_mm for ring in stock.o_rings}
    if not cords or body.seal != "o-ring":
        return body, []
    cord = min(cords, key=lambda one: abs(one - body.cord_mm))
    if abs(cord - body.cord_mm) <= SAME_MM:
        return body, []
    if "cord_mm" in body.model_fields_set and body.locked:
        return body, []
    if "cord_mm" in body.model_fields_set:
        said = f"the stock has no O-rings with a cord of {body.cord_mm:g} mm; nearest is {cord:g}"
        return body, [at("sections.cord_mm", said)]
    return body.model_copy(update={"cord_mm": cord}), []


def _hole_findings(hole: Hole, stock: Stock, redrilled: Iterable[str]) -> list[Finding]:
    """A hole whose range holds no size of what is to finish it; one with a single number is as its maker wants it."""
    kinds = finishes_of(hole, hole.padded)
    tools = [tool for kind in kinds for tool in in_stock(stock, kind)]
    if kinds and not tools and hole.finish is not None:
        return [at(f"holes.{hole.id}.finish", f"the stock holds no {hole.finish}; list some, or say finish = 'free'")]
    low, high = hole.diameter_mm
    as_wanted = low == high and hole.finish is None
    if not tools or as_wanted or hole.id in redrilled or any(low <= tool.mm <= high for tool in tools):
        return []
    what = " or ".join(CALLED[kind] for kind in kinds)
    where = f"is {low:g}" if low == high else f"lies between {low:g} and {high:g}"
    said = f"no {what} of the stock {where} mm; {nearest_sizes(tools, low, high)}"
    return [at(f"holes.{hole.id}.diameter_mm", f"{said}; take such a size into the range, or say finish = 'free'")]


def stock_notes(project: Project) -> list[str]:
    """What the stock leaves as it is, for its maker to know: fixed diameters; finishes that ask for one in vain."""
    stock = project.stock
    if stock is None:
        named = [hole.id for hole in project.holes if hole.finish not in (None, "free")]
        return [f"{', '.join(named)}: nothing finishes them without a [stock]"] if named else []
    notes = []
    for hole in project.holes:
        tools = [tool for kind in finishes_of(hole, hole.padded) for tool in in_stock(stock, kind)]
        low, high = hole.diameter_mm
        if tools and low == high and not tools_of(project, hole, hole.padded):
            notes.append(
                f"{hole.id} stays {low:g} mm, which is no size of the stock; {nearest_sizes(tools, low, high)}"
            )
    return notes


def nearest_sizes(tools: Iterable[Tool], low: float, high: float) -> str:
    """The next tools below and above a range [mm], in words."""
    below = max((tool for tool in tools if tool.mm < low), key=lambda tool: tool.mm, default=None)
    above = min((tool for tool in tools if tool.mm > high), key=lambda tool: tool.mm, default=None)
    found = [
        tool.called if tool.called.endswith(f" {tool.mm:g}") else f"{tool.called} ({tool.mm:g} mm)"
        for tool in (below, above)
        if tool is not None
    ]
    return f"nearest {'is' if len(found) == 1 else 'are'} {' and '.join(found)}"
