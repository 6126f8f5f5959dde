"""Axes of drawings: round numbers, scales, and marks that stand on them."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from optimizer.views.drawings.canvas import INK, Canvas, Looks, Point

ROUND = (1.0, 2.0, 2.5, 5.0, 10.0)
CORNERS = (
    ((-4.0, -4.0), (4.0, -4.0), (4.0, 4.0), (-4.0, 4.0)),
    ((0.0, -5.4), (5.0, 4.0), (-5.0, 4.0)),
    ((0.0, -5.6), (5.0, 0.0), (0.0, 5.6), (-5.0, 0.0)),
)


@dataclass(frozen=True)
class Scale:
    """From values between low and high to places between start and end, on the same straight line beyond them."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        """Where a value lies in the drawing."""
        return self.start + (self.end - self.start) * (value - self.low) / (self.high - self.low)

    def ticks(self, whole: bool = False) -> list[float]:
        """About four round numbers on it; whole ones of what is counted."""
        step = _nearest_step((self.high - self.low) / 4.0)
        return multiples(max(1.0, round(step)) if whole else step, self.low, self.high)


def multiples(step: float, low: float, high: float) -> list[float]:
    """Every multiple of a step from low to high."""
    return [n * step for n in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)]


def round_above(value: float) -> float:
    """The least of 1, 2 and 5 times a power of ten that is at least so much."""
    decade = _decade(value)
    return next(m * decade for m in (1.0, 2.0, 5.0, 10.0) if m * decade >= value * (1.0 - 1e-9))


def _nearest_step(value: float) -> float:
    return min((m * _decade(value) for m in ROUND), key=lambda step: abs(step - value))


def _decade(value: float) -> float:
    return float(10.0 ** math.floor(math.log10(value)))


def span_of(values: Iterable[float]) -> tuple[float, float]:
    """From a little below the least to a little above the greatest."""
    found = list(values)
    low, high = min(found), max(found)
    room = 0.06 * (high - low) or max(0.1 * abs(high), 0.5)
    return (low - room if low > room else min(0.0, low) - 0.04 * (high - low or 1.0)), high + room


def drawn_dot(panel: Canvas, letter: str, centre: Point, tip: str) -> None:
    """A dot whose shape tells whose it is too: circle, square, triangle, diamond, and around again."""
    (x, y), kind = centre, f"dot mark-{letter.lower()}"
    shape = (ord(letter.lower()) - ord("a")) % 4
    if shape == 0:
        panel.oval(kind, centre, 9.0, 9.0, tip)
        return
    panel.polygon(kind, [(x + dx, y + dy) for dx, dy in CORNERS[shape - 1]], tip)


RULER_LOOKS: Looks = {
    "ruler": {"stroke": INK, "stroke_width": 0.3},
    "ruler mark": {"stroke": INK, "stroke_width": 0.15},
    "ruler figure": {"font_size": 2.8, "fill": INK, "text_anchor": "middle"},
}


def ruler(sheet: Canvas, start: Point, length_mm: int, name: str) -> None:
    """A ruler on paper with a mark each mm and a number each 10; `name` is the id of its base line."""
    x, y = start
    sheet.line("ruler", start, (x + length_mm, y), id=name)
    for mm in range(length_mm + 1):
        high = 4.0 if mm % 10 == 0 else 3.0 if mm % 5 == 0 else 2.0
        sheet.line("ruler mark", (x + mm, y), (x + mm, y - high))
        if mm % 10 == 0:
            sheet.text("ruler figure", (x + mm, y + 3.6), str(mm))
