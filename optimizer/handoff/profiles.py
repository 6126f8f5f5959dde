"""Half profiles: each piece cut along its axis, the upper half, with where its holes lie."""

from optimizer.handoff.plan import Plan
from optimizer.handoff.shape import Drawing, Piece

STATES = {
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
    title = f"{drawing.instrument}, {piece.name}: half profile"
    plan = Plan(f"profile-{piece.number}", title, (STATES[piece.sizing.state], TOLD))
    plan.closed("outline", [*piece.outside, *reversed(piece.inside)])
    plan.line("marks", (-5.0, 0.0), (piece.length_mm + 5.0, 0.0))
    widest = max(radius for _, radius in piece.outside)
    for number, hole in enumerate(sorted(piece.holes, key=lambda hole: hole.z_mm)):
        wide = hole.bore_mm[0]
        plan.cross("centres", (hole.z_mm, hole.crown_mm), 1.5)
        for side in (-0.5, 0.5):
            bottom = hole.z_mm + side * hole.bore_mm[0], hole.crown_mm
            plan.line("holes", bottom, (hole.z_mm + side * hole.mouth_mm[0], hole.top_mm))
        y = widest + 4.0 + 9.0 * (number % 2)
        plan.line("marks", (hole.z_mm, hole.top_mm), (hole.z_mm, y - 1.0))
        plan.text((hole.z_mm, y + 3.2), f"{hole.id}  {wide:.2f}", anchor="middle")
        plan.text((hole.z_mm, y), f"{hole.z_mm:.2f}, {hole.azimuth_deg:g} deg", 2.0, anchor="middle")
    for flat in piece.flats:
        half = flat.diameter_mm / 2.0
        plan.line("holes", (flat.z_mm - half, flat.top_mm), (flat.z_mm + half, flat.top_mm))
    plan.text((0.0, -5.0), f"reed end: diameter {2.0 * piece.outside[0][1]:.2f}, bore {2.0 * piece.inside[0][1]:.2f}")
    end = f"bell end: diameter {2.0 * piece.outside[-1][1]:.2f}, bore {2.0 * piece.inside[-1][1]:.2f}"
    plan.text((piece.length_mm, -5.0), end, anchor="end")
    plan.text((piece.length_mm / 2.0, -9.0), f"length {piece.length_mm:.2f} mm", anchor="middle")
    return plan
