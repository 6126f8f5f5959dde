"""Bands of a layout's notes as a drawing: a panel for each register, cents upward, notes by pitch."""

from optimizer.records.tolerance import NoteTolerance, ToleranceRecord
from optimizer.views.drawings.axes import Scale, multiples, round_above
from optimizer.views.drawings.canvas import INK, Canvas, Looks

WIDTH_MM, MARGIN, HEAD, PANEL_MM, GAP_MM = 297.0, 20.0, 34.0, 62.0, 20.0
BAR_MM = 4.2
MOST_GAP_MM = 14.0
PALE = "#6f7b80"


LOOKS: Looks = {
    "title": {"font_size": 6.0, "fill": INK, "font_weight": "bold"},
    "said": {"font_size": 3.6, "fill": INK},
    "panel": {"font_size": 3.4, "fill": INK, "font_weight": "bold"},
    "legend": {"font_size": 3.0, "fill": INK},
    "pale legend": {"font_size": 3.0, "fill": PALE},
    "figure": {"font_size": 2.8, "fill": PALE, "text_anchor": "end"},
    "name": {"font_size": 3.2, "fill": INK, "text_anchor": "middle"},
    "pale name": {"font_size": 3.2, "fill": PALE, "text_anchor": "middle"},
    "band": {"fill": "#b9d6cf", "stroke": "none"},
    "median": {"stroke": INK, "stroke_width": 0.5},
    "slopes": {"stroke": INK, "stroke_width": 0.25},
    "pale slopes": {"stroke": PALE, "stroke_width": 0.25},
    "dot": {"fill": INK, "stroke": INK, "stroke_width": 0.3},
    "pale dot": {"fill": PALE, "stroke": PALE, "stroke_width": 0.3},
    "axis": {"stroke": INK, "stroke_width": 0.25},
    "rule": {"stroke": "#dde3e1", "stroke_width": 0.25},
    "limit": {"stroke": "#b4543f", "stroke_width": 0.3, "stroke_dasharray": "1.5 1"},
}
"""Kinds of main notes; those of alternates are called pale."""


def tolerance_svg(record: ToleranceRecord) -> str:
    """The drawing as SVG text."""
    registers = sorted({note.register_number for note in record.notes})
    height = HEAD + len(registers) * (PANEL_MM + GAP_MM) + 4.0
    title = f"{record.instrument}, layout {record.layout}"
    sheet = Canvas(WIDTH_MM, height, f"{title}: bands of its notes", unit="mm", looks=LOOKS)
    sheet.text("title", (MARGIN, 12), title)
    chance = record.chance
    sheet.text(
        "said",
        (MARGIN, 18.5),
        f"All {chance.notes} main notes within +-{chance.within_cents:g} cents: {100 * chance.share:.0f} % of "
        f"{record.samples} draws (95 % confidence: {100 * chance.low:.0f} to {100 * chance.high:.0f} %)",
    )
    _legend(sheet, record)
    top = _most_cents(record)
    for number, register in enumerate(registers):
        notes = [note for note in record.notes if note.register_number == register]
        y = HEAD + number * (PANEL_MM + GAP_MM)
        sheet.text("panel", (MARGIN, y - 2.5), f"register {register}, cents")
        _panel(sheet, notes, Scale(-top, top, y + PANEL_MM, y), chance.within_cents)
    return sheet.to_svg()


def _most_cents(record: ToleranceRecord) -> float:
    """How far the panels reach from 0, up and down."""
    ends = [abs(end) for note in record.notes for band in (note.drawn, note.linear) for end in (band.p05, band.p95)]
    return 1.08 * max([record.chance.within_cents, *ends, *(abs(note.cents) for note in record.notes), 1.0])


def _legend(sheet: Canvas, record: ToleranceRecord) -> None:
    y, x = 25.5, MARGIN
    sheet.polygon("band", [(x, y - 3), (x + 6, y - 3), (x + 6, y), (x, y)])
    sheet.text("legend", (x + 8, y), "5 to 95 % of the draws, median")
    sheet.line("median", (x, y - 1.5), (x + 6, y - 1.5))
    sheet.dimension("slopes", (x + 66, y - 1.5), (x + 72, y - 1.5))
    sheet.text("legend", (x + 74, y), "5 to 95 % by slopes")
    sheet.circle("dot", (x + 117, y - 1.5), 1.6)
    sheet.text("legend", (x + 120, y), "as the layout has it")
    sheet.line("limit", (x + 158, y - 1.5), (x + 164, y - 1.5))
    sheet.text("legend", (x + 166, y), f"+-{record.chance.within_cents:g} cents")
    sheet.text("pale legend", (x + 200, y), "alternates are set in grey")


def _panel(sheet: Canvas, notes: list[NoteTolerance], height: Scale, limit: float) -> None:
    """Notes of a register side by side, with a rule at each round number of cents, nine at most."""
    right = WIDTH_MM - MARGIN
    step = max(1.0, round_above(height.high / 5.0))
    for cents in multiples(step, height.low, height.high):
        sheet.line("rule" if cents else "axis", (MARGIN, height(cents)), (right, height(cents)))
        sheet.text("figure", (MARGIN - 2, height(cents) + 1), f"{cents:+g}" if cents else "0")
    for side in (-limit, limit):
        sheet.line("limit", (MARGIN, height(side)), (right, height(side)))
    gap = min((right - MARGIN) / len(notes), MOST_GAP_MM)
    for number, note in enumerate(notes):
        x = MARGIN + (number + 0.5) * gap
        _note(sheet, x, height, note)
        sheet.text(_kind("name", note), (x, height.start + 5), note.written)


def _note(sheet: Canvas, x: float, height: Scale, note: NoteTolerance) -> None:
    half, drawn, linear = BAR_MM / 2, note.drawn, note.linear
    low, high = height(drawn.p05), height(drawn.p95)
    sheet.polygon("band", [(x - half, low), (x + half, low), (x + half, high), (x - half, high)])
    sheet.line("median", (x - half, height(drawn.p50)), (x + half, height(drawn.p50)))
    sheet.line(_kind("slopes", note), (x, height(linear.p05)), (x, height(linear.p95)))
    for end in (linear.p05, linear.p95):
        sheet.line(_kind("slopes", note), (x - 0.35 * half, height(end)), (x + 0.35 * half, height(end)))
    sheet.circle(_kind("dot", note), (x, height(note.cents)), 1.5)


def _kind(kind: str, note: NoteTolerance) -> str:
    return f"pale {kind}" if note.alternate else kind
