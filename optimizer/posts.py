"""Posts of axles, and the room that posts and axles have to all that stands near them.

An axle ends in a post beyond its last arm either way; between those stand as many more, evenly spaced, as keep each
stretch no longer than the project's pitch. An end post takes the place with most room within `post_shift_max_mm`
further out, one between within a tenth of the pitch either way. Room is counted in space to covers, fingers on plates,
touches of other keys, posts and axles of other keys, and joints; keys that share posts are left out for each other.
"""

from collections.abc import Callable
from typing import Literal, NamedTuple

import jax
import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from optimizer.axles import AxlePlan, Breaks, axles, breaks, stacked
from optimizer.hand import finger_holes, touch_position
from optimizer.key_limits import cover_widths
from optimizer.key_places import Places, hole_places, touches
from optimizer.keywork import pad_sizes
from optimizer.layout import Layout, layout_bounds, padded, top_diameter_mm
from optimizer.limits import body_radius_at
from optimizer.project import Project
from optimizer.uprights import (
    FAR_MM,
    TALL_MM,
    Rods,
    Uprights,
    column_room,
    joined,
    least_of,
    lifted,
    rod_room,
    rods_room,
    standing,
    taken,
)

SHIFT_MM = 4.0
"""Places for a post are looked at in steps of about this much."""

SHIFT_BETWEEN = 0.1
"""How far a post between the ends may shift, as a share of the pitch."""


BRIDGE_ROOM = 1.25
"""Clearances between a break in the body and the posts beside it; more than one, so that no limit binds for nothing."""


class Slot(NamedTuple):
    """A post that an axle may have: axle; which it is, and its number: of the end (0 reed, 1 bell), among those
    between, or of the break in the body that it stands beside (2 b toward the reed, 2 b + 1 toward the bell)."""

    axle: int
    kind: Literal["end", "between", "bridge"]
    number: int


class Scene(NamedTuple):
    """Posts (P,) as columns and which of them there are, stretches between posts of each axle (K,), rods (K,), what
    else stands (U,), where the body comes apart (B,)."""

    posts: Uprights
    used: Array
    spans: Array
    rods: Rods
    stand: Uprights
    cut: Breaks


class Rooms(NamedTuple):
    """Rooms [mm] of posts to what else stands and to posts (P, U + P), to rods (P, K), to breaks (P, B); of rods to
    what stands (K, U) and to rods (K, K)."""

    post_columns: Array
    post_rods: Array
    post_breaks: Array
    rod_columns: Array
    rod_rods: Array


def slots(project: Project, plans: list[AxlePlan]) -> list[Slot]:
    """Both ends of every axle, reed ends first; as many between as the longest axle of the ranges needs; two beside
    each break in the body for keys that may cross it."""
    if not plans:
        return []
    ends = [Slot(number, "end", which) for which in (0, 1) for number in range(len(plans))]
    pitch = (1.0 - 2.0 * SHIFT_BETWEEN) * project.keywork.post_pitch_mm
    low, high = (axles(layout, project, plans) for layout in layout_bounds(project))
    longest = np.asarray(high.bell_mm - low.reed_mm) + 2.0 * project.keywork.post_shift_max_mm
    counts = np.clip(np.ceil(longest / pitch), 1, 12).astype(int)
    between = [Slot(axle, "between", n) for axle, count in enumerate(counts) for n in range(1, count)]
    most = 2 * breaks(layout_bounds(project)[0], project).used.size
    crossing = [number for number, axle in enumerate(plans) if axle.plan.key.crosses_joint]
    return ends + between + [Slot(axle, "bridge", n) for axle in crossing for n in range(most)]


def columns_named(project: Project, plans: list[AxlePlan]) -> list[str]:
    """Names of what else stands (U,): covers, fingers, touches."""
    return [
        *(hole.id for hole in project.holes),
        *finger_holes(project),
        *(f"touch {axle.plan.key.id}" for axle in plans),
    ]


def columns(layout: Layout, project: Project, plans: list[AxlePlan]) -> Uprights:
    """Covers of the holes, fingers on theirs, touches of keys (U,)."""
    keywork, places = project.keywork, hole_places(layout, project)
    shut = padded(layout, project)
    lift = pad_sizes(top_diameter_mm(layout, project), keywork).lift_mm
    raised = jnp.maximum(layout.chimney_mm - project.bore.wall_mm, 0.0)
    top = jnp.where(shut, raised + keywork.cup_height_mm + lift, TALL_MM)
    under = np.array(list(finger_holes(project).values()), int)
    lands = touch_position(layout)[under]
    feet = Places(lands, places.azimuth[under], body_radius_at(lands, layout, project))
    at = touches(layout, project, [axle.plan for axle in plans])
    return joined(
        standing(places, 0.5 * cover_widths(layout, project), top),
        standing(feet, 0.5 * project.hand.finger_breadth_mm, TALL_MM),
        lifted(at, 0.5 * keywork.touch_width_mm, keywork.touch_height_mm, TALL_MM),
    )


def _aside(plans: list[AxlePlan], own: np.ndarray) -> np.ndarray:
    """FAR_MM where axles (own) and axles (K,) count as one: the same, or sharing posts (R, K)."""
    keys = [axle.plan.key for axle in plans]
    one = np.array([[a is b or a.id in b.posts_with or b.id in a.posts_with for b in keys] for a in keys])
    return FAR_MM * one.reshape(len(keys), len(keys))[own]


def scene(layout: Layout, project: Project, plans: list[AxlePlan], row: list[Slot]) -> Scene:
    """Posts and rods of a layout and their rooms; posts where they have most room, no slope leads to another place."""
    count, keywork, ends = len(plans), project.keywork, axles(layout, project, plans)
    cut, stand = breaks(layout, project), columns(layout, project, plans)
    known = ends.azimuth, stand, cut
    most = keywork.post_shift_max_mm
    out = np.linspace(0.0, most, 1 + int(np.ceil(most / SHIFT_MM)))
    outward = np.repeat([-1.0, 1.0], count)[:, None]
    tries = jnp.concatenate([ends.reed_mm, ends.bell_mm])[:, None] + outward * out
    owners = _owners(row)
    best = _best(layout, project, plans, known, tries, owners[: 2 * count])
    shift = jnp.asarray(out)[best] * outward[:, 0]
    reed, bell = ends.reed_mm + shift[:count], ends.bell_mm + shift[count:]
    pitch = keywork.post_pitch_mm
    spans = jnp.maximum(jnp.ceil(jax.lax.stop_gradient(bell - reed) / ((1.0 - 2.0 * SHIFT_BETWEEN) * pitch)), 1.0)
    axle, number = _rows(row, "between")
    between = reed[axle] + (bell - reed)[axle] * number / spans[axle]
    ways = np.linspace(-SHIFT_BETWEEN, SHIFT_BETWEEN, 5)[[2, 1, 3, 0, 4]] * pitch
    best = _best(layout, project, plans, known, between[:, None] + ways, axle)
    between = between + jnp.asarray(ways)[best]
    bridge, crossed = _bridges(cut, project, *_rows(row, "bridge"), reed, bell)
    used = jnp.concatenate([jnp.ones(2 * count, bool), number < spans[axle], crossed])
    rods = _rods(layout, project, plans, ends.azimuth, reed, bell)
    posts = _columns_of(layout, project, rods, jnp.concatenate([reed, bell, between, bridge]), owners, used)
    return Scene(posts, used, (bell - reed) / spans, rods, stand, cut)


def _rows(row: list[Slot], kind: str) -> tuple[np.ndarray, np.ndarray]:
    """Axles and numbers of the posts of a kind."""
    found = np.array([(slot.axle, slot.number) for slot in row if slot.kind == kind], int).reshape(-1, 2)
    return found[:, 0], found[:, 1]


def _bridges(
    cut: Breaks, project: Project, axle: np.ndarray, number: np.ndarray, reed: Array, bell: Array
) -> tuple[Array, Array]:
    """Where the posts beside breaks stand [mm], and which of them there are: those of breaks that their axle spans."""
    keywork = project.keywork
    middle, way = cut.middle_mm[number // 2], 2.0 * (number % 2) - 1.0
    apart = 0.5 * (cut.length_mm[number // 2] + keywork.post_diameter_mm) + BRIDGE_ROOM * keywork.post_clearance_mm
    return middle + way * apart, cut.used[number // 2] & (reed[axle] < middle) & (middle < bell[axle])


def _rods(layout: Layout, project: Project, plans: list[AxlePlan], azimuth: Array, reed: Array, bell: Array) -> Rods:
    half = jnp.full(len(plans), 0.5 * project.keywork.stock_outer_mm)
    radius = body_radius_at(0.5 * (reed + bell), layout, project)
    return Rods(azimuth, stacked([axle.height_mm for axle in plans]), reed, bell, half, radius)


def _columns_of(
    layout: Layout, project: Project, rods: Rods, position: Array, owners: np.ndarray, used: Array
) -> Uprights:
    feet = Places(position, rods.azimuth[owners], body_radius_at(position, layout, project))
    half = jnp.where(used, 0.5 * project.keywork.post_diameter_mm, -FAR_MM)
    return standing(feet, half, (rods.height_mm + rods.half_mm)[owners])


def _best(
    layout: Layout,
    project: Project,
    plans: list[AxlePlan],
    known: tuple[Array, Uprights, Breaks],
    tries: Array,
    owners: np.ndarray,
) -> Array:
    """Which of the places (P, C) of posts has most room to what stands there and to joints (P,); known: azimuths of the
    axles (K,), what stands, where the body comes apart."""
    azimuth, stand, cut = jax.tree.map(jax.lax.stop_gradient, known)
    still, tries = jax.tree.map(jax.lax.stop_gradient, layout), jax.lax.stop_gradient(tries)
    half = 0.5 * project.keywork.post_diameter_mm
    tops = stacked([axle.height_mm for axle in plans])[owners] + 0.5 * project.keywork.stock_outer_mm
    feet = Places(tries, azimuth[owners][:, None] + 0.0 * tries, body_radius_at(tries, still, project))
    feet = Places(*(values[..., None] for values in feet))
    room = column_room(standing(feet, half, tops[:, None, None]), stand)
    own = _own_touches(project, plans, owners)[:, None, :]
    away = jnp.abs(tries[..., None] - cut.middle_mm) - 0.5 * cut.length_mm - half + FAR_MM * ~cut.used
    least = jnp.minimum(jnp.min(room + own, axis=-1), jnp.min(away, axis=-1, initial=FAR_MM))
    return jnp.argmax(jnp.minimum(least, 3.0 * project.keywork.post_clearance_mm), axis=1)


def _own_touches(project: Project, plans: list[AxlePlan], owners: np.ndarray) -> np.ndarray:
    """FAR_MM at the touch of the own key (R, U)."""
    count = len(columns_named(project, plans)) - len(plans)
    return np.hstack([np.zeros((owners.size, count)), FAR_MM * np.eye(len(plans))[owners]])


def rooms(seen: Scene, project: Project, plans: list[AxlePlan], row: list[Slot]) -> Rooms:
    """Every room of a scene, no slopes."""
    seen = jax.tree.map(jax.lax.stop_gradient, seen)
    every, owners = np.arange(len(plans)), _owners(row)
    posts, rods = (jax.tree.map(lambda values: values[:, None], part) for part in (seen.posts, seen.rods))
    other, own = _aside(plans, owners), _own_touches(project, plans, owners)
    return Rooms(
        column_room(posts, joined(seen.stand, seen.posts)) + np.hstack([own, other[:, owners]]),
        rod_room(seen.rods, posts) + other,
        _break_room(posts, seen.cut),
        rod_room(rods, seen.stand) + _own_touches(project, plans, every),
        rods_room(rods, seen.rods) + _aside(plans, every),
    )


def _break_room(post: Uprights, cut: Breaks) -> Array:
    away = jnp.sqrt((post.feet.position - cut.middle_mm) ** 2 + 1e-6) - 0.5 * cut.length_mm - post.half_mm
    return jnp.where(cut.used, away, FAR_MM)


def least_rooms(seen: Scene, project: Project, plans: list[AxlePlan], row: list[Slot]) -> tuple[Array, Array]:
    """Room of the tightest post of each of `groups` (G,) and of each rod (K,) [mm], FAR_MM where there is none; slopes
    by what is nearest of each kind."""
    whole = rooms(seen, project, plans, row)
    tight = jnp.where(seen.used, jnp.min(jnp.concatenate(whole[:3], axis=1), axis=1), FAR_MM)
    table = np.array(list(groups(plans, row).values()))
    at = jnp.take_along_axis(table, jnp.argmin(tight[table], axis=1)[:, None], axis=1)[:, 0]
    posts = jax.tree.map(lambda values: values[at][:, None], seen.posts)
    rods = jax.tree.map(lambda values: values[:, None], seen.rods)
    columns_, beside, cut = whole.post_columns[at], whole.post_rods[at], whole.post_breaks[at]
    post_least = _least([
        *((room, lambda at: column_room(posts, taken(joined(seen.stand, seen.posts), at))) for room in _two(columns_)),
        (beside, lambda at: rod_room(taken(seen.rods, at), posts)),
        (cut, lambda at: _break_room(posts, taken(seen.cut, at))),
    ])  # fmt: skip
    rod_least = _least([
        (whole.rod_columns, lambda at: rod_room(rods, taken(seen.stand, at))),
        (whole.rod_rods, lambda at: rods_room(rods, taken(seen.rods, at))),
    ])  # fmt: skip
    return jnp.where(seen.used[at], post_least, FAR_MM), rod_least


def groups(plans: list[AxlePlan], row: list[Slot]) -> dict[str, list[int]]:
    """Posts that one limit holds, by its name; all of a length, short ones with their first post again."""
    found: dict[str, list[int]] = {}
    for number, slot in enumerate(row):
        name = ("reed", "bell")[slot.number] if slot.kind == "end" else "between"
        found.setdefault(f"{plans[slot.axle].plan.key.id}-{name}", []).append(number)
    most = max(len(group) for group in found.values())
    return {name: (group + group[:1] * most)[:most] for name, group in found.items()}


def _two(room: Array) -> tuple[Array, Array]:
    """The rooms (R, N), and the same without the least of each row."""
    first = jnp.argmin(room, axis=1)[:, None]
    return room, jnp.where(jnp.arange(room.shape[1]) == first, FAR_MM, room)


def _least(kinds: list[tuple[Array, Callable[[Array], Array]]]) -> Array:
    """Smooth least room (R,) of what is nearest in each kind: known rooms (R, N), and how to measure those picked."""
    found = []
    for room, measured in kinds:
        if room.shape[1]:
            at = jnp.argmin(room, axis=1)[:, None]
            far = jnp.take_along_axis(room, at, axis=1) > 0.5 * FAR_MM
            found.append(jnp.where(far, FAR_MM, measured(at)))
    return least_of(jnp.concatenate(found, axis=1))


def _owners(row: list[Slot]) -> np.ndarray:
    return np.array([slot.axle for slot in row], int)
