"""Both hands on the body, as a drawing: the body's surface unrolled, to scale, fingers on it, distances between them.

The reed end lies left, the front in the middle, the player's right below: azimuth grows downward, as millimetres along
the surface. Distances are written as they count, in a straight line through space, so a slanted one is a little
shorter than it is drawn. Fingers lie on holes or in rows; at touches that a little finger, thumb or other finger
reaches for stands the share of the limit.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optimizer import cautions
from optimizer.analysis.hand_fit import HandFit, ReachedTouch, Tip, finger_tips, touch_mm, verdict
from optimizer.project.bends import Bend
from optimizer.project.hand import PALM, Hand
from optimizer.records.layout import HoleRecord, LayoutRecord, ReachRecord
from optimizer.views.drawings.axes import RULER_LOOKS, ruler
from optimizer.views.drawings.canvas import INK, Canvas, Looks, Point, Value

KEY = "#8d979c"
COLOURS = {"easy": "#1c6e5f", "tight": "#9a5b00", "over": "#a3142a"}
KINDS = {"comfortable": "easy", "just comfortable": "easy", "strained": "tight"}
"""Kind of a distance by what is said of it; `over` at or beyond its limit."""
DASHES = {"easy": "none", "tight": "5 1.2", "over": "1.6 1"}

MARGIN, HEAD, ROW = 12.0, 26.0, 8.5
TOUCH_MM, TOUCH_FONT_MM = 9.0, 2.3
"""Touches are drawn so wide, and what stands in them so high."""

LABEL_MM = 8.0
"""So far from its touch the name of a finger that lies on one stands at least, at its knuckle or beyond."""

LOOKS: Looks = {
    "title": {"font_size": 5.5, "fill": INK, "font_weight": "bold"},
    "said": {"font_size": 3.6, "fill": INK},
    "soft": {"font_size": 3.2, "fill": KEY},
    "side": {"font_size": 2.8, "fill": KEY},
    "finger": {"font_size": 4.2, "fill": INK, "font_weight": "bold", "text_anchor": "middle"},
    "hole name": {"font_size": 2.4, "fill": INK},
    "touch name": {"font_size": TOUCH_FONT_MM, "fill": INK, "text_anchor": "middle"},
    "keyed name": {"font_size": 2.4, "fill": KEY},
    "body": {"fill": "#f2ede1", "stroke": KEY, "stroke_width": 0.3},
    "bend": {"fill": "#d9d2c2"},
    "front": {"stroke": KEY, "stroke_width": 0.2, "stroke_dasharray": "6 2 1 2"},
    "keyed": {"fill": "none", "stroke": KEY, "stroke_width": 0.3},
    "hole": {"fill": "#fbfaf6", "stroke": INK, "stroke_width": 0.5},
    "plate": {"fill": "none", "stroke": INK, "stroke_width": 0.3, "stroke_dasharray": "1.5 1"},
    "touch": {"stroke": INK, "stroke_width": 0.4},
    "skin": {"stroke": "#c98f6b", "stroke_linecap": "round"},
    "lead": {"stroke": KEY, "stroke_width": 0.15},
    "caution": {"font_size": 3.2, "fill": INK},
    **{kind: {"stroke": colour, "stroke_width": 0.45} for kind, colour in COLOURS.items()},
    **{f"{kind} words": {"font_size": 3.2, "fill": colour} for kind, colour in COLOURS.items()},
    **{
        f"{kind} figure": {"font_size": 3.0, "fill": colour, "text_anchor": "middle"}
        for kind, colour in COLOURS.items()
    },
    **RULER_LOOKS,
}

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
    height = foot + 20.0 + _words_height(found, width)
    sheet = Canvas(width, height, f"{record.instrument}, {record.id}: hands", unit="mm", looks=LOOKS)
    _head(sheet, record, found)
    _body(sheet, frame, record.bore.bends)
    for hole in record.holes:
        if hole.by == "key" and frame.start_mm <= hole.position_mm <= frame.end_mm:
            sheet.circle("keyed", frame.place(hole.position_mm, _turn(hole)), hole.top_diameter_mm)
            _named(sheet, frame, hole, "keyed name")
    for side in "LR":
        _hand(sheet, frame, record, side, hand)
    for hole in record.holes:
        if hole.by != "key":
            _touched(sheet, frame, hole)
    _row_touches(sheet, frame, record)
    _reached(sheet, frame, record, found.touches)
    _distances(sheet, frame, record, found.reach)
    _foot(sheet, foot, found)
    return sheet.to_svg()


def _frame(record: LayoutRecord) -> _Frame:
    points = np.array(record.bore.points_mm)
    touches = [tip.position_mm for tip in finger_tips(record).values()] or [0.0, float(points[-1, 0])]
    touches += [key.touch_position_mm for key in record.keys if key.reach and key.touch_position_mm is not None]
    start, end = max(0.0, min(touches) - 45.0), min(float(points[-1, 0]), max(touches) + 65.0)
    radii = points[:, 1] / 2.0 + record.bore.wall_mm
    shown = np.interp([start, end], points[:, 0], radii).max()
    middle = HEAD + max(math.pi * float(shown), 3 * ROW + 14.0) + 2 * ROW
    inside = (points[:, 0] > start) & (points[:, 0] < end)
    positions = np.array([start, *points[inside, 0], end])
    return _Frame(start, end, middle, positions, np.interp(positions, points[:, 0], radii))


def _turn(hole: HoleRecord) -> float:
    """Azimuth between -180 and 180 degrees; behind the body on the side of the hand that reaches there."""
    return _turned(hole.azimuth_deg, hole.by)


def _turned(azimuth_deg: float, finger: str) -> float:
    turn = (azimuth_deg + 180.0) % 360.0 - 180.0
    return -turn if abs(turn) == 180.0 and finger[0] == "R" else turn


def _head(sheet: Canvas, record: LayoutRecord, found: HandFit) -> None:
    sheet.text("title", (MARGIN, 9.0), f"{record.instrument}, layout {record.id}: the hands on the body")
    sheet.text("said", (MARGIN, 15.0), f"Hand: {found.name}")
    inside = "; in a touch reached for the share of its limit" if found.touches else ""
    said = f"Surface unrolled, 1 : 1 in mm; reed end left, player's left hand above{inside}"
    sheet.text("soft", (MARGIN, 20.0), said)


def _body(sheet: Canvas, frame: _Frame, bends: Sequence[Bend]) -> None:
    edges = [[frame.place(float(s), turn) for s in frame.positions] for turn in (-180.0, 180.0)]
    sheet.polygon("body", [*edges[0], *reversed(edges[1])])
    for bend in bends:
        low, high = (min(max(end, frame.start_mm), frame.end_mm) for end in (bend.at_mm, bend.end_mm))
        if low < high:
            (x, y), (x2, y2) = frame.place(low, -180.0), frame.place(high, 180.0)
            sheet.polygon("bend", [(x, y), (x2, y), (x2, y2), (x, y2)], f"bend {bend.id}")
    front = [frame.place(float(s), 0.0) for s in (frame.start_mm, frame.end_mm)]
    sheet.line("front", front[0], front[1])
    for turn, words in ((0.0, "front"), (180.0, "back"), (-180.0, "back")):
        x, y = frame.place(frame.start_mm, turn)
        sheet.text("side", (x + 1.5, y - 1.2), words)


def _hand(sheet: Canvas, frame: _Frame, record: LayoutRecord, side: str, hand: Hand) -> None:
    """Fingers from their knuckles at the palm's side of the body to their touches."""
    tips = {name: tip for name, tip in finger_tips(record).items() if name[0] == side}
    if not tips:
        return
    rests = _little_rest(record, tips, side, hand)
    places = {name: (tip.position_mm, _turned(tip.azimuth_deg, name)) for name, tip in tips.items()} | rests
    middle = sum(position for position, _ in places.values()) / len(places)
    for name, (position, turn) in places.items():
        breadth = hand.finger_breadth_mm * (0.85 if name[1] == "4" else 1.0)
        knuckle = frame.place(middle + 0.72 * (position - middle), PALM[side] * KNUCKLE_DEG)
        tip = frame.place(position, turn)
        look: dict[str, Value] = {"stroke_width": breadth, "opacity": 0.16 if name in rests else 0.34}
        sheet.line("skin", knuckle, tip, **look)
        away = max(PALM[side] * (knuckle[1] - tip[1]), -math.inf if name in rests else LABEL_MM)
        label = (tip[0] + 5, tip[1]) if name[1] == "T" else (knuckle[0], tip[1] + PALM[side] * away)
        sheet.text("finger", (label[0], label[1] + 1.5), name)


def _little_rest(record: LayoutRecord, tips: dict[str, Tip], side: str, hand: Hand) -> dict[str, tuple[float, float]]:
    """Where a little finger without a hole rests, when it works keys: on its only touch, else beyond the ring
    finger, toward the palm."""
    name, ring = f"{side}4", tips.get(f"{side}3")
    if name in tips or ring is None or not any(key.touch == name for key in record.keys):
        return {}
    own = [key for key in record.keys if key.touch == name and key.reach and key.touch_position_mm is not None]
    if len(own) == 1:
        return {name: (own[0].touch_position_mm or 0.0, _turned(own[0].touch_azimuth_deg or 0.0, name))}
    turn = math.degrees(hand.little_palm_offset_mm / (ring.body_diameter_mm / 2.0))
    return {name: (ring.position_mm + hand.little_offset_mm, _turned(ring.azimuth_deg, name) + PALM[side] * turn)}


def _touched(sheet: Canvas, frame: _Frame, hole: HoleRecord) -> None:
    """A hole under a finger: the hole to scale, a plate if it has one, a cross where the finger lands."""
    centre, (x, y) = frame.place(hole.position_mm, _turn(hole)), frame.place(touch_mm(hole), _turn(hole))
    if hole.pad is not None:
        sheet.circle("plate", centre, hole.pad.cup_diameter_mm)
    sheet.circle("hole", centre, hole.top_diameter_mm)
    _cross(sheet, (x, y))
    _named(sheet, frame, hole, "hole name")


def _cross(sheet: Canvas, at: Point) -> None:
    """Where a finger lands."""
    x, y = at
    sheet.line("touch", (x - 1.6, y), (x + 1.6, y))
    sheet.line("touch", (x, y - 1.6), (x, y + 1.6))


def _row_touches(sheet: Canvas, frame: _Frame, record: LayoutRecord) -> None:
    """Touches in rows, each with the key that its finger rests on."""
    for finger in (each for row in record.rows for each in row.fingers if each.key):
        x, y = frame.place(finger.position_mm, _turned(finger.azimuth_deg, finger.finger))
        _touch(sheet, "plate", (x, y), finger.key or "")


def _reached(sheet: Canvas, frame: _Frame, record: LayoutRecord, touches: list[ReachedTouch]) -> None:
    """Touches that fingers reach for, each with the greatest share that it takes of a limit."""
    keys = {key.id: key for key in record.keys}
    most = {touch.key: touch for touch in sorted(touches, key=lambda touch: touch.percent)}
    for name, touch in most.items():
        turn = _turned(keys[name].touch_azimuth_deg or 0.0, touch.finger)
        x, y = frame.place(keys[name].touch_position_mm or 0.0, turn)
        _touch(sheet, "keyed", (x, y), name)
        kind = "over" if touch.trouble else "easy"
        sheet.text(f"{kind} figure", (x, y + 3.9), f"{touch.percent:.0f} %", font_size=TOUCH_FONT_MM)


def _touch(sheet: Canvas, kind: str, at: Point, name: str) -> None:
    """A key's touch with its name inside, so that those of neighbours keep off each other."""
    sheet.circle(kind, at, TOUCH_MM)
    _cross(sheet, at)
    sheet.text("touch name", (at[0], at[1] - 1.9), name)


def _named(sheet: Canvas, frame: _Frame, hole: HoleRecord, kind: str) -> None:
    x, y = frame.place(hole.position_mm, _turn(hole))
    sheet.text(kind, (x + 0.8, y - 1.0), hole.id)


def _distances(sheet: Canvas, frame: _Frame, record: LayoutRecord, reach: list[ReachRecord]) -> None:
    """A line for each pair on the side of the body away from its palm: neighbours first, sums further out."""
    under = finger_tips(record)
    widest = {
        side: max((frame.radius(tip.position_mm) for tip in under.values() if tip.finger[0] == side), default=0.0)
        for side in "LR"
    }
    for pair in reach:
        upper, lower = pair.pair.split("-")
        away = -PALM[upper[0]]
        level = frame.middle + away * (math.pi * widest[upper[0]] + ROW * (int(lower[1]) - int(upper[1]) - 0.35))
        tips = [under[finger] for finger in (upper, lower)]
        places = [frame.place(tip.position_mm, _turned(tip.azimuth_deg, tip.finger)) for tip in tips]
        for x, y in places:
            sheet.line("lead", (x, y + 2.5 * away), (x, level + away))
        said = verdict(pair)
        kind = KINDS.get(said, "over")
        start, end = (places[0][0] + 0.5, level), (places[1][0] - 0.5, level)
        sheet.dimension(kind, start, end, stroke_dasharray=DASHES[kind])
        words = "" if said == "comfortable" else said.replace("OUT OF REACH by", "over by")
        weight = "bold" if kind == "over" else "normal"
        below = 4.2 if (upper[1], lower[1]) == ("2", "3") else -1.2
        place = ((start[0] + end[0]) / 2, level + below)
        sheet.text(f"{kind} figure", place, f"{pair.spacing_mm:.1f} {words}", font_weight=weight)


def _words_height(found: HandFit, width: float) -> float:
    characters = max(12, int((width - 2 * MARGIN) / 1.6))
    words = [*found.troubles, *found.remarks, *cautions.of_hands(found.adult)]
    return sum((len(line) // characters + 1) * 4.4 + 1.2 for line in words) + 8.0


def _foot(sheet: Canvas, y: float, found: HandFit) -> None:
    """Scale, what the lines mean, what is wrong, cautions."""
    ruler(sheet, (MARGIN, y + 6), 50, "scale-50mm")
    x = MARGIN + 60
    for words, kind in {**KINDS, "at or beyond the limit": "over"}.items():
        sheet.dimension(kind, (x, y + 4), (x + 12, y + 4), stroke_dasharray=DASHES[kind])
        sheet.text(f"{kind} words", (x + 14, y + 5), words)
        x += 20 + 1.75 * len(words)
    y += 17
    width = sheet.width - 2 * MARGIN
    for kind, lines in {
        "over words": found.troubles, "tight words": found.remarks, "caution": cautions.of_hands(found.adult)
    }.items():  # fmt: skip
        for line in lines:
            y = sheet.paragraph(kind, (MARGIN, y), line, width) + 1
