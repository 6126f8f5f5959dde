"""Sizes of the joints between a body's pieces, from the bore and the wall where each one lies.

The tenon stands on the bell end of a piece and sits in a socket at the reed end of the next one, so that moisture runs
past the gap. Tenon and socket are cylinders; the bore goes on inside as it is.

| quantity | shape | unit | how |
|---|---|---|---|
| length | (J,) | mm | at least `joint_mm` and 0.8 of the tenon's outside diameter |
| bore, body | (J,) | mm | widest bore and thinnest body over that length |
| tenon | (J,) | mm | bore and two tenon walls; without a ring, what body, socket wall and clearance leave |
| socket | (J,) | mm | tenon and two clearances |
| socket_outer | (J,) | mm | socket and two socket walls, or the body where that is thicker |

Rules: `body.BodySections`, common practice, no source.
"""

from typing import NamedTuple

import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from acoustics.bore import Bore, radius_at
from optimizer.body import BodySections
from optimizer.layout import Layout
from optimizer.project import Project

ROUNDS = 5
"""Length and diameter follow from each other; each round leaves a cone's slope, a fiftieth, of the error."""


class JointSizes(NamedTuple):
    """Sizes of all joints (J,) [mm], used or not; see the table of this module. tenon_wall is the thinnest place."""

    length: Array
    bore: Array
    body: Array
    tenon: Array
    tenon_wall: Array
    socket: Array
    socket_outer: Array


def bore_extremes_mm(layout: Layout, project: Project, low: Array, high: Array) -> tuple[Array, Array]:
    """Narrowest and widest bore diameter between places low and high, any shape [mm]: at the ends or a point within."""
    points = np.array(project.bore.points_mm)[:-1]
    whole = np.array(project.bore.points_mm)
    radius = jnp.asarray(whole[:, 1] / 2) * layout.bore_scale
    profile = Bore(jnp.asarray(whole[:, 0]), radius)
    low, high = jnp.asarray(low), jnp.asarray(high)
    ends = jnp.stack([radius_at(profile, low), radius_at(profile, high)])
    inside = (points[:, 0] > low[..., None]) & (points[:, 0] < high[..., None])
    least = jnp.min(jnp.where(inside, radius[:-1], jnp.inf), axis=-1, initial=jnp.inf)
    most = jnp.max(jnp.where(inside, radius[:-1], 0.0), axis=-1, initial=0.0)
    return 2.0 * jnp.minimum(jnp.min(ends, axis=0), least), 2.0 * jnp.maximum(jnp.max(ends, axis=0), most)


def joint_sizes(layout: Layout, project: Project) -> JointSizes:
    """Sizes of the joints of a layout (J,) [mm]; differentiable. Joints already made keep length and tenon."""
    section = project.sections
    if section is None:
        return JointSizes(*[jnp.zeros(0)] * 7)
    place = jnp.asarray(layout.joint_mm, float)
    made = section.locked_joints
    locked = np.array([number in made for number in range(place.size)], bool)
    lengths = np.array([made[n].length_mm if n in made else section.joint_mm for n in range(place.size)])
    tenons = np.array([made[n].tenon_mm or np.nan if n in made else np.nan for n in range(place.size)])
    length = jnp.asarray(lengths, float)
    for _ in range(ROUNDS):
        bore, tenon, body = _tenon(layout, project, section, place, length)
        tenon = jnp.where(np.isnan(tenons), tenon, np.nan_to_num(tenons))
        wanted = jnp.maximum(section.joint_mm, section.tenon_length_per_diameter * tenon)
        length = jnp.where(locked, lengths, wanted)
    socket = tenon + 2.0 * section.radial_clearance_mm
    outer = jnp.maximum(socket + 2.0 * section.socket_wall_mm, body) if section.socket_ring else body
    return JointSizes(length, bore, body, tenon, 0.5 * (tenon - bore), socket, outer)


def _tenon(
    layout: Layout, project: Project, section: BodySections, place: Array, length: Array
) -> tuple[Array, Array, Array]:
    """Widest bore, tenon and thinnest body [mm] of joints (J,) that are so long."""
    narrow, wide = bore_extremes_mm(layout, project, place - 0.5 * length, place + 0.5 * length)
    body = narrow + 2.0 * project.bore.wall_mm
    if section.socket_ring:
        return wide, wide + 2.0 * section.tenon_wall_mm, body
    return wide, body - 2.0 * (section.socket_wall_mm + section.radial_clearance_mm), body
