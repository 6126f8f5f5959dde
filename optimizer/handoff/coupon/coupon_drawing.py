"""Plans of the test coupon at 1:1: its pieces cut open along the bore, a mark at everything to be gauged; and how to
print and gauge it."""

from collections.abc import Sequence

from optimizer import cautions
from optimizer.handoff.coupon.coupon_shape import Coupon, Part
from optimizer.handoff.shapes.shape import Piece
from optimizer.handoff.sheets.paper import lines_of
from optimizer.handoff.sheets.plan import TEXT_MM, Plan
from optimizer.project.printer import Printer

GAP_MM = 2.9
"""From one mark's line to the next."""

MARK_MM, LINE_MM, WIDE_MM = 1.8, 4.6, 250.0

STEPS = (
    "Print it as the instrument's pieces are printed: standing as drawn, the same material, walls, layers and "
    "profile of the slicer, at 100 %, with no compensation for holes or shrinkage. Three prints tell more than one.",
    "Gauge it cold, the day after, without sanding. Holes: calipers along and around where jaws go in, their flats "
    "measured; pins or drill shanks below 5 mm, the thickest that goes and the thinnest that does not. Read twice.",
    "l: from the pipe's lower end up to there. Tenon into the sleeve: with no ring, from the wide end, how the socket "
    "of each clearance (c1 the narrowest, deepest) takes it; then with a ring in one groove after the other (g1 next "
    "to the shoulder), into the plain end: tight, fits (slides by hand and seals) or loose.",
    "s1: face the seat little by little until a pad or a flat plate on it seals; write what was taken off in all.",
)

PLACES = {"pipe": (30.0, 0.0), "steps": (125.0, 0.0), "sleeve": (125.0, 62.0)}
"""Where each piece's axis stands across the sheet, and how far its foot stands above the lowest [mm]."""


def coupon_plans(coupon: Coupon, printer: Printer) -> list[Plan]:
    """What is where, and how to go about it.

    Parameters
    ----------
    coupon : to be drawn
    printer : that is tested
    """
    of = coupon.drawing.instrument
    where = f"{printer.name}, {printer.orientation}; marks are those of the table, sizes in mm."
    pieces, how = Plan("coupon", of, (where,)), Plan("how", f"{of}: how to print and gauge it", (where,))
    for piece in coupon.drawing.pieces:
        _piece(pieces, piece, [part for part in coupon.parts if part.piece == piece.name], *PLACES[piece.name])
    sentences = [f"{number}. {step}" for number, step in enumerate(STEPS, start=1)]
    y = 0.0
    for said in (*sentences, cautions.PRINTING, cautions.WORKING):
        for line in lines_of((said,), WIDE_MM, TEXT_MM):
            how.text((0.0, y), line)
            y -= LINE_MM
        y -= 0.5 * LINE_MM
    return [pieces, how]


def _piece(plan: Plan, piece: Piece, parts: Sequence[Part], across: float, foot: float) -> None:
    """A piece cut open, its foot down, with a line to the mark of each thing on it."""
    for side in (-1.0, 1.0):
        outline = [*piece.outside, *reversed(piece.inside)]
        plan.closed("outline", [(across + side * radius, foot + z) for z, radius in outline])
    for hole in piece.holes:
        if hole.azimuth_deg == 0.0:
            plan.circle("holes", (across, foot + hole.z_mm), hole.round_bore_mm)
    plan.text((across, foot - 5.0), piece.name, anchor="middle")
    right = across + max(radius for _, radius in piece.outside) + 4.0
    level = foot - 2.0
    for part in sorted(parts, key=lambda each: (each.z_mm, each.where)):
        place = foot + part.z_mm
        level = max(place, level + GAP_MM)
        plan.line("marks", (across, place), (right, level))
        size = f", {part.drawn_mm:g}" if part.drawn_mm else ""
        plan.text((right + 0.8, level - 0.7), f"{part.where}: {part.what}{size}", MARK_MM)
