"""Limits of keys in space: levers, motion lost, posts, axles and touches clear of everything, joints not crossed."""

from collections.abc import Callable
from typing import NamedTuple

import jax
import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from optimizer.axle_ways import axle_plans
from optimizer.axles import AxlePlan, Levers, axles, breaks, lever_rows, levers, with_posts
from optimizer.hand import finger_holes
from optimizer.layout import Layout
from optimizer.limits import NO_FAMILY, Constraint, Family
from optimizer.posts import Scene, Slot, groups, least_rooms, scene, slots
from optimizer.project import Project
from optimizer.uprights import FAR_MM, Uprights, column_room, least_of


class Seen(NamedTuple):
    """A layout with its posts and axles, and their rooms, where any key is pressed; and its levers."""

    layout: Layout
    scene: Scene | None
    post_least: Array
    axle_least: Array
    levers: Levers


Limit = tuple[list[Constraint], Callable[[Seen], Array]]


def axle_limits(project: Project) -> Family:
    """Every limit of axles, from one look at a layout."""
    plans = axle_plans(project)
    if not plans:
        return NO_FAMILY
    pressed = with_posts(plans)
    row = slots(project, pressed) if pressed else []
    limits = [
        _lever_limits(project, plans),
        _lost_motion(project, plans),
        _joint_limits(project, plans),
        *([_post_limits(project, pressed), _rod_limits(project, pressed), _touch_limits(project, pressed)] * bool(row)),
    ]

    def values(layout: Layout) -> Array:
        seen = look(layout, project, plans, row)
        return jnp.concatenate([limit(seen) for _, limit in limits])

    return [item for items, _ in limits for item in items], values


def look(layout: Layout, project: Project, plans: list[AxlePlan], row: list[Slot]) -> Seen:
    """A layout with its posts and rods and its levers."""
    pressed = with_posts(plans)
    if not pressed:
        return Seen(layout, None, jnp.zeros(0), jnp.zeros(0), levers(layout, project, plans))
    found = scene(layout, project, pressed, row)
    at = np.cumsum([axle.plan.key.pressed for axle in plans]) - 1
    own = np.array([axle.plan.key.pressed for axle in plans])
    least = least_rooms(found, project, pressed, row)
    return Seen(layout, found, *least, levers(layout, project, plans, jnp.where(own, found.spans[at], 0.0), found.cut))


def _lever_limits(project: Project, plans: list[AxlePlan]) -> Limit:
    """Levers no longer than the project allows, along and round the body."""
    named = _named(project, plans)
    limits = np.array([plan.plan.key.lever_max_mm or project.keywork.lever_max_mm for plan, _ in named])
    items = [
        Constraint(
            f"lever.{plan.plan.key.id}-{hole}",
            f"the lever of {plan.plan.key.id} from its touch to {hole} is at most {limit:g} mm long",
        )
        for (plan, hole), limit in zip(named, limits, strict=True)
    ]
    return items, lambda seen: seen.levers.length - limits


def _lost_motion(project: Project, plans: list[AxlePlan]) -> Limit:
    """What twist, bending and play take of each pad's opening."""
    keywork, share = project.keywork, project.keywork.lost_motion_max_share
    items = [
        Constraint(
            f"lost_motion.{plan.plan.key.id}-{hole}",
            f"twist, bending and play of {plan.plan.key.id} under {keywork.finger_force_n:g} N take at most "
            f"{100.0 * share:g} % of the opening of {hole}; shorten the lever or take stiffer stock",
        )
        for plan, hole in _named(project, plans)
    ]
    return items, lambda seen: seen.levers.lost - share * seen.levers.opening


def _joint_limits(project: Project, plans: list[AxlePlan]) -> Limit:
    """Keys on one side of every joint, and of the crook's end, but those that may cross it over a bridge."""
    held = [number for number, axle in enumerate(plans) if not axle.plan.key.crosses_joint]
    clear, half = project.keywork.post_clearance_mm, 0.5 * project.keywork.post_diameter_mm
    items = [
        Constraint(
            f"axle_joint.{plans[number].plan.key.id}",
            f"{plans[number].plan.key.id} lies on one side of every joint and of the crook's end; with "
            "crosses_joint = true it may cross them, over a bridge",
        )
        for number in held
    ]

    def values(seen: Seen) -> Array:
        layout, found = seen.layout, seen.scene
        ends, cut = axles(layout, project, plans), breaks(layout, project) if found is None else found.cut
        reed, bell = ends.reed_mm, ends.bell_mm
        if found is not None:
            at = np.array([number for number, axle in enumerate(plans) if axle.plan.key.pressed])
            reed, bell = reed.at[at].set(found.rods.reed_mm), bell.at[at].set(found.rods.bell_mm)
        away = jnp.maximum(reed[:, None] - cut.middle_mm, cut.middle_mm - bell[:, None]) - 0.5 * cut.length_mm - half
        room = jnp.min(jnp.where(cut.used, away, FAR_MM), axis=1, initial=FAR_MM)
        return clear - room[np.array(held, int)]

    return items, values


def _post_limits(project: Project, plans: list[AxlePlan]) -> Limit:
    """Posts clear of covers, fingers, joints, and touches, posts and axles of other keys."""
    clear, row = project.keywork.post_clearance_mm, slots(project, plans)
    items = [
        Constraint(
            f"post.{name}",
            f"{_posts_of(*name.rsplit('-', 1))} {clear:g} mm to every cup, finger and joint, and "
            "to touches, posts and axles of other keys",
        )
        for name in groups(plans, row)
    ]
    return items, lambda seen: clear - seen.post_least


def _posts_of(key: str, where: str) -> str:
    return (
        f"each post of {key} between its ends leaves"
        if where == "between"
        else (f"the post of {key} at its {where} end leaves")
    )


def _rod_limits(project: Project, plans: list[AxlePlan]) -> Limit:
    """Axles clear of all they pass."""
    clear = project.keywork.axle_clearance_mm
    items = [
        Constraint(
            f"axle.{axle.plan.key.id}",
            f"the axle of {axle.plan.key.id} passes {clear:g} mm clear of every cup, finger, touch and other axle",
        )
        for axle in plans
    ]
    return items, lambda seen: clear - seen.axle_least


def _touch_limits(project: Project, plans: list[AxlePlan]) -> Limit:
    """Touches clear of covers, of other fingers and of touches under other fingers."""
    clear, fingers = project.keywork.cup_clearance_mm, list(finger_holes(project))
    items = [
        Constraint(
            f"touch_clear.{axle.plan.key.id}",
            f"the touch of {axle.plan.key.id} leaves {clear:g} mm to every cup, and to other fingers and their touches",
        )
        for axle in plans
    ]
    under = [axle.plan.key.touch for axle in plans]
    bare = [hole.by if hole.by != "key" and hole.cover == "finger" else None for hole in project.holes]
    aside = FAR_MM * np.array([[other == one for other in (*bare, *fingers, *under)] for one in under])
    first = len(project.holes) + len(fingers)

    def values(seen: Seen) -> Array:
        assert seen.scene is not None
        stand = seen.scene.stand
        touches: Uprights = jax.tree.map(lambda values: values[first:, None], stand)
        return clear - least_of(column_room(touches, stand) + aside)

    return items, values


def _named(project: Project, plans: list[AxlePlan]) -> list[tuple[AxlePlan, str]]:
    return [(plans[axle], project.holes[hole].id) for axle, hole in zip(*lever_rows(plans), strict=True)]
