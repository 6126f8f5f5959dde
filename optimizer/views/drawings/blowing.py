"""How blowing moves notes, as a drawing: a line for each note, from its soft limit on, by how hard it is blown."""

from optimizer.records.blowing import BlowingRecord, BlownNote
from optimizer.views.drawings.axes import Scale, multiples, round_above
from optimizer.views.drawings.canvas import INK, Canvas, Looks

WIDTH_MM, LEFT, RIGHT, TOP, FOOT, ROW = 190.0, 24.0, 10.0, 30.0, 10.0, 8.0
COLOURS = {"soft": "#6fa3c4", "middle": "#2f6690", "loud": "#b4543f"}
LOOKS: Looks = {
    "title": {"font_size": 5.0, "fill": INK, "font_weight": "bold"},
    "said": {"font_size": 3.4, "fill": INK},
    "figure": {"font_size": 3.0, "fill": INK, "text_anchor": "middle"},
    "name": {"font_size": 3.6, "fill": INK, "text_anchor": "end"},
    "rule": {"stroke": "#dde3e1", "stroke_width": 0.25},
    "axis": {"stroke": INK, "stroke_width": 0.3},
    **{how: {"fill": colour, "stroke": "none"} for how, colour in COLOURS.items()},
}
LEAST_CENTS, THIN_MM = 5.0, 0.8


def blowing_svg(found: BlowingRecord) -> str:
    """The drawing as SVG text."""
    title = f"{found.instrument}, layout {found.layout}"
    height = TOP + ROW * len(found.notes) + FOOT
    sheet = Canvas(WIDTH_MM, height, f"{title}: what blowing does to the notes", unit="mm", looks=LOOKS)
    sheet.text("title", (LEFT - 16, 9), title)
    sheet.text(
        "said", (LEFT - 16, 15), "cents over the soft limit, lowest to highest over the reeds; none: no tone that lasts"
    )
    for number, how in enumerate(found.ways):
        sheet.box(how, (LEFT - 16 + 26 * number, 18.2), 6, 2.4)
        sheet.text("said", (LEFT - 8 + 26 * number, 20.7), how)
    reach = _reach(found)
    x, foot = Scale(-reach, reach, LEFT, WIDTH_MM - RIGHT), height - FOOT
    for cents in multiples(reach / 4.0, -reach, reach):
        sheet.line("axis" if cents == 0 else "rule", (x(cents), TOP - 2), (x(cents), foot))
        sheet.text("figure", (x(cents), foot + 5), f"{cents:+g}" if cents else "0")
    for number, note in enumerate(found.notes):
        _note(sheet, note, TOP + ROW * number, x)
    return sheet.to_svg()


def _reach(found: BlowingRecord) -> float:
    """A round number of cents beyond every figure."""
    figures = [each for note in found.notes for how in note.blown for each in (how.cents_low, how.cents_high)]
    return round_above(max([LEAST_CENTS, *(abs(each) for each in figures if each is not None)]))


def _note(sheet: Canvas, note: BlownNote, y: float, x: Scale) -> None:
    sheet.text("name", (LEFT - 3, y + 0.62 * ROW), note.written)
    sheet.line("rule", (LEFT, y), (WIDTH_MM - RIGHT, y))
    high = (ROW - 2.0) / len(note.blown)
    for number, each in enumerate(note.blown):
        if each.cents_low is not None and each.cents_high is not None:
            low, width = x(each.cents_low), x(each.cents_high) - x(each.cents_low)
            spare = max(THIN_MM - width, 0.0)
            sheet.box(each.how, (low - spare / 2, y + 1.0 + high * number), width + spare, high - 0.4)
