"""Limits of the body's pieces: how long each may be, and what stays clear of the joints between them.

A joint is the length over which one piece's tenon sits in the next one's socket; it is placed by its middle. Joints
count from the reed. Which holes lie on which side of a joint is decided before a solve (`Choice.joint_above`), so that
the limit is a smooth one: the joint keeps to its gap, and the solve moves gap and joint.
"""

import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from optimizer.key_limits import cover_widths
from optimizer.layout import Layout
from optimizer.limits import NO_FAMILY, Constraint, Family, in_force
from optimizer.project import Project


def piece_ends(layout: Layout, project: Project) -> Array:
    """Where the pieces meet [mm]: the crook's end, the joints' middles, the bell end (J + 2,).

    Joints that are not used lie at the bell end.
    """
    joints = jnp.where(jnp.asarray(layout.choice.joint_used) > 0.5, layout.joint_mm, layout.end_mm)
    return jnp.concatenate([jnp.array([project.bore.crook_end_mm]), joints, jnp.reshape(layout.end_mm, (1,))])


def piece_lengths(layout: Layout, project: Project) -> Array:
    """Length of each piece as it is printed [mm], half a joint added at each jointed end (J + 1,); 0 for none."""
    if project.sections is None:
        return jnp.zeros(0)
    ends, used = piece_ends(layout, project), jnp.asarray(layout.choice.joint_used)
    joints = jnp.concatenate([jnp.zeros(1), used]) + jnp.concatenate([used, jnp.zeros(1)])
    exists = jnp.concatenate([jnp.ones(1), used]) > 0.5
    return jnp.where(exists, jnp.diff(ends) + 0.5 * project.sections.joint_mm * joints, 0.0)


def pieces(project: Project) -> Family:
    """No piece longer than the printer holds, none shorter than the joints at its ends."""
    if project.sections is None:
        return NO_FAMILY
    most, least = project.sections.piece_max_mm, 2.0 * project.sections.joint_mm
    numbers = range(1, project.sections.joints[1] + 2)
    items = [
        Constraint(f"piece_long.{n}", f"piece {n}, counted from the reed, is at most {most:g} mm long with its joints")
        for n in numbers
    ] + [
        Constraint(f"piece_short.{n}", f"piece {n}, counted from the reed, is at least {least:g} mm long")
        for n in numbers
    ]

    def values(layout: Layout) -> Array:
        lengths = piece_lengths(layout, project)
        exists = jnp.concatenate([jnp.ones(1), jnp.asarray(layout.choice.joint_used)]) > 0.5
        return in_force(jnp.concatenate([lengths - most, least - lengths]), jnp.tile(exists, 2))

    return items, values


def joints(project: Project) -> Family:
    """Joints stay in their zones, and clear of every seat, cup and finger."""
    if project.sections is None or project.sections.joints[1] == 0:
        return NO_FAMILY
    section, ids = project.sections, [hole.id for hole in project.holes]
    numbers = range(1, section.joints[1] + 1)
    clear = section.joint_clearance_mm
    items = [
        *(Constraint(f"joint_zone_low.{n}", f"joint {n} lies inside its zone, not nearer the reed") for n in numbers),
        *(Constraint(f"joint_zone_high.{n}", f"joint {n} lies inside its zone, not nearer the bell") for n in numbers),
        *(
            Constraint(f"joint.{n}-{name}", f"joint {n} leaves {clear:g} mm to what covers {name}")
            for n in numbers
            for name in ids
        ),
    ]

    def values(layout: Layout) -> Array:
        used = jnp.asarray(layout.choice.joint_used) > 0.5
        zone, side = jnp.asarray(layout.choice.joint_zone), 2.0 * jnp.asarray(layout.choice.joint_above) - 1.0
        half = 0.5 * (section.joint_mm + cover_widths(layout, project))
        apart = side * (layout.position_mm[None, :] - layout.joint_mm[:, None])
        lacking = clear + half[None, :] - apart
        outside = jnp.concatenate([zone[:, 0] - layout.joint_mm, layout.joint_mm - zone[:, 1]])
        return in_force(
            jnp.concatenate([outside, lacking.ravel()]), jnp.concatenate([used, used, jnp.repeat(used, len(ids))])
        )

    return items, values


def holes_of_pieces(layout: Layout, project: Project) -> list[list[str]]:
    """Ids of the holes on each piece that there is, counted from the reed."""
    ends = np.asarray(piece_ends(layout, project))
    count = 1 + int(np.sum(np.asarray(layout.choice.joint_used) > 0.5))
    piece = np.searchsorted(ends[1 : count + 1], np.asarray(layout.position_mm), side="right")
    ids = np.array([hole.id for hole in project.holes])
    return [list(ids[piece == number]) for number in range(count)]
