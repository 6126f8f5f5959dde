"""Plans as a PDF at 1:1, its pages as `sheets.py` lays them out."""

import io
from collections.abc import Iterable
from typing import Any

from optimizer.handoff.sheets.paper import A4, Paper, Sheet, crossings, furniture, sheets_of
from optimizer.handoff.sheets.plan import Line, Plan, Point, Round, Shape

POINTS = 72.0 / 25.4
"""Points of a PDF in a millimetre."""

PENS = {"outline": (0.3, 0.0), "holes": (0.25, 0.0), "centres": (0.15, 0.0), "marks": (0.15, 0.45), "text": (0.1, 0.0)}
"""How wide lines of a layer are [mm], and how grey, 0 for black."""

CAPITAL = 0.718
"""Height of a capital over the size of its font, of Helvetica."""

ENCODING = "cp1252"
"""What the font, one of those that every reader of PDF has, can write; anything else becomes a question mark."""


def pdf_bytes(plans: Iterable[Plan], title: str, foot: str, on: Paper = A4) -> bytes:
    """Pages of plans as the bytes of a file, the same for the same plans.

    Parameters
    ----------
    plans : one after the other
    title : of the document
    foot : stands below each page
    on : paper
    """
    from reportlab.pdfgen.canvas import Canvas

    stream = io.BytesIO()
    paper = Canvas(stream, pagesize=tuple(side * POINTS for side in on.page_mm), invariant=1)
    paper.setTitle(title)
    paper.setViewerPreference("PrintScaling", "None")
    for plan in plans:
        for sheet in sheets_of(plan.extent, on):
            _page(paper, plan, sheet, foot)
            paper.showPage()
    paper.save()
    return stream.getvalue()


def _page(paper: Any, plan: Plan, sheet: Sheet, foot: str) -> None:
    x, y = sheet.origin
    extent = plan.extent
    _draw_all(paper, furniture(plan, sheet, foot), (0.0, 0.0))
    paper.saveState()
    window = paper.beginPath()
    left, bottom, right, top = sheet.paper.window
    window.rect(*(each * POINTS for each in (left, bottom, right - left, top - bottom)))
    paper.clipPath(window, stroke=0, fill=0)
    _draw_all(paper, plan.shapes, (x - extent.left, y - extent.bottom))
    paper.restoreState()
    _draw_all(paper, crossings(sheet), (0.0, 0.0))


def _draw_all(paper: Any, shapes: Iterable[Shape], shift: Point) -> None:
    for shape in shapes:
        width, grey = PENS[shape.layer]
        paper.setLineWidth(width * POINTS)
        paper.setStrokeGray(grey)
        _draw(paper, shape, shift)


def _draw(paper: Any, shape: Shape, shift: Point) -> None:
    def at(point: Point) -> Point:
        return (point[0] + shift[0]) * POINTS, (point[1] + shift[1]) * POINTS

    if isinstance(shape, Line):
        path = paper.beginPath()
        path.moveTo(*at(shape.points[0]))
        for point in shape.points[1:]:
            path.lineTo(*at(point))
        if shape.closed:
            path.close()
        paper.drawPath(path, stroke=1, fill=0)
    elif isinstance(shape, Round):
        paper.circle(*at(shape.centre), shape.diameter_mm / 2.0 * POINTS, stroke=1, fill=0)
    else:
        paper.setFont("Helvetica", shape.height_mm * POINTS / CAPITAL)
        write = {"start": paper.drawString, "middle": paper.drawCentredString, "end": paper.drawRightString}
        write[shape.anchor](*at(shape.at), shape.words.encode(ENCODING, "replace").decode(ENCODING))
