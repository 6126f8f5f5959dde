"""A drawing of the test coupon on A4, at 1:1: its pieces cut open along the bore, a mark at everything to be gauged,
how to print and to gauge it."""

from collections.abc import Sequence

from optimizer import cautions
from optimizer.handoff.coupon.coupon_shape import Coupon, Part
from optimizer.handoff.shapes.shape import Piece
from optimizer.project.printer import Printer
from optimizer.views.drawings.axes import RULER_LOOKS, ruler
from optimizer.views.drawings.canvas import INK, Canvas, Looks

WIDTH_MM, HEIGHT_MM, MARGIN = 210.0, 297.0, 12.0
PALE = "#6f7b80"
LOOKS: Looks = {
    "title": {"font_size": 6.0, "fill": INK, "font_weight": "bold"},
    "step": {"font_size": 2.8, "fill": INK},
    "caution": {"font_size": 2.5, "fill": PALE},
    "name": {"font_size": 3.2, "fill": INK, "font_weight": "bold"},
    "mark": {"font_size": 2.1, "fill": INK},
    "length": {"font_size": 2.6, "fill": PALE},
    "wall": {"fill": "#e3e9e6", "stroke": INK, "stroke_width": 0.2},
    "hole": {"fill": "#ffffff", "stroke": INK, "stroke_width": 0.2},
    "leader": {"stroke": PALE, "stroke_width": 0.1},
    "tick": {"stroke": INK, "stroke_width": 0.2},
    **RULER_LOOKS,
}

GAP_MM = 2.9
"""From one mark's line to the next."""

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

PLACES = {"pipe": (45.0, 0.0), "steps": (148.0, 0.0), "sleeve": (148.0, 62.0)}
"""Where each piece's axis stands across the sheet, and how far its foot stands above the lowest [mm]."""


def coupon_svg(coupon: Coupon, printer: Printer) -> str:
    """The drawing as SVG text.

    Parameters
    ----------
    coupon : to be drawn
    printer : that is tested
    """
    sheet = Canvas(WIDTH_MM, HEIGHT_MM, f"{coupon.drawing.instrument}, A4, print at 100 %", unit="mm", looks=LOOKS)
    sheet.text("title", (MARGIN, 14), coupon.drawing.instrument)
    sheet.text(
        "step", (MARGIN, 19), f"{printer.name}, {printer.orientation}; marks are those of the table, sizes in mm"
    )
    y = 24.5
    for number, step in enumerate(STEPS, start=1):
        y = sheet.paragraph("step", (MARGIN, y), f"{number}. {step}", WIDTH_MM - 2 * MARGIN) + 0.6
    ruler(sheet, (MARGIN, y + 3), 100, "ruler-100mm")
    sheet.text("length", (MARGIN + 104, y + 4), "100 mm; the drawing is at 1:1")
    for piece in coupon.drawing.pieces:
        across, above = PLACES[piece.name]
        _piece(sheet, piece, [part for part in coupon.parts if part.piece == piece.name], across, 262.0 - above)
    y = 270.0
    for caution in (cautions.PRINTING, cautions.WORKING):
        y = sheet.paragraph("caution", (MARGIN, y), caution, WIDTH_MM - 2 * MARGIN) + 0.8
    return sheet.to_svg()


def _piece(sheet: Canvas, piece: Piece, parts: Sequence[Part], across: float, foot: float) -> None:
    """A piece cut open, its foot down, with a line to the mark of each thing on it."""
    for side in (-1.0, 1.0):
        outline = [*piece.outside, *reversed(piece.inside)]
        sheet.polygon("wall", [(across + side * radius, foot - z) for z, radius in outline])
    for hole in piece.holes:
        if hole.azimuth_deg == 0.0:
            sheet.circle("hole", (across, foot - hole.z_mm), hole.round_bore_mm)
    sheet.text("name", (across - 8.0, foot + 4.5), piece.name)
    right = across + max(radius for _, radius in piece.outside) + 4.0
    level = foot + 2.0
    for part in sorted(parts, key=lambda each: (each.z_mm, each.where)):
        place = foot - part.z_mm
        level = min(place, level - GAP_MM)
        sheet.line("leader", (across, place), (right, level))
        size = f", {part.drawn_mm:g}" if part.drawn_mm else ""
        sheet.text("mark", (right + 0.8, level + 0.7), f"{part.where}: {part.what}{size}")
