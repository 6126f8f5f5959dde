"""How much plastic a layout's printed body takes. Reads records only.

Counted: the wall along the bore table from the end of the crook, tenons and sockets where pieces meet, less grooves and
holes. Left out: raised seats, posts, keys, the crook. The print is taken as solid (infill 100 %).
"""

import math
from itertools import pairwise

import numpy as np

from optimizer.records.comparison import PrintedBody
from optimizer.records.layout import BoreTable, HoleRecord, LayoutRecord
from optimizer.records.pieces import JointRecord

DENSITY_G_PER_CM3 = 1.24
"""PLA, data-sheet value, from memory."""


def printed_body(record: LayoutRecord, density_g_per_cm3: float = DENSITY_G_PER_CM3) -> PrintedBody:
    """Volume and mass of the body's print, finished sizes."""
    start, end = printed_span_mm(record)
    joints = [piece.joint for piece in record.pieces if piece.joint is not None]
    volume = wall_mm3(record.bore, start, end)
    volume += sum(_joint_mm3(record.bore, joint, start, end) for joint in joints)
    volume -= sum(hole_mm3(hole, record.bore.wall_mm) for hole in record.holes if start <= hole.position_mm <= end)
    return PrintedBody(
        from_mm=start,
        to_mm=end,
        volume_cm3=round(volume / 1000.0, 3),
        density_g_per_cm3=density_g_per_cm3,
        mass_g=round(volume / 1000.0 * density_g_per_cm3, 2),
    )


def printed_span_mm(record: LayoutRecord) -> tuple[float, float]:
    """From where to where the body is printed [mm]: the crook is not part of it."""
    return min(record.bore.crook_end_mm, record.bore.points_mm[-1][0]), record.bore.points_mm[-1][0]


def wall_mm3(bore: BoreTable, start_mm: float, end_mm: float) -> float:
    """Volume [mm3] of the wall between two places: a ring pi w (d + w) over each length, linear in d, so exact."""
    inside = [s for s, _ in bore.points_mm if start_mm < s < end_mm]
    places = [start_mm, *inside, end_mm]
    diameters = [bore_diameter_mm(bore, s) for s in places]
    w = bore.wall_mm
    return sum(
        math.pi * w * ((d0 + d1) / 2.0 + w) * (s1 - s0)
        for (s0, d0), (s1, d1) in pairwise(zip(places, diameters, strict=True))
    )


def bore_diameter_mm(bore: BoreTable, position_mm: float) -> float:
    """Diameter of the bore at a place [mm]."""
    positions, diameters = zip(*bore.points_mm, strict=True)
    return float(np.interp(position_mm, positions, diameters))


def hole_mm3(hole: HoleRecord, wall_mm: float) -> float:
    """Volume [mm3] that a hole takes out of the wall: its cone from the bore up to the body's surface."""
    share = min(1.0, wall_mm / hole.chimney_mm)
    d0 = hole.diameter_mm
    d1 = d0 + share * (hole.top_diameter_mm - d0)
    return math.pi / 12.0 * min(wall_mm, hole.chimney_mm) * (d0 * d0 + d0 * d1 + d1 * d1)


def _joint_mm3(bore: BoreTable, joint: JointRecord, start_mm: float, end_mm: float) -> float:
    """What a joint takes more than the plain wall it stands in place of [mm3]: rings of tenon and socket."""
    half = joint.length_mm / 2.0
    plain = wall_mm3(bore, max(start_mm, joint.at_mm - half), min(end_mm, joint.at_mm + half))
    tenon = _ring_mm2(joint.bore_diameter_mm, joint.tenon_diameter_mm) * joint.length_mm
    socket = _ring_mm2(joint.socket_diameter_mm, joint.socket_outer_diameter_mm) * joint.length_mm
    grooves = 0.0
    if joint.groove_diameter_mm is not None and joint.groove_width_mm is not None:
        grooves = joint.grooves * joint.groove_width_mm * _ring_mm2(joint.groove_diameter_mm, joint.tenon_diameter_mm)
    return tenon + socket - grooves - plain


def _ring_mm2(inner_mm: float, outer_mm: float) -> float:
    return math.pi / 4.0 * (outer_mm**2 - inner_mm**2)
