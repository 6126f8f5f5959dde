"""Limits of the body's pieces: how long each may be, and what stays clear of the joints between them.

A joint is the length over which one piece's tenon sits in the next one's socket; it is placed by its middle. Joints
count from the reed. Which holes lie on which side of a joint is decided before a solve (`Choice.joint_above`), so that
the limit is a smooth one: the joint keeps to its gap, and the solve moves gap and joint.
"""

import numpy as np

from acoustics.arrays import Array
from optimizer.geometry.measured import Geometry
from optimizer.limits.family import NO_FAMILY, Constraint, Family, in_force
from optimizer.project.model import Project


def piece_ends(at: Geometry) -> Array:
    """Where the pieces meet [mm]: the crook's end, the joints' middles, the bell end (J + 2,).

    Joints that are not used lie at the bell end.
    """
    joints = at.layout.joint_mm
    if not at.joint_used.all():
        joints = np.where(at.joint_used, joints, at.layout.end_mm)
    return np.concatenate([[at.project.bore.crook_end_mm], joints, np.atleast_1d(at.layout.end_mm)])


def piece_spans(at: Geometry) -> tuple[Array, Array]:
    """Where each piece begins and ends [mm], half a joint beyond each jointed end (J + 1,)."""
    ends, beyond = at.once(piece_ends), np.concatenate([[0.0], at.joint_length * (0.5 * at.joint_used), [0.0]])
    return ends[:-1] - beyond[:-1], ends[1:] + beyond[1:]


def _exist(at: Geometry) -> np.ndarray:
    """Which pieces (J + 1,) there are."""
    return np.concatenate([[True], at.joint_used])


def piece_lengths(at: Geometry) -> Array:
    """Length of each piece [mm], half a joint added at each jointed end (J + 1,); 0 for none."""
    begin, end = at.once(piece_spans)
    return (end - begin) * _exist(at)


def piece_diameters(at: Geometry) -> Array:
    """Widest place of each piece [mm]: its body, or the ring around its socket (J + 1,). Raised seats are left out."""
    widest = 2.0 * (at.fixed.bore.widest(*at.once(piece_spans)) * at.layout.bore_scale + at.project.bore.wall_mm)
    return np.maximum(widest, np.concatenate([[0.0], at.joints.socket_outer]))


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
        lengths, wanted = piece_lengths(at), _exist(at) & new
        return in_force(np.concatenate([lengths - most, least - lengths]), np.concatenate([wanted, wanted]))

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
    return items, lambda at: in_force(piece_diameters(at) - most, _exist(at) & new)


def _widest_mm(project: Project) -> float:
    """A diameter that no piece can pass [mm]."""
    bore, section = project.bore, project.sections
    (s0, d0), (s1, d1) = bore.points_mm[-2:]
    end = d0 + (d1 - d0) * (bore.end_span_mm[1] - s0) / (s1 - s0)
    widest = max(end, *(diameter for _, diameter in bore.points_mm)) * bore.diameter_scale[1]
    ring = section.tenon_wall_mm + section.radial_clearance_mm + section.socket_wall_mm if section else 0.0
    return widest + 2.0 * max(bore.wall_mm, ring)


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

    return items, values


def holes_of_pieces(at: Geometry) -> list[list[str]]:
    """Ids of the holes on each piece that there is, counted from the reed; holes of the crook are on none."""
    ends, position = at.once(piece_ends), at.layout.position_mm
    count = 1 + int(np.sum(at.joint_used))
    piece = np.where(position < ends[0], -1, np.searchsorted(ends[1:count], position, side="right"))
    ids = np.array([hole.id for hole in at.project.holes])
    return [list(ids[piece == number]) for number in range(count)]
