"""What is settled of a project's axles before any layout: beside which pad each lies, and on which side of it.

The side is the one that leaves its posts more room when every hole is in the middle of its range, unless the key says
(`axle_deg`, `axle_side`); sides stay out of x.
"""

import numpy as np

from optimizer.geometry.axles import AxlePlan, AxleTable
from optimizer.geometry.layout import Layout, layout_bounds, numbers_of, with_numbers
from optimizer.geometry.measured_layout import fixed_of, measured
from optimizer.geometry.per_project import once
from optimizer.geometry.posts import PostTable, with_posts
from optimizer.geometry.touches import key_plans
from optimizer.project.model import Hole, Project
from optimizer.project.touches import KeyPlan


@once
def axle_plans(project: Project) -> tuple[AxlePlan, ...]:
    """Axle of every key whose finger has a place, on the side of its pad that leaves its posts more room."""
    at = measured(_middle(project), project)
    sides: tuple[list[AxlePlan], list[AxlePlan]] = ([], [])
    for plan, farthest in _farthest(project):
        given = None if plan.key.axle_deg is None else float(np.radians(plan.key.axle_deg))
        for plans, side in zip(sides, (1.0, -1.0), strict=True):
            plans.append(AxlePlan(plan, farthest, side, given))
    tables = [PostTable(at.fixed, AxleTable(at.fixed, plans), plans) for plans in sides]
    lacking = [np.max(table.post_lacks(at).reshape(2, -1), axis=0) for table in tables]
    return tuple(
        (one if here <= there else other) if (given := one.plan.key.axle_side) is None else _given(one, other, given)
        for one, other, here, there in zip(*sides, *lacking, strict=True)
    )


def farthest_pads(project: Project) -> dict[str, Hole]:
    """The hole beside whose pad the axle of each key lies, by the key's id; of keys whose finger has a place."""
    return {plan.key.id: project.holes[holes[0]] for plan, holes in _farthest(project)}


def _farthest(project: Project) -> list[tuple[KeyPlan, tuple[int, ...]]]:
    """Every key with the numbers of its holes, the farthest from its touch first."""
    at = measured(_middle(project), project)
    ids, where = [hole.id for hole in project.holes], at.fixed.fold.depth(at.layout.position_mm)
    found = []
    for plan, start in zip(key_plans(project), at.fixed.fold.depth(at.touches.position), strict=True):
        holes = [ids.index(name) for name in (*plan.key.opens, *plan.key.closes)]
        found.append((plan, tuple(sorted(holes, key=lambda hole: -abs(where[hole] - start)))))
    return found


def _given(clockwise: AxlePlan, counter: AxlePlan, side: str) -> AxlePlan:
    return clockwise if side == "clockwise" else counter


def _middle(project: Project) -> Layout:
    low, high = layout_bounds(project)
    lowest, highest = numbers_of(low), numbers_of(high)
    return with_numbers(low, {name: 0.5 * (lowest[name] + highest[name]) for name in lowest})


@once
def axle_table(project: Project) -> AxleTable:
    """The axles of a project as arrays."""
    return AxleTable(fixed_of(project), axle_plans(project))


@once
def post_table(project: Project) -> PostTable:
    """The axles of a project that stand on posts, as arrays."""
    axles = axle_table(project)
    return PostTable(fixed_of(project), axles, with_posts(axles.plans))
