"""Room between the parts of the keywork in space: what stands upright on the body, and rods that run along it.

Covers, fingers, touches and posts count as round columns that stand out from the body where they are; a rod as a
straight one at a height above the body, parallel to it. Columns are as far apart as their feet, never more than they
are. Of two things that pass each other sideways and above, the room is the straight line between their edges.
"""

from typing import NamedTuple, TypeVar

import jax
import jax.numpy as jnp

from acoustics.arrays import Array
from optimizer.key_places import Places, straight

TALL_MM = 1e3
"""Where a finger ends, counted from the body; and how far below its surface what stands on it begins."""

FAR_MM = 1e4
"""Room to what does not count."""

CROWDED_MM = 0.1
"""Rooms within this of the least count as the least together: a smooth minimum, at worst this times log(count) low."""


class Uprights(NamedTuple):
    """Columns, any one shape: feet, half their width, lower and upper end above the body [mm]."""

    feet: Places
    half_mm: Array
    bottom_mm: Array
    top_mm: Array


class Rods(NamedTuple):
    """Rods, any one shape: azimuth [rad], middle above the body, both ends along it, half their width, the body's
    radius half way [mm]."""

    azimuth: Array
    height_mm: Array
    reed_mm: Array
    bell_mm: Array
    half_mm: Array
    radius: Array


def standing(feet: Places, half_mm: Array | float, top_mm: Array | float) -> Uprights:
    """Columns on the body."""
    return lifted(feet, half_mm, -TALL_MM, top_mm)


def lifted(feet: Places, half_mm: Array | float, bottom_mm: Array | float, top_mm: Array | float) -> Uprights:
    """Columns that begin above the body."""
    like = jnp.zeros_like(feet.position)
    return Uprights(feet, like + half_mm, like + bottom_mm, like + top_mm)


def joined(*columns: Uprights) -> Uprights:
    """All of them in a row."""
    together: Uprights = jax.tree.map(lambda *rows: jnp.concatenate(rows), *columns)
    return together


def column_room(first: Uprights, second: Uprights) -> Array:
    """Room between columns [mm]; negative by how much they overlap."""
    sideways = straight(first.feet, second.feet) - first.half_mm - second.half_mm
    upward = jnp.maximum(first.bottom_mm - second.top_mm, second.bottom_mm - first.top_mm)
    return _apart(sideways, upward)


def rod_room(rod: Rods, column: Uprights) -> Array:
    """Room between rods and columns [mm]; a rod that runs on the other side of the body is as far as it is."""
    place, radius = column.feet.position, column.feet.radius
    beyond = jnp.maximum(jnp.maximum(rod.reed_mm - place, place - rod.bell_mm), 0.0)
    turn, out = rod.azimuth - column.feet.azimuth, radius + rod.height_mm
    across, level = out * jnp.sin(turn), out * jnp.cos(turn)
    sideways = jnp.sqrt(across**2 + beyond**2 + 1e-12) - column.half_mm - rod.half_mm
    above = level - rod.half_mm - (radius + column.top_mm)
    below = jnp.maximum(radius + column.bottom_mm, 0.0) - (level + rod.half_mm)
    return _apart(sideways, jnp.maximum(above, below))


def rods_room(first: Rods, second: Rods) -> Array:
    """Room between rods [mm], on a body as wide as where the one on the thinner part lies."""
    radius = jnp.minimum(first.radius, second.radius)
    beyond = jnp.maximum(jnp.maximum(first.reed_mm - second.bell_mm, second.reed_mm - first.bell_mm), 0.0)
    one, other, turn = radius + first.height_mm, radius + second.height_mm, first.azimuth - second.azimuth
    across = (one - other) ** 2 + 4.0 * one * other * jnp.sin(turn / 2.0) ** 2
    return jnp.sqrt(across + beyond**2 + 1e-12) - first.half_mm - second.half_mm


def _apart(sideways: Array, upward: Array) -> Array:
    """Room from its parts: their hypotenuse where both are positive, else the greater."""
    both = (sideways > 0.0) & (upward > 0.0)
    corner = jnp.sqrt(jnp.maximum(sideways, 0.0) ** 2 + jnp.maximum(upward, 0.0) ** 2 + 1e-12)
    return jnp.where(both, corner, jnp.maximum(sideways, upward))


def least_of(room: Array) -> Array:
    """Smooth minimum over the last axis."""
    least = jnp.min(room, axis=-1, keepdims=True)
    crowd = jnp.log(jnp.sum(jnp.exp((least - room) / CROWDED_MM), axis=-1))
    return least[..., 0] - CROWDED_MM * crowd


Parts = TypeVar("Parts")


def taken(parts: Parts, index: Array) -> Parts:
    """Entries of some parts (N,) by their numbers, any shape."""
    found: Parts = jax.tree.map(lambda values: values[index], parts)
    return found
