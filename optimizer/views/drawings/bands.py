"""Bands of a layout's notes as a drawing: a panel for each register, cents upward, notes by pitch."""

import math

from optimizer.records.tolerance import NoteTolerance, ToleranceRecord
from optimizer.views.drawings.canvas import INK, Sheet

WIDTH_MM, MARGIN, HEAD, PANEL_MM, GAP_MM = 297.0, 20.0, 34.0, 62.0, 20.0
BAND, PALE, RULE, LIMIT = "#b9d6cf", "#6f7b80", "#dde3e1", "#b4543f"
BAR_MM = 4.2
MOST_GAP_MM = 14.0
RULES = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
MOST_RULES = 9


def tolerance_svg(record: ToleranceRecord) -> str:
    """The drawing as SVG text."""
    registers = sorted({note.register_number for note in record.notes})
    height = HEAD + len(registers) * (PANEL_MM + GAP_MM) + 4.0
    sheet = Sheet(WIDTH_MM, height, f"{record.instrument}, layout {record.layout}: bands of its notes")
    sheet.text((MARGIN, 12), f"{record.instrument}, layout {record.layout}", 6.0, font_weight="bold")
    chance = record.chance
    sheet.text(
        (MARGIN, 18.5),
        f"All {chance.notes} main notes within +-{chance.within_cents:g} cents: {100 * chance.share:.0f} % of "
        f"{record.samples} draws (95 % confidence: {100 * chance.low:.0f} to {100 * chance.high:.0f} %)",
        3.6,
    )
    _legend(sheet, record)
    top = _most_cents(record)
    for number, register in enumerate(registers):
        notes = [note for note in record.notes if note.register_number == register]
        _panel(sheet, HEAD + number * (PANEL_MM + GAP_MM), f"register {register}", notes, top, chance.within_cents)
    return sheet.to_svg()


def _most_cents(record: ToleranceRecord) -> float:
    """How far the panels reach from 0, up and down."""
    ends = [abs(end) for note in record.notes for band in (note.drawn, note.linear) for end in (band.p05, band.p95)]
    return 1.08 * max([record.chance.within_cents, *ends, *(abs(note.cents) for note in record.notes), 1.0])


def _legend(sheet: Sheet, record: ToleranceRecord) -> None:
    y, x = 25.5, MARGIN
    sheet.polygon([(x, y - 3), (x + 6, y - 3), (x + 6, y), (x, y)], BAND, BAND)
    sheet.text((x + 8, y), "5 to 95 % of the draws, median", 3.0)
    sheet.line((x, y - 1.5), (x + 6, y - 1.5), INK, 0.5)
    sheet.line((x + 66, y - 1.5), (x + 72, y - 1.5), INK, 0.3)
    for end in (66, 72):
        sheet.line((x + end, y - 3), (x + end, y), INK, 0.3)
    sheet.text((x + 74, y), "5 to 95 % by slopes", 3.0)
    sheet.circle((x + 117, y - 1.5), 1.6, INK)
    sheet.text((x + 120, y), "as the layout has it", 3.0)
    sheet.line((x + 158, y - 1.5), (x + 164, y - 1.5), LIMIT, 0.3, stroke_dasharray="1.5 1")
    sheet.text((x + 166, y), f"+-{record.chance.within_cents:g} cents", 3.0)
    sheet.text((x + 200, y), "alternates are set in grey", 3.0, PALE)


def _panel(sheet: Sheet, y: float, title: str, notes: list[NoteTolerance], top: float, limit: float) -> None:
    middle, scale = y + PANEL_MM / 2, 0.5 * PANEL_MM / top
    right = WIDTH_MM - MARGIN
    step = next((rule for rule in RULES if 2 * math.floor(top / rule) + 1 <= MOST_RULES), RULES[-1])
    for count in range(-math.floor(top / step), math.floor(top / step) + 1):
        place = middle - count * step * scale
        sheet.line((MARGIN, place), (right, place), INK if count == 0 else RULE, 0.25)
        sheet.text((MARGIN - 2, place + 1), f"{count * step:+d}" if count else "0", 2.8, PALE, text_anchor="end")
    for side in (-limit, limit):
        place = middle - side * scale
        sheet.line((MARGIN, place), (right, place), LIMIT, 0.3, stroke_dasharray="1.5 1")
    sheet.text((MARGIN, y - 2.5), f"{title}, cents", 3.4, font_weight="bold")
    gap = min((right - MARGIN) / len(notes), MOST_GAP_MM)
    for number, note in enumerate(notes):
        _note(sheet, MARGIN + (number + 0.5) * gap, middle, scale, note)
        colour = PALE if note.alternate else INK
        sheet.text((MARGIN + (number + 0.5) * gap, y + PANEL_MM + 5), note.written, 3.2, colour, text_anchor="middle")


def _note(sheet: Sheet, x: float, middle: float, scale: float, note: NoteTolerance) -> None:
    half, drawn, linear = BAR_MM / 2, note.drawn, note.linear

    def at(cents: float) -> float:
        return middle - cents * scale

    low, high = at(drawn.p05), at(drawn.p95)
    sheet.polygon([(x - half, low), (x + half, low), (x + half, high), (x - half, high)], BAND, BAND, 0.0)
    sheet.line((x - half, at(drawn.p50)), (x + half, at(drawn.p50)), INK, 0.5)
    colour = PALE if note.alternate else INK
    sheet.line((x, at(linear.p05)), (x, at(linear.p95)), colour, 0.25)
    for end in (linear.p05, linear.p95):
        sheet.line((x - 0.35 * half, at(end)), (x + 0.35 * half, at(end)), colour, 0.25)
    sheet.circle((x, at(note.cents)), 1.5, colour, colour)
