"""Limits of the body's pieces: how long each may be, and what stays clear of the joints between them.

A joint is the length over which one piece's tenon sits in the next one's socket; it is placed by its middle. Joints
count from the reed. Which holes lie on which side of a joint is decided before a solve (`Choice.joint_above`), so that
the limit is a smooth one: the joint keeps to its gap, and the solve moves gap and joint.
"""

import numpy as np

from acoustics.arrays import Array
from optimizer.geometry.measured_layout import Geometry, fixed_of
from optimizer.geometry.pieces import existing, piece_diameters, piece_extents, piece_lengths
from optimizer.geometry.space import smooth_size
from optimizer.limits.family import NO_FAMILY, Constraint, Family, in_force
from optimizer.project.fingers import row_places
from optimizer.project.model import Project


def pieces(project: Project) -> Family:
    """No piece longer than the printer holds, none shorter than its joints; printed ones aside."""
    if project.sections is None:
        return NO_FAMILY
    most, least = project.piece_max_mm, 2.0 * project.sections.joint_mm
    numbers = range(1, project.sections.joints[1] + 2)
    items = [
        Constraint(f"piece_long.{n}", f"piece {n}, counted from the reed, is at most {most:g} mm long with its joints")
        for n in numbers
    ] + [
        Constraint(f"piece_short.{n}", f"piece {n}, counted from the reed, is at least {least:g} mm long")
        for n in numbers
    ]
    new = _not_printed(project)

    def values(at: Geometry) -> Array:
        wanted = existing(at) & new
        return in_force(
            np.concatenate([piece_extents(at) - most, least - piece_lengths(at)]), np.concatenate([wanted, wanted])
        )

    return items, values


def _not_printed(project: Project) -> np.ndarray:
    """Which pieces (J + 1,) are still to be printed."""
    section = project.sections
    printed = {piece.piece for piece in section.locked} if section else set()
    return np.array([number + 1 not in printed for number in range(section.joints[1] + 1 if section else 0)])


def piece_widths(project: Project) -> Family:
    """No piece wider than the bed; left out where the bore's widest place and a ring around it fit anyway."""
    section, most = project.sections, project.printer.diameter_max_mm
    if section is None or _widest_mm(project) <= most:
        return NO_FAMILY
    items = [
        Constraint(f"piece_wide.{n}", f"piece {n}, counted from the reed, is at most {most:g} mm wide, as the bed is")
        for n in range(1, section.joints[1] + 2)
    ]
    new = _not_printed(project)
    return items, lambda at: in_force(piece_diameters(at) - most, existing(at) & new)


def _widest_mm(project: Project) -> float:
    """A diameter that no piece can pass [mm]."""
    section, widest = project.sections, fixed_of(project).shape.span_mm[1]
    ring = section.tenon_wall_mm + section.radial_clearance_mm + section.socket_wall_mm if section else 0.0
    folded = sum(2.0 * bend.radius_mm for bend in project.bends)
    return widest + 2.0 * max(project.bore.wall_mm, ring) + folded


def tenon_walls(project: Project) -> Family:
    """Tenons thick enough where no ring around the socket makes room for them."""
    section = project.sections
    if section is None or section.socket_ring or section.joints[1] == 0:
        return NO_FAMILY
    least = section.tenon_wall_min_mm
    items = [
        Constraint(f"tenon_wall.{n}", f"the tenon of joint {n} is at least {least:g} mm thick; a thicker body, or "
        "sections.socket_ring = true, makes room")
        for n in range(1, section.joints[1] + 1)
    ]  # fmt: skip
    made = np.array([number in section.locked_joints for number in range(section.joints[1])])
    return items, lambda at: in_force(least - at.joints.tenon_wall, at.joint_used & ~made)


def joints(project: Project) -> Family:
    """Joints stay in their zones, and clear of every seat, cup and finger."""
    if project.sections is None or project.sections.joints[1] == 0:
        return NO_FAMILY
    section, ids = project.sections, [hole.id for hole in project.holes]
    numbers = range(1, section.joints[1] + 1)
    clear = section.joint_clearance_mm
    made = np.array([number - 1 in section.locked_joints for number in numbers])
    open_ = ~(made[:, None] & np.array([hole.locked for hole in project.holes])[None, :])
    items = [
        *(Constraint(f"joint_zone_low.{n}", f"joint {n} lies inside its zone, not nearer the reed") for n in numbers),
        *(Constraint(f"joint_zone_high.{n}", f"joint {n} lies inside its zone, not nearer the bell") for n in numbers),
        *(
            Constraint(f"joint.{n}-{name}", f"joint {n} leaves {clear:g} mm to what covers {name}")
            for n in numbers
            for name in ids
        ),
    ]

    def values(at: Geometry) -> Array:
        place, used = at.layout.joint_mm, at.joint_used
        zone, side = at.layout.choice.joint_zone, 2.0 * at.layout.choice.joint_above - 1.0
        half = 0.5 * (at.joint_length[:, None] + at.cover_mm)
        apart = (at.layout.position_mm - place[:, None]) * side
        lacking = (half - apart + clear).reshape(-1)
        held = used & ~made
        wanted = np.concatenate([held, held, (used[:, None] & open_).reshape(-1)])
        return in_force(np.concatenate([zone[:, 0] - place, place - zone[:, 1], lacking]), wanted)

    beside, lacking_beside = _fingers_beside_joints(project, ~made)
    if not beside:
        return items, values
    return items + beside, lambda at: np.concatenate([values(at), lacking_beside(at)])


def _fingers_beside_joints(project: Project, free: np.ndarray) -> Family:
    """Joints that are still free (J,) clear of the fingers that rest on keys in rows, on whichever side of them."""
    places = row_places(project)
    fingers = np.array([number for number, place in enumerate(places) if place.key is not None], int)
    clear, breadth = project.sections.joint_clearance_mm if project.sections else 0.0, project.hand.finger_breadth_mm
    items = [
        Constraint(f"joint.{n}-{places[f].finger}", f"joint {n} leaves {clear:g} mm to {places[f].finger} in its row")
        for n in range(1, free.size + 1)
        for f in fingers
    ]

    def values(at: Geometry) -> Array:
        apart = smooth_size(at.row_fingers.position[fingers] - at.layout.joint_mm[:, None])
        lacking = 0.5 * (at.joint_length[:, None] + breadth) + clear - apart
        return in_force(lacking.reshape(-1), np.repeat(at.joint_used & free, fingers.size))

    return items, values
