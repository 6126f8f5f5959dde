"""Both hands on the body, as a drawing: the body's surface unrolled, to scale, fingers on it, distances between them.

The reed end lies left, the front in the middle, the player's right below: azimuth grows downward, as millimetres along
the surface. Distances are written as they count, in a straight line through space, so a slanted one is a little
shorter than it is drawn.
"""

import math
from dataclasses import dataclass

import numpy as np

from optimizer import cautions
from optimizer.analysis.hand_fit import HandFit, touch_mm, verdict
from optimizer.project.hand import PALM, Hand
from optimizer.records.layout import HoleRecord, LayoutRecord, ReachRecord
from optimizer.views.drawings.canvas import INK, Point, Sheet

BODY, SKIN, KEY, HOLE = "#f2ede1", "#c98f6b", "#8d979c", "#fbfaf6"
STROKES = {"comfortable": ("#1c6e5f", "none"), "strained": ("#9a5b00", "5 1.2"), "": ("#a3142a", "1.6 1")}
"""Colour and dashes of a distance; what is at or beyond its limit is the last."""

MARGIN, HEAD, ROW = 12.0, 26.0, 8.5
KNUCKLE_DEG = 105.0


@dataclass(frozen=True)
class _Frame:
    """From the body to the sheet."""

    start_mm: float
    end_mm: float
    middle: float
    positions: np.ndarray
    radii: np.ndarray

    def radius(self, position: float) -> float:
        return float(np.interp(position, self.positions, self.radii))

    def place(self, position: float, azimuth_deg: float) -> Point:
        """Where a point of the surface lies on the sheet [mm]."""
        return MARGIN + position - self.start_mm, self.middle + math.radians(azimuth_deg) * self.radius(position)


def hands_svg(record: LayoutRecord, found: HandFit, hand: Hand | None = None) -> str:
    """The drawing as SVG text; hand: whose finger breadth and rest of the little finger to draw."""
    hand = hand or Hand()
    frame = _frame(record)
    width = max(frame.end_mm - frame.start_mm + 2 * MARGIN, 200.0)
    foot = frame.middle + math.pi * float(frame.radii.max()) + 3 * ROW + 8
    sheet = Sheet(width, foot + 20.0 + _words_height(found, width), f"{record.instrument}, {record.id}: hands")
    _head(sheet, record, found)
    _body(sheet, frame)
    for hole in record.holes:
        if hole.by == "key" and frame.start_mm <= hole.position_mm <= frame.end_mm:
            sheet.circle(frame.place(hole.position_mm, _turn(hole)), hole.top_diameter_mm, stroke=KEY)
            _small(sheet, frame.place(hole.position_mm, _turn(hole)), hole.id, KEY)
    for side in "LR":
        _hand(sheet, frame, record, side, hand)
    for hole in record.holes:
        if hole.by != "key":
            _touched(sheet, frame, hole)
    _distances(sheet, frame, record, found.reach)
    _foot(sheet, foot, found)
    return sheet.to_svg()


def _frame(record: LayoutRecord) -> _Frame:
    points = np.array(record.bore.points_mm)
    touches = [touch_mm(hole) for hole in record.holes if hole.by != "key"] or [0.0, float(points[-1, 0])]
    start, end = max(0.0, min(touches) - 45.0), min(float(points[-1, 0]), max(touches) + 65.0)
    radii = points[:, 1] / 2.0 + record.bore.wall_mm
    shown = np.interp([start, end], points[:, 0], radii).max()
    middle = HEAD + max(math.pi * float(shown), 3 * ROW + 14.0) + 2 * ROW
    inside = (points[:, 0] > start) & (points[:, 0] < end)
    positions = np.array([start, *points[inside, 0], end])
    return _Frame(start, end, middle, positions, np.interp(positions, points[:, 0], radii))


def _turn(hole: HoleRecord) -> float:
    """Azimuth between -180 and 180 degrees; behind the body on the side of the hand that reaches there."""
    turn = (hole.azimuth_deg + 180.0) % 360.0 - 180.0
    return -turn if abs(turn) == 180.0 and hole.by[0] == "R" else turn


def _head(sheet: Sheet, record: LayoutRecord, found: HandFit) -> None:
    sheet.text(
        (MARGIN, 9.0), f"{record.instrument}, layout {record.id}: the hands on the body", 5.5, font_weight="bold"
    )
    sheet.text((MARGIN, 15.0), f"Hand: {found.name}", 3.6)
    sheet.text((MARGIN, 20.0), "Surface unrolled, 1 : 1 in mm; reed end left, player's left hand above", 3.2, KEY)


def _body(sheet: Sheet, frame: _Frame) -> None:
    edges = [[frame.place(float(s), turn) for s in frame.positions] for turn in (-180.0, 180.0)]
    sheet.polygon([*edges[0], *reversed(edges[1])], BODY, KEY)
    front = [frame.place(float(s), 0.0) for s in (frame.start_mm, frame.end_mm)]
    sheet.line(front[0], front[1], KEY, 0.2, stroke_dasharray="6 2 1 2")
    for turn, words in ((0.0, "front"), (180.0, "back"), (-180.0, "back")):
        x, y = frame.place(frame.start_mm, turn)
        sheet.text((x + 1.5, y - 1.2), words, 2.8, KEY)


def _hand(sheet: Sheet, frame: _Frame, record: LayoutRecord, side: str, hand: Hand) -> None:
    """Fingers from their knuckles at the palm's side of the body to their touches."""
    tips: dict[str, HoleRecord] = {hole.by: hole for hole in record.holes if hole.by != "key" and hole.by[0] == side}
    if not tips:
        return
    rests = _little_rest(record, tips, side, hand)
    places = {name: (touch_mm(hole), _turn(hole)) for name, hole in tips.items()} | rests
    middle = sum(position for position, _ in places.values()) / len(places)
    for name, (position, turn) in places.items():
        breadth = hand.finger_breadth_mm * (0.85 if name[1] == "4" else 1.0)
        knuckle = frame.place(middle + 0.72 * (position - middle), PALM[side] * KNUCKLE_DEG)
        tip = frame.place(position, turn)
        look: dict[str, str | float] = {"stroke_linecap": "round", "opacity": 0.16 if name in rests else 0.34}
        sheet.line(knuckle, tip, SKIN, breadth, **look)
        label = (tip[0] + 5, tip[1] + 1.5) if name[1] == "T" else (knuckle[0], knuckle[1] + 1.5)
        sheet.text(label, name, 4.2, font_weight="bold", text_anchor="middle")


def _little_rest(
    record: LayoutRecord, tips: dict[str, HoleRecord], side: str, hand: Hand
) -> dict[str, tuple[float, float]]:
    """Where a little finger without a hole rests, when it works keys: beyond the ring finger, toward the palm."""
    name, ring = f"{side}4", tips.get(f"{side}3")
    if name in tips or ring is None or not any(key.touch == name for key in record.keys):
        return {}
    turn = math.degrees(hand.little_palm_offset_mm / (ring.body_diameter_mm / 2.0))
    return {name: (touch_mm(ring) + hand.little_offset_mm, _turn(ring) + PALM[side] * turn)}


def _touched(sheet: Sheet, frame: _Frame, hole: HoleRecord) -> None:
    """A hole under a finger: the hole to scale, a plate if it has one, a cross where the finger lands."""
    centre, (x, y) = frame.place(hole.position_mm, _turn(hole)), frame.place(touch_mm(hole), _turn(hole))
    if hole.pad is not None:
        sheet.circle(centre, hole.pad.cup_diameter_mm, stroke=INK, stroke_dasharray="1.5 1")
    sheet.circle(centre, hole.top_diameter_mm, HOLE, stroke_width=0.5)
    sheet.line((x - 1.6, y), (x + 1.6, y), INK, 0.4)
    sheet.line((x, y - 1.6), (x, y + 1.6), INK, 0.4)
    _small(sheet, centre, hole.id, INK)


def _small(sheet: Sheet, centre: Point, words: str, fill: str) -> None:
    sheet.text((centre[0] + 0.8, centre[1] - 1.0), words, 2.4, fill)


def _distances(sheet: Sheet, frame: _Frame, record: LayoutRecord, reach: list[ReachRecord]) -> None:
    """A line for each pair on the side of the body away from its palm: neighbours first, sums further out."""
    under: dict[str, HoleRecord] = {hole.by: hole for hole in record.holes if hole.by != "key"}
    widest = {
        side: max((frame.radius(touch_mm(under[f])) for f in under if f[0] == side), default=0.0) for side in "LR"
    }
    for pair in reach:
        upper, lower = pair.pair.split("-")
        away = -PALM[upper[0]]
        level = frame.middle + away * (math.pi * widest[upper[0]] + ROW * (int(lower[1]) - int(upper[1]) - 0.35))
        places = [frame.place(touch_mm(under[finger]), _turn(under[finger])) for finger in (upper, lower)]
        for x, y in places:
            sheet.line((x, y + 2.5 * away), (x, level + away), KEY, 0.15)
        said = verdict(pair)
        colour, dashes = STROKES.get(said, STROKES[""])
        start, end = (places[0][0] + 0.5, level), (places[1][0] - 0.5, level)
        sheet.dimension(start, end, colour, stroke_dasharray=dashes)
        words = "" if said == "comfortable" else said.replace("OUT OF REACH by", "over by")
        weight = "bold" if colour == STROKES[""][0] else "normal"
        below = 4.2 if (upper[1], lower[1]) == ("2", "3") else -1.2
        place = ((start[0] + end[0]) / 2, level + below)
        sheet.text(place, f"{pair.spacing_mm:.1f} {words}", 3.0, colour, text_anchor="middle", font_weight=weight)


def _words_height(found: HandFit, width: float) -> float:
    characters = max(12, int((width - 2 * MARGIN) / 1.6))
    words = [*found.troubles, *found.remarks, *cautions.HANDS]
    return sum((len(line) // characters + 1) * 4.4 + 1.2 for line in words) + 8.0


def _foot(sheet: Sheet, y: float, found: HandFit) -> None:
    """Scale, what the lines mean, what is wrong, cautions."""
    sheet.ruler((MARGIN, y + 6), 50, "scale-50mm")
    x = MARGIN + 60
    for words, (colour, dashes) in zip(
        ("comfortable", "strained", "at or beyond the limit"), STROKES.values(), strict=True
    ):
        sheet.dimension((x, y + 4), (x + 12, y + 4), colour, stroke_dasharray=dashes)
        sheet.text((x + 14, y + 5), words, 3.2, colour)
        x += 20 + 1.75 * len(words)
    y += 17
    width = sheet.width_mm - 2 * MARGIN
    for line in found.troubles:
        y = sheet.paragraph((MARGIN, y), line, width, 3.2, STROKES[""][0]) + 1
    for line in found.remarks:
        y = sheet.paragraph((MARGIN, y), line, width, 3.2, STROKES["strained"][0]) + 1
    for line in cautions.HANDS:
        y = sheet.paragraph((MARGIN, y), line, width, 3.2) + 1
