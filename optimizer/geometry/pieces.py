"""Pieces that joints part the body into: where they end, how long and wide they are, which holes each has."""

import numpy as np

from acoustics.arrays import Array
from acoustics.duals import value_of
from optimizer.geometry.measured_layout import Geometry


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


def existing(at: Geometry) -> np.ndarray:
    """Which pieces (J + 1,) there are."""
    return np.concatenate([[True], at.joint_used])


def piece_lengths(at: Geometry) -> Array:
    """Length of each piece [mm], half a joint added at each jointed end (J + 1,); 0 for none."""
    begin, end = at.once(piece_spans)
    return (end - begin) * existing(at)


def piece_extents(at: Geometry) -> Array:
    """How much room each piece takes up along the tubes (J + 1,) [mm]: its length, and of one with a bend what lies
    between its ends and the far side of the bend; 0 for none."""
    if at.fixed.fold.straight:
        return piece_lengths(at)
    fold, (begin, end) = at.fixed.fold, at.once(piece_spans)
    first, last = fold.depth(begin), fold.depth(end)
    low, high = np.minimum(first, last), np.maximum(first, last)
    for bend, within in zip(at.project.bends, _bends_within(at), strict=True):
        middle = np.array(0.5 * (bend.at_mm + bend.end_mm))
        turned, thick = fold.depth(middle), at.body_radius_at(middle)
        low = np.where(within, np.minimum(low, turned - thick), low)
        high = np.where(within, np.maximum(high, turned + thick), high)
    return (high - low) * existing(at)


def _bends_within(at: Geometry) -> np.ndarray:
    """Which pieces (J + 1,) each bend is a part of, (B, J + 1)."""
    begin, end = map(value_of, at.once(piece_spans))
    middles = np.array([0.5 * (bend.at_mm + bend.end_mm) for bend in at.project.bends])[:, None]
    return np.asarray((begin < middles) & (middles < end))


def piece_diameters(at: Geometry) -> Array:
    """Widest place of each piece [mm]: its body, the ring around its socket, or the tubes on both sides of its bend
    (J + 1,). Raised seats are left out."""
    widest = 2.0 * (at.bore.widest(*at.once(piece_spans)) + at.project.bore.wall_mm)
    widest = np.maximum(widest, np.concatenate([[0.0], at.joints.socket_outer]))
    for bend, within in zip(at.project.bends, _bends_within(at), strict=True):
        widest = widest + 2.0 * bend.radius_mm * within
    return widest


def holes_of_pieces(at: Geometry) -> list[list[str]]:
    """Ids of the holes on each piece that there is, counted from the reed; holes of the crook are on none."""
    ends, position = at.once(piece_ends), at.layout.position_mm
    count = 1 + int(np.sum(at.joint_used))
    piece = np.where(position < ends[0], -1, np.searchsorted(ends[1:count], position, side="right"))
    ids = np.array([hole.id for hole in at.project.holes])
    return [list(ids[piece == number]) for number in range(count)]
