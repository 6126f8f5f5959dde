"""A sheet of paper to measure hands with: A4, true to scale, for both hands.

Each row has a start target and a run of numbered ones. A number is how far its target's centre lies from the start, in
a straight line, as the reach limits count it: for the little finger, from where it lands by itself, toward the palm.
Targets are staggered so that their circles do not touch; their distances stay exact.
"""

import math
from collections.abc import Iterable

from optimizer import cautions
from optimizer.project.hand import Hand, palm_offset_mm
from optimizer.views.drawings.axes import RULER_LOOKS, ruler
from optimizer.views.drawings.canvas import INK, Canvas, Looks, Point

WIDTH_MM, HEIGHT_MM, MARGIN = 210.0, 297.0, 12.0
STAGGER_MM = (0.0, 6.5, -6.5)
TARGET_MM, START_MM = 5.2, 9.0
PALE = "#6f7b80"

LOOKS: Looks = {
    "title": {"font_size": 6.5, "fill": INK, "font_weight": "bold"},
    "row": {"font_size": 3.4, "fill": INK, "font_weight": "bold"},
    "step": {"font_size": 3.0, "fill": INK},
    "caution": {"font_size": 2.7, "fill": PALE},
    "length": {"font_size": 3.0, "fill": PALE},
    "length end": {"font_size": 3.0, "fill": PALE, "text_anchor": "end"},
    "hand": {"font_size": 2.6, "fill": PALE},
    "hand end": {"font_size": 2.6, "fill": PALE, "text_anchor": "end"},
    "form": {"font_size": 2.9, "fill": INK},
    "file": {"font_size": 2.7, "fill": INK},
    "figure": {"font_size": 2.5, "fill": INK, "text_anchor": "middle"},
    "started": {"font_size": 2.2, "fill": PALE, "text_anchor": "middle"},
    "target": {"fill": "#eef3f1", "stroke": INK, "stroke_width": 0.2},
    "start": {"fill": "#ffffff", "stroke": INK, "stroke_width": 0.5},
    "middle": {"fill": INK, "stroke": INK, "stroke_width": 0.3},
    "mark": {"stroke": INK, "stroke_width": 0.2},
    "blank": {"stroke": PALE, "stroke_width": 0.2},
    **RULER_LOOKS,
}

STEPS = (
    "1. Print at 100 % on A4. Lay a ruler on both rulers below: 100 mm and 50 mm must be right, or print again.",
    "2. Lay the sheet on a table. Palm toward the lower edge of the sheet, wrist straight, "
    "fingers gently curved as for playing. Pads, not tips, lie on the targets. "
    "Left hand: go left; right hand: go right.",
    "3. Comfortable: the farthest number where the two pads rest for 30 seconds and each finger taps ten times, loose "
    "and without a pull. Working limit: the farthest number that can be touched for a moment without pain or force.",
    "4. Gauge warm hands, rest between rows, take each figure twice and keep the smaller. Stop at any strain, pain, "
    "numbness or tingling; leave that row empty: the program then estimates it and says how surely.",
    "5. A teacher or hand therapist decides what is good for a child or a hurt hand; what they say goes before "
    "this sheet.",
)

AGAIN = "The hand held still: how far the thumb, then the index finger alone, get from the start by themselves."

FORM = (
    ("index to middle", "index_middle_mm"),
    ("middle to ring", "middle_ring_mm"),
    ("index to ring", "index_ring_mm"),
    ("ring to little", "ring_little_mm"),
    ("index to little", "index_little_mm"),
    ("thumb from its rest", "thumb_reach_mm"),
    ("index finger to its side", "side_reach_mm"),
)


def gauge_svg(hand: Hand | None = None) -> str:
    """The sheet as SVG text; hand: how far toward the palm its ring and little finger land by themselves."""
    hand = hand or Hand()
    ring, little = palm_offset_mm(hand, "L3"), palm_offset_mm(hand, "L4")
    sheet = Canvas(WIDTH_MM, HEIGHT_MM, "Reach gauge, A4, print at 100 %", unit="mm", looks=LOOKS)
    sheet.text("title", (MARGIN, 14), "Reach gauge for both hands")
    y = 20.5
    for step in STEPS:
        y = sheet.paragraph("step", (MARGIN, y), step, WIDTH_MM - 2 * MARGIN) + 0.6
    _rulers(sheet, 66)
    sheet.text("form", (MARGIN, 79), AGAIN)
    title = "A  index to middle, then middle to ring: first finger on the start"
    _row(sheet, 91, title, range(16, 47, 2), 0.0, above=16.0)
    _row(sheet, 113, "B  ring to little: ring finger on the start", range(14, 47, 2), little - ring)
    _row(sheet, 154, "C  index to ring: index finger on the start", range(32, 85, 3), ring)
    _long_row(sheet, 177, "D  index to little, left hand: index finger on the start", -1.0, little)
    _long_row(sheet, 212, "E  index to little, right hand: index finger on the start", 1.0, little)
    _form(sheet, 244)
    sheet.paragraph("caution", (MARGIN, 289.5), cautions.REACH, WIDTH_MM - 2 * MARGIN)
    return sheet.to_svg()


def _rulers(sheet: Canvas, y: float) -> None:
    """100 mm across and 50 mm down, to check the print in both directions."""
    ruler(sheet, (MARGIN, y), 100, "ruler-100mm")
    sheet.text("length", (MARGIN + 104, y), "100 mm")
    sheet.line("ruler", (196, y), (196, y + 50), id="ruler-50mm")
    for mm in range(0, 51, 10):
        sheet.line("mark", (196, y + mm), (199, y + mm))
    sheet.text("length end", (194, y + 1), "50 mm")


def _row(
    sheet: Canvas, y: float, title: str, distances: Iterable[int], palm_mm: float, above: float | None = None
) -> None:
    """A start in the middle, targets for the left hand to its left, for the right hand to its right; above: how far its
    title stands above it."""
    sheet.text("row", (MARGIN, y - (above or (12.0 if palm_mm < 6 else 6.0))), title)
    start = (WIDTH_MM / 2, y)
    numbers = list(distances)
    for direction in (-1.0, 1.0):
        _targets(sheet, start, numbers, direction, palm_mm)
    _start(sheet, start)
    sheet.text("hand end", (start[0] - 7, y + 8), "left")
    sheet.text("hand", (start[0] + 7, y + 8), "right")


def _long_row(sheet: Canvas, y: float, title: str, direction: float, palm_mm: float) -> None:
    """A start at one edge, and targets for one hand across the sheet."""
    sheet.text("row", (MARGIN if direction < 0 else MARGIN + 20, y - 2), title)
    start = (WIDTH_MM / 2 - direction * 86, y)
    _targets(sheet, start, range(56, 169, 4), direction, palm_mm)
    _start(sheet, start)


def _targets(sheet: Canvas, start: Point, distances: Iterable[int], direction: float, palm_mm: float) -> None:
    for number, distance in enumerate(distances):
        aside = STAGGER_MM[number % len(STAGGER_MM)]
        along = math.sqrt(distance**2 - aside**2)
        centre = (start[0] + direction * along, start[1] + palm_mm + aside)
        sheet.circle("target", centre, TARGET_MM, data_mm=distance)
        sheet.text("figure", (centre[0], centre[1] + 0.9), str(distance))


def _start(sheet: Canvas, centre: Point) -> None:
    sheet.circle("start", centre, START_MM)
    sheet.circle("middle", centre, 0.8)
    sheet.text("started", (centre[0], centre[1] + 3.4), "start")


def _form(sheet: Canvas, y: float) -> None:
    """Where the figures are written down, and their names in a hand file."""
    columns = (MARGIN, 78.0, 108.0, 138.0, 168.0)
    heads = ("mm", "left: comfortable", "left: limit", "right: comfortable", "right: limit")
    for x, head in zip(columns, heads, strict=True):
        sheet.text("hand", (x, y), head)
    for number, (words, key) in enumerate(FORM, start=1):
        place = y + 4.6 * number
        sheet.text("form", (MARGIN, place), f"{words}  ({key})")
        for x in columns[1:]:
            sheet.line("blank", (x, place + 0.8), (x + 24, place + 0.8))
    place = y + 37.0
    x = MARGIN
    for words, blank in (
        ("hand length, wrist crease to middle tip", 58),
        ("span index to little", 29),
        ("thumb to little", 22),
        ("across knuckles", 24),
    ):
        sheet.text("form", (x, place), words)
        sheet.line("blank", (x + blank, place + 0.8), (x + blank + 12, place + 0.8))
        x += blank + 14
    words = (
        "Hand file: gauged_on = the day; [left] index_middle_mm = [comfortable, limit], hand_breadth_mm = knuckles; "
        "[right] too."
    )
    sheet.text("file", (MARGIN, place + 4.6), words)
