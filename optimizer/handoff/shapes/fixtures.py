"""What stands on a piece or is let into it: flats around holes, feet of posts. Finished sizes in millimetres.

A hole has the flat of its record. One without, whose chimney is longer or shorter than the wall, gets one all the same,
raised or sunk, 2 mm wide around it: nothing else would give it that chimney. Feet are discs as wide as the post and
1 mm high; a foot that would stand on a hole, a flat, a joint or another foot is not drawn, and
that is told.

Width of such a flat, height of feet: common practice, no source.
"""

from collections.abc import Iterable, Iterator

from optimizer.handoff.shapes.discs import Disc, foot_height_mm, gap_mm
from optimizer.handoff.shapes.outline import Outline, radius_at
from optimizer.handoff.shapes.parts import Part
from optimizer.handoff.shapes.shape import Flat, Foot, Hole
from optimizer.records.keys import AxleRecord, PostRecord
from optimizer.records.layout import HoleRecord, LayoutRecord

RIM_MM = 2.0
FOOT_MM = 1.0
SAME_MM = 0.05
"""A chimney within that of the wall is the wall's."""


def hole_shape(hole: HoleRecord, begin_mm: float, bore: Outline, chimney_mm: float | None = None) -> Hole:
    """A finished hole in the frame of what begins so far along the instrument.

    Parameters
    ----------
    hole : as recorded
    begin_mm : where z = 0 lies along the instrument [mm]
    bore : of the instrument, radii [mm]
    chimney_mm : other than the record's; the crook's wall [mm]
    """
    crown = radius_at(bore, hole.position_mm)
    return Hole(
        id=hole.id,
        role=hole.role,
        z_mm=hole.position_mm - begin_mm,
        azimuth_deg=hole.azimuth_deg,
        crown_mm=crown,
        top_mm=crown + (hole.chimney_mm if chimney_mm is None else chimney_mm),
        bore_mm=(hole.diameter_mm, hole.diameter_mm),
        mouth_mm=(hole.top_diameter_mm, hole.top_diameter_mm),
    )


def flat_of(hole: HoleRecord, shape: Hole, wall_mm: float) -> Flat | None:
    """The flat that a hole ends in; none where it ends in the round body."""
    more = hole.chimney_mm - wall_mm
    if hole.seat is None and abs(more) <= SAME_MM:
        return None
    wide = hole.seat.outer_diameter_mm if hole.seat else hole.top_diameter_mm + 2.0 * RIM_MM
    stated = hole.seat is not None
    return Flat(hole.id, shape.z_mm, shape.azimuth_deg, wide, shape.top_mm, more < 0.0, stated)


def feet_on(
    record: LayoutRecord, part: Part, outside: Outline, room: tuple[float, float], taken: Iterable[Disc]
) -> tuple[list[Foot], list[str]]:
    """The feet on a piece, and a sentence for each that is not drawn.

    Parameters
    ----------
    record : whose keys have posts
    part : the piece
    outside : its outline [mm]
    room : between which places along it feet may stand [mm]
    taken : what is there already
    """
    feet, left_out, stands = list[Foot](), list[str](), list(taken)
    for key, number, post, axle in _posts_on(record, part):
        z, half = post.position_mm - part.begin_mm, 0.5 * axle.post_diameter_mm
        radius = radius_at(outside, z)
        foot = Foot(key, number, z, axle.azimuth_deg, axle.post_diameter_mm, radius + FOOT_MM)
        low = foot_height_mm(foot, radius)
        met = next((each.called for each in stands if gap_mm(foot, each, low) < 0.0), None)
        if not room[0] <= z - half <= z + half <= room[1]:
            met = "a joint or beyond an end"
        if met:
            shared = any(met == other.called for other in feet)
            what_then = "let one post carry both rods, or shift it" if shared else "shift the post"
            left_out.append(f"{foot.called}, {z:.1f} mm from the reed end, would stand on {met}: {what_then}")
        else:
            feet.append(foot)
            stands.append(foot)
    return feet, left_out


def _posts_on(record: LayoutRecord, part: Part) -> Iterator[tuple[str, int, PostRecord, AxleRecord]]:
    """Posts of keys that stand on a piece, with their numbers on their axle."""
    above, below = (0.5 * joint.length_mm if joint else 0.0 for joint in (part.above, part.below))
    start, end = part.begin_mm + above, part.end_mm - below
    for key in record.keys:
        for number, post in enumerate(key.axle.posts if key.axle else (), start=1):
            here = start <= post.position_mm < end if post.piece is None else post.piece == part.number
            if key.axle and here:
                yield key.id, number, post, key.axle
