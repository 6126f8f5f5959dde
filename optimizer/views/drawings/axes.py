"""Axes of drawings: round numbers, spans, marks."""

from collections.abc import Sequence

import numpy as np

from optimizer.views.drawings.figure import Figure

CORNERS = (
    ((-4.0, -4.0), (4.0, -4.0), (4.0, 4.0), (-4.0, 4.0)),
    ((0.0, -5.4), (5.0, 4.0), (-5.0, 4.0)),
    ((0.0, -5.6), (5.0, 0.0), (0.0, 5.6), (-5.0, 0.0)),
)


def ticks(low: float, high: float) -> list[float]:
    """About four round numbers from low to high."""
    step = (high - low) / 4.0
    size = 10.0 ** np.floor(np.log10(step))
    step = min((m * size for m in (1.0, 2.0, 2.5, 5.0, 10.0)), key=lambda s: abs(s - step))
    first = int(np.ceil(low / step - 1e-9))
    return [float(n * step) for n in range(first, int(np.floor(high / step + 1e-9)) + 1)]


def span_of(values: Sequence[float]) -> tuple[float, float]:
    low, high = min(values), max(values)
    room = 0.06 * (high - low) or max(0.1 * abs(high), 0.5)
    return (low - room if low > room else min(0.0, low) - 0.04 * (high - low or 1.0)), high + room


def drawn_dot(panel: Figure, letter: str, centre: tuple[float, float], tip: str) -> None:
    """A dot whose shape tells whose it is too: circle, square, triangle, diamond, and around again."""
    (x, y), kind = centre, f"dot mark-{letter.lower()}"
    shape = (ord(letter.lower()) - ord("a")) % 4
    if shape == 0:
        panel.oval(kind, centre, 9.0, 9.0, tip)
        return
    panel.add("polygon", kind, tip, points=" ".join(f"{x + dx:.1f},{y + dy:.1f}" for dx, dy in CORNERS[shape - 1]))
