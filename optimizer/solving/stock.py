"""A solve whose finished sizes come from the stock: free first, then held at sizes of tools, the others solved again.

1. The free solve, with pads as the rules ask for them: what limits and tuning would have.
2. Every diameter that something of the stock finishes goes to the size nearest to it.
3. A solve from there with these diameters held, and with pads of the stock: positions, chimneys, bell, reed, joints and
   free holes make up for the rounding.
4. Where a limit is broken by more than in the free solve, the holes too wide for it go one size down, where none is
   those too narrow for it one up, and 3 again. Values count, not the solve's own violation, which leaves out limits
   that nothing free moves.

A few diameters at a time, each lot followed by a solve of the others, came to the same within a tenth of a cent for
more solves.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from optimizer.geometry.layout import STEP, padded
from optimizer.project.finishes import Tool, tools_of
from optimizer.solving.linearised import KEPT_MM, Emphasis
from optimizer.solving.problem import Problem
from optimizer.solving.refine import Outcome, refine
from optimizer.solving.variants import Held

Sizes = Mapping[int, np.ndarray]
"""By the number of x that is a diameter: the sizes it may have, from the smallest, in units of x."""

STEPS_AGAIN = 30
"""So many quadratic programmes at most make up for the rounding; most solves need three to ten."""

MENDED = 3
"""So often holes go one size on for a limit's sake."""

SLOPE = 1e-9
"""Slopes nearer to 0 than this are none."""


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
    before = limits_at(problem.loose, loose.x)
    best = refined(problem, snapped(loose.x, sizes), emphasis, STEPS_AGAIN, still)
    worse, steps = _worse(problem, best.x, before), loose.steps + best.steps
    found, pressed = best, worse
    for _ in range(MENDED if loose.violation_mm <= KEPT_MM else 0):
        other = _other_sizes(problem, found.x, sizes, pressed)
        if other is None:
            break
        found = refined(problem, other, emphasis, STEPS_AGAIN, still)
        pressed, steps = _worse(problem, found.x, before), steps + found.steps
        if max(pressed.values(), default=0.0) < max(worse.values(), default=0.0):
            best, worse = found, pressed
    return replace(best, steps=steps, broken_by_stock_mm=max(worse.values(), default=0.0))


def limits_at(problem: Problem, x: np.ndarray) -> dict[str, float]:
    """By the limits' names how far each is broken at x (n,) [mm]; 0 for those kept."""
    values = np.asarray(problem.measure(problem.layout(x)).constraint)
    return {item.name: max(float(g), 0.0) for item, g in zip(problem.constraints.items, values, strict=True)}


def _worse(problem: Problem, x: np.ndarray, before: Mapping[str, float]) -> dict[str, float]:
    """Limits that are broken at x (n,) by more than they were before, and by how much more [mm]."""
    more = {name: broken - before.get(name, 0.0) for name, broken in limits_at(problem, x).items()}
    return {name: mm for name, mm in more.items() if mm > KEPT_MM}


BROKEN = "stock_breaks_mm"
"""Where a layout says by how much its stock sizes break a limit that it would keep without."""


def of_stock(outcome: Outcome) -> dict[str, str | int | float]:
    """What a layout's provenance says of the stock: by how much its sizes break limits, where they do."""
    return {BROKEN: round(outcome.broken_by_stock_mm, 3)} if outcome.broken_by_stock_mm else {}


def refined(problem: Problem, x: np.ndarray, emphasis: Emphasis, max_steps: int, free: np.ndarray) -> Outcome:
    """A solve from x (n,) of the numbers that are `free` (n,) alone; the outcome's x has all of them."""
    posed, start = _held(problem, x, free)
    found = refine(posed, start, emphasis, max_steps)
    return replace(found, x=whole(posed, found.x))


def in_sizes(problem: Problem, x: np.ndarray) -> tuple[Problem | Held, np.ndarray]:
    """The problem with every diameter that has sizes held where x (n,) has it, and its x of the numbers left (k,)."""
    free = np.ones(x.size, bool)
    free[list(sizes_of(problem, free))] = False
    return _held(problem, x, free)


def _held(problem: Problem, x: np.ndarray, free: np.ndarray) -> tuple[Problem | Held, np.ndarray]:
    """The problem of the numbers that are `free` (n,) alone, the others held where x (n,) has them, and its x (k,)."""
    return (problem, x) if np.all(free) else (Held(problem, x, free), x[free])


def whole(posed: Problem | Held, x: np.ndarray) -> np.ndarray:
    """All numbers (n,) from x of a problem in which some are held (k,)."""
    return posed.whole(x) if isinstance(posed, Held) else x


def snapped(x: np.ndarray, sizes: Sizes) -> np.ndarray:
    """x (n,) with every diameter that has sizes at the nearest of them."""
    found = x.copy()
    for number, choices in sizes.items():
        found[number] = choices[np.argmin(np.abs(choices - x[number]))]
    return found


def _other_sizes(problem: Problem, x: np.ndarray, sizes: Sizes, pressed: Mapping[str, float]) -> np.ndarray | None:
    """x (n,) with holes one size on for the limits that they break; None where none can go on.

    Those too wide for a limit go down; where none is, those too narrow go up. Pads of the stock grow by steps, which
    have no slope: what presses is found with pads that grow with their holes.
    """
    if not pressed:
        return None
    loose, other = problem.loose, x.copy()
    rows = [number for number, item in enumerate(loose.constraints.items) if item.name in pressed]
    slopes = np.asarray(loose.evaluate(x)[1].constraint)[np.ix_(rows, list(sizes))]
    too_wide = slopes > SLOPE
    too_narrow = (slopes < -SLOPE) & ~too_wide.any(axis=1, keepdims=True)
    for column, (number, choices) in enumerate(sizes.items()):
        if too_wide[:, column].any():
            other[number] = np.max(choices[choices < x[number] - 1e-9], initial=choices[0])
        elif too_narrow[:, column].any():
            other[number] = np.min(choices[choices > x[number] + 1e-9], initial=choices[-1])
    return other if np.any(other != x) else None
