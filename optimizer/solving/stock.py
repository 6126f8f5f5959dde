"""A solve whose finished sizes come from the stock: free first, then held at sizes of tools, the others solved again.

1. The free solve, with pads as the rules ask for them: what limits and tuning would have.
2. Every diameter that something of the stock finishes goes to the size nearest to it.
3. A solve from there with these diameters held, and with pads of the stock: positions, chimneys, bell, reed, joints and
   free holes make up for the rounding.
4. Where that breaks a limit which the free solve keeps, the holes that press on it go one size down, and 3 again.

A few diameters at a time, each lot followed by a solve of the others, came to the same within a tenth of a cent for
more solves.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from optimizer.geometry.layout import STEP, padded
from optimizer.project.finishes import Tool, tools_of
from optimizer.solving.linearised import Emphasis
from optimizer.solving.problem import Problem
from optimizer.solving.refine import Outcome, refine
from optimizer.solving.variants import Held

Sizes = Mapping[int, np.ndarray]
"""By the number of x that is a diameter: the sizes it may have, from the smallest, in units of x."""

STEPS_AGAIN = 30
"""So many quadratic programmes at most make up for the rounding; most solves need three to ten."""

BROKEN_MM = 0.005
"""The stock breaks a limit that is broken by so much more than without."""

MENDED = 3
"""So often holes go one size down for a limit's sake."""


def tools_by_hole(problem: Problem) -> dict[str, list[Tool]]:
    """For each hole that something of the stock finishes: what may, within its range."""
    project = problem.project
    shut = padded(problem.layout(problem.parametrisation.low), project)
    found = {hole.id: tools_of(project, hole, bool(pad)) for hole, pad in zip(project.holes, shut, strict=True)}
    return {name: tools for name, tools in found.items() if tools}


def sizes_of(problem: Problem, free: np.ndarray) -> dict[int, np.ndarray]:
    """Sizes of the diameters that may move, where something of the stock finishes them.

    Parameters
    ----------
    problem : whose holes they are
    free : (n,) True for numbers of x that may move
    """
    found = {}
    for hole, tools in tools_by_hole(problem).items():
        name = f"diameter_mm.{hole}"
        if name in problem.parametrisation.names and free[number := problem.parametrisation.names.index(name)]:
            found[number] = np.array([tool.mm for tool in tools]) / STEP["diameter_mm"]
    return found


def solve(
    problem: Problem, x: np.ndarray, emphasis: Emphasis, max_steps: int = 80, free: np.ndarray | None = None
) -> Outcome:
    """Solve a problem; where its project names a stock, with sizes of the stock.

    Parameters
    ----------
    problem : what is solved
    x : (n,) where to begin, in units of `layout.STEP`
    emphasis : how much each objective counts
    max_steps : so many quadratic programmes of the free solve at most
    free : (n,) True for numbers that may move; default: all
    """
    may = np.ones(x.size, bool) if free is None else free
    loose = refined(problem.loose, x, emphasis, max_steps, may)
    if problem.project.stock is None:
        return loose
    sizes, still = sizes_of(problem, may), may.copy()
    still[list(sizes)] = False
    best = refined(problem, snapped(loose.x, sizes), emphasis, STEPS_AGAIN, still)
    steps, kept = loose.steps + best.steps, loose.violation_mm + BROKEN_MM
    start = best.x
    for _ in range(MENDED if loose.violation_mm <= BROKEN_MM else 0):
        smaller = None if best.violation_mm <= kept else _smaller(problem, start, sizes)
        if smaller is None:
            break
        found = refined(problem, smaller, emphasis, STEPS_AGAIN, still)
        steps, start = steps + found.steps, found.x
        best = found if found.violation_mm < best.violation_mm else best
    return replace(best, steps=steps, broken_by_stock_mm=max(best.violation_mm - loose.violation_mm, 0.0))


BROKEN = "stock_breaks_mm"
"""Where a layout says by how much its stock sizes break a limit that it would keep without."""


def of_stock(outcome: Outcome) -> dict[str, str | int | float]:
    """What a layout's provenance says of the stock: by how much its sizes break limits, where they do."""
    return {BROKEN: round(outcome.broken_by_stock_mm, 3)} if outcome.broken_by_stock_mm > BROKEN_MM else {}


def refined(problem: Problem, x: np.ndarray, emphasis: Emphasis, max_steps: int, free: np.ndarray) -> Outcome:
    """A solve from x (n,) of the numbers that are `free` (n,) alone; the outcome's x has all of them."""
    if np.all(free):
        return refine(problem, x, emphasis, max_steps)
    held = Held(problem, x, free)
    found = refine(held, x[free], emphasis, max_steps)
    return replace(found, x=held.whole(found.x))


def in_sizes(problem: Problem, x: np.ndarray) -> tuple[Problem | Held, np.ndarray]:
    """The problem with every diameter that has sizes held where x (n,) has it, and its x of the numbers left (k,)."""
    free = np.ones(x.size, bool)
    free[list(sizes_of(problem, free))] = False
    return (problem, x) if np.all(free) else (Held(problem, x, free), x[free])


def whole(posed: Problem | Held, x: np.ndarray) -> np.ndarray:
    """All numbers (n,) from x of a problem as `in_sizes` gives it (k,)."""
    return posed.whole(x) if isinstance(posed, Held) else x


def snapped(x: np.ndarray, sizes: Sizes) -> np.ndarray:
    """x (n,) with every diameter that has sizes at the nearest of them."""
    found = x.copy()
    for number, choices in sizes.items():
        found[number] = choices[np.argmin(np.abs(choices - x[number]))]
    return found


def _smaller(problem: Problem, x: np.ndarray, sizes: Sizes) -> np.ndarray | None:
    """x (n,) with the holes that press on broken limits one size down; None where none can.

    Pads of the stock grow by steps, which have no slope: what presses is found with pads that grow with their holes.
    """
    loose = problem.loose
    values = np.asarray(problem.evaluate(x)[0].constraint)
    broken = {item.name for item, value in zip(problem.constraints.items, values, strict=True) if value > BROKEN_MM}
    rows = [number for number, item in enumerate(loose.constraints.items) if item.name in broken]
    slopes = np.asarray(loose.evaluate(x)[1].constraint)[rows]
    other = x.copy()
    for number, choices in sizes.items():
        if np.any(slopes[:, number] > 1e-9):
            other[number] = np.max(choices[choices < x[number] - 1e-9], initial=choices[0])
    return other if np.any(other != x) else None
