"""Limits of levers and axles: length, motion lost on the way to the pad, posts clear of everything."""

from collections.abc import Sequence

import numpy as np

from acoustics.arrays import Array
from optimizer.geometry.axle_plans import axle_plans, axle_table, post_table
from optimizer.geometry.axles import AxlePlan, lever_rows
from optimizer.geometry.measured_layout import Geometry
from optimizer.limits.family import NO_FAMILY, Constraint, Family
from optimizer.project.model import Project


def lever_limits(project: Project) -> Family:
    """Levers no longer than the project allows, along and round the body."""
    plans = axle_plans(project)
    if not plans:
        return NO_FAMILY
    named = _named(project, plans)
    limits = np.array([plan.plan.key.lever_max_mm or project.keywork.lever_max_mm for plan, _ in named])
    items = [
        Constraint(
            f"lever.{plan.plan.key.id}-{hole}",
            f"the lever of {plan.plan.key.id} from its touch to {hole} is at most {limit:g} mm long",
        )
        for (plan, hole), limit in zip(named, limits, strict=True)
    ]
    table = axle_table(project)
    return items, lambda at: at.once(table.levers).length - limits


def lost_motion(project: Project) -> Family:
    """What twist, bending and play take of each pad's opening."""
    plans, keywork = axle_plans(project), project.keywork
    if not plans:
        return NO_FAMILY
    share = keywork.lost_motion_max_share
    items = [
        Constraint(
            f"lost_motion.{plan.plan.key.id}-{hole}",
            f"twist, bending and play of {plan.plan.key.id} under {keywork.finger_force_n:g} N take at most "
            f"{100.0 * share:g} % of the opening of {hole}; shorten the lever or take stiffer stock",
        )
        for plan, hole in _named(project, plans)
    ]

    table = axle_table(project)

    def values(at: Geometry) -> Array:
        found = at.once(table.levers)
        return found.lost - share * found.opening

    return items, values


def post_limits(project: Project) -> Family:
    """Posts at both ends of every axle clear of seats, cups, bare fingers and joints."""
    plans, clear = post_table(project).standing, project.keywork.post_clearance_mm
    items = [
        Constraint(
            f"post.{plan.plan.key.id}-{end}",
            f"the post of {plan.plan.key.id} at its {end} end leaves {clear:g} mm to every cup, bare finger and joint",
        )
        for end in ("reed", "bell")
        for plan in plans
    ]
    return items, post_table(project).post_lacks


def _named(project: Project, plans: Sequence[AxlePlan]) -> list[tuple[AxlePlan, str]]:
    return [(plans[axle], project.holes[hole].id) for axle, hole in zip(*lever_rows(plans), strict=True)]
