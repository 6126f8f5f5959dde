"""Half profiles: each piece cut along its axis, the upper half, with where its holes lie; of a piece with bends, each
tube so, and each bend cut in its own plane."""

import math
from collections.abc import Sequence
from itertools import zip_longest

import numpy as np

from optimizer.geometry.fold import Fold
from optimizer.handoff.shapes.bent import stepped, straight_parts
from optimizer.handoff.shapes.outline import part, radius_at
from optimizer.handoff.shapes.shape import Drawing, Piece, PieceBend
from optimizer.handoff.sheets.plan import LETTER, TEXT_MM, Plan, Point
from optimizer.views.drawings.body import CHARACTER, in_lanes

SMALL_MM, LANE_MM = 2.0, 9.0

SIZES = {
    "finished": "Finished sizes: what the cold, finished piece measures.",
    "printed": "Sizes as they go to the printer, enlarged once: slice at 100 %.",
    "printed to ream": "Sizes as they go to the printer, enlarged once, holes narrower for reaming: slice at 100 %.",
}
"""What the sizes of a state are, for those who read a file."""

TOLD = (
    "The axis is the line below; the reed end is on the left. Crosses: middles of holes; upright lines: their width "
    "along; short lines above: seats."
)


BEND_TOLD = (
    "Cut in the plane of its centre line. Upright lines: where the bend begins, below, and ends, above; the cross is "
    "what it turns about."
)
STUB_MM = 15.0
"""So much of the tubes on either side of a bend is drawn with it."""

BEND_STEPS = 90


def profiles(drawing: Drawing) -> list[Plan]:
    """Half profiles of all pieces, in the sizes of the drawing."""
    return [plan for piece in drawing.pieces for plan in profiles_of(drawing, piece)]


def profiles_of(drawing: Drawing, piece: Piece) -> list[Plan]:
    """The half profile of a piece; of one with bends, that of each of its tubes, and each bend as it is in its plane.

    Parameters
    ----------
    drawing : whose piece it is
    piece : which
    """
    if not piece.bends:
        return [_profile(drawing, piece)]
    first = int(Fold(drawing.bends).tube(np.array(piece.begin_mm)))
    names = [bend.id for bend in drawing.bends[first : first + len(piece.bends)]]
    plans = [
        _tube(drawing, piece, first + number, names, tube, begin)
        for number, (begin, tube) in enumerate(straight_parts(piece), start=1)
    ]
    bends = [_bend(drawing, piece, bend, name) for bend, name in zip(piece.bends, names, strict=True)]
    return [plan for both in zip_longest(plans, bends) for plan in both if plan is not None]


def _profile(drawing: Drawing, piece: Piece) -> Plan:
    title = f"{drawing.instrument}, {piece.name}, {piece.sizing.state}: half profile"
    plan = Plan(f"profile-{piece.stem}", title, (SIZES[piece.sizing.state], TOLD))
    _drawn(plan, piece, ("reed end", "bell end"))
    return plan


def _tube(drawing: Drawing, piece: Piece, number: int, bends: Sequence[str], tube: Piece, begin_mm: float) -> Plan:
    """The half profile of a straight tube of a piece; number: of all the body's, from the reed."""
    title = f"{drawing.instrument}, {piece.name}, {piece.sizing.state}: half profile of tube {number}"
    lies = (
        f"The left end lies {begin_mm:.2f} mm from the piece's reed end along the centre line: add that to places here "
        "for those along the piece."
    )
    plan = Plan(f"profile-{piece.stem}-tube-{number}", title, (SIZES[piece.sizing.state], TOLD, lies))
    ends = ["reed end", *(f"bend {name}" for name in bends for _ in range(2)), "bell end"]
    at = 2 * sum(bend.z_mm < begin_mm for bend in piece.bends)
    _drawn(plan, tube, (ends[at], ends[at + 1]))
    return plan


def _drawn(plan: Plan, piece: Piece, ends: tuple[str, str]) -> None:
    """A straight piece or tube: its outline, what lies on it, and what its ends are called."""
    plan.closed("outline", [*piece.outside, *reversed(piece.inside)])
    plan.line("marks", (-5.0, 0.0), (piece.length_mm + 5.0, 0.0))
    _holes(plan, piece)
    for flat in piece.flats:
        half = flat.diameter_mm / 2.0
        plan.line("holes", (flat.z_mm - half, flat.top_mm), (flat.z_mm + half, flat.top_mm))
    _below(plan, piece, ends)


def _below(plan: Plan, piece: Piece, ends: tuple[str, str]) -> None:
    """Both ends and the length, below the axis; the words of the second end a line lower where one line is too
    short."""
    reed, bell = (
        f"{end}: diameter {2.0 * piece.outside[at][1]:.2f}, bore {2.0 * piece.inside[at][1]:.2f}"
        for end, at in zip(ends, (0, -1), strict=True)
    )
    lower = 0.0 if LETTER * TEXT_MM * len(f"{reed}  {bell}") < piece.length_mm else 4.0
    plan.text((0.0, -5.0), reed)
    plan.text((piece.length_mm, -5.0 - lower), bell, anchor="end")
    plan.text((piece.length_mm / 2.0, -9.0 - lower), f"length {piece.length_mm:.2f} mm", anchor="middle")


def _bend(drawing: Drawing, piece: Piece, bend: PieceBend, name: str) -> Plan:
    """A bend cut in its own plane, both walls, with a little of the tubes."""
    title = f"{drawing.instrument}, {piece.name}, {piece.sizing.state}: bend {name}"
    plan = Plan(f"profile-{piece.stem}-bend-{name}", title, (SIZES[piece.sizing.state], BEND_TOLD))
    low, high = max(bend.z_mm - STUB_MM, 0.0), min(bend.end_mm + STUB_MM, piece.length_mm)
    outside, inside = (part(stepped(line, (bend,), BEND_STEPS), low, high) for line in (piece.outside, piece.inside))
    for side in (-1.0, 1.0):
        plan.closed("outline", [_in_plane(bend, z, side * radius) for z, radius in (*outside, *reversed(inside))])
    plan.line("marks", *(_in_plane(bend, z, 0.0) for z, _ in inside))
    plan.cross("centres", (0.0, bend.radius_mm), 2.0)
    for place in (bend.z_mm, bend.end_mm):
        over = radius_at(piece.outside, place) + 3.0
        plan.line("marks", _in_plane(bend, place, -over), _in_plane(bend, place, over))
    begins, ends = (
        f"{end} {place:.2f} mm along the piece: diameter {2.0 * radius_at(piece.outside, place):.2f}, bore "
        f"{2.0 * radius_at(piece.inside, place):.2f}"
        for end, place in (("begins", bend.z_mm), ("ends", bend.end_mm))
    )
    foot = -radius_at(piece.outside, bend.z_mm) - 8.0
    centre = f"centre line: radius {bend.radius_mm:.2f}, {bend.length_mm:.2f} mm long"
    toward = f"the next tube lies toward {bend.toward_deg:.6g} deg on the piece"
    for line, words in enumerate((begins, ends, centre, toward)):
        plan.text((-STUB_MM, foot - 4.5 * line), words)
    return plan


def _in_plane(bend: PieceBend, place_mm: float, inward_mm: float) -> Point:
    """Where a place so far inward of the centre line lies in the plane of a bend, which begins at 0, 0 [mm]."""
    along = place_mm - bend.z_mm
    angle = min(max(along / bend.radius_mm, 0.0), math.pi)
    beyond = min(along, 0.0) - max(along - bend.length_mm, 0.0)
    from_middle = bend.radius_mm - inward_mm
    return from_middle * math.sin(angle) + beyond, bend.radius_mm - from_middle * math.cos(angle)


def _holes(plan: Plan, piece: Piece) -> None:
    """Where holes lie, how wide they are along the piece, and labels in as many lanes as keep them apart."""
    lowest = piece.beyond_mm + 3.0
    places = {f"{hole.z_mm:.2f}, {hole.azimuth_deg:g} deg": hole for hole in piece.holes}
    lanes = in_lanes([(hole.z_mm, 0.0, words) for words, hole in places.items()], LETTER * SMALL_MM / CHARACTER)
    for number, lane in enumerate(lanes):
        y = lowest + LANE_MM * number
        for _, _, words in lane:
            hole = places[words]
            plan.cross("centres", (hole.z_mm, hole.crown_mm), 1.5)
            for side in (-0.5, 0.5):
                foot = hole.z_mm + side * hole.bore_mm[0], hole.crown_mm
                plan.line("holes", foot, (hole.z_mm + side * hole.mouth_mm[0], hole.top_mm))
            plan.line("marks", (hole.z_mm, hole.top_mm), (hole.z_mm, y - 1.0))
            plan.text((hole.z_mm, y + 3.2), f"{hole.id}  {hole.bore_mm[0]:.2f}", anchor="middle")
            plan.text((hole.z_mm, y), words, SMALL_MM, anchor="middle")
