"""Half profiles: each piece cut along its axis, the upper half, with where its holes lie."""

from optimizer.handoff.shapes.shape import Drawing, Piece
from optimizer.handoff.sheets.plan import LETTER, TEXT_MM, Plan
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


def profiles(drawing: Drawing) -> list[Plan]:
    """A half profile of each piece, in the sizes of the drawing."""
    return [_profile(drawing, piece) for piece in drawing.pieces]


def _profile(drawing: Drawing, piece: Piece) -> Plan:
    title = f"{drawing.instrument}, {piece.name}, {piece.sizing.state}: half profile"
    plan = Plan(f"profile-{piece.stem}", title, (SIZES[piece.sizing.state], TOLD))
    plan.closed("outline", [*piece.outside, *reversed(piece.inside)])
    plan.line("marks", (-5.0, 0.0), (piece.length_mm + 5.0, 0.0))
    _holes(plan, piece)
    for flat in piece.flats:
        half = flat.diameter_mm / 2.0
        plan.line("holes", (flat.z_mm - half, flat.top_mm), (flat.z_mm + half, flat.top_mm))
    _below(plan, piece)
    return plan


def _below(plan: Plan, piece: Piece) -> None:
    """Both ends and the length, below the axis; the words of the bell end a line lower where one line is too short."""
    reed, bell = (
        f"{end} end: diameter {2.0 * piece.outside[at][1]:.2f}, bore {2.0 * piece.inside[at][1]:.2f}"
        for end, at in (("reed", 0), ("bell", -1))
    )
    lower = 0.0 if LETTER * TEXT_MM * len(f"{reed}  {bell}") < piece.length_mm else 4.0
    plan.text((0.0, -5.0), reed)
    plan.text((piece.length_mm, -5.0 - lower), bell, anchor="end")
    plan.text((piece.length_mm / 2.0, -9.0 - lower), f"length {piece.length_mm:.2f} mm", anchor="middle")


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
