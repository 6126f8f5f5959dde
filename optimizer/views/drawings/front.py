"""Fronts as plots to look at: a panel for each two objectives, a dot for each layout."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from optimizer.project.objectives import UNITS
from optimizer.views.drawings.axes import drawn_dot, span_of, ticks
from optimizer.views.drawings.figure import Figure

WIDTH, HEIGHT, LEFT, FOOT, EDGE = 340.0, 270.0, 46.0, 40.0, 14.0
PANELS = 4


@dataclass(frozen=True)
class Dot:
    """A layout on a front: whose front, its objectives, and the place in the page that it leads to, if any."""

    letter: str
    name: str
    values: Mapping[str, float]
    target: str = ""


def front_panels(dots: Sequence[Dot], names: Sequence[str]) -> list[str]:
    """Panels of two objectives each, better toward the lower left; those with the first objective come first."""
    pairs = list(combinations(names, 2))[:PANELS] if len(names) > 1 else [(name, name) for name in names]
    return [_panel(dots, across, up) for across, up in pairs] if dots else []


def _panel(dots: Sequence[Dot], across: str, up: str) -> str:
    label = f"{_said(up)} against {_said(across)} of {len(dots)} layouts; the table lists them"
    panel = Figure(WIDTH, HEIGHT, label, "panel")
    xs, ys = (span_of([dot.values[name] for dot in dots]) for name in (across, up))

    def place(dot: Dot) -> tuple[float, float]:
        return _x(dot.values[across], xs), _y(dot.values[up], ys)

    for value in ticks(*xs):
        panel.line("rule", (_x(value, xs), EDGE), (_x(value, xs), HEIGHT - FOOT))
        panel.text("soft mid", (_x(value, xs), HEIGHT - FOOT + 15), f"{value:g}")
    for value in ticks(*ys):
        panel.line("rule", (LEFT, _y(value, ys)), (WIDTH - EDGE, _y(value, ys)))
        panel.text("soft end", (LEFT - 6, _y(value, ys) + 4), f"{value:g}")
    panel.line("axis", (LEFT, EDGE), (LEFT, HEIGHT - FOOT))
    panel.line("axis", (LEFT, HEIGHT - FOOT), (WIDTH - EDGE, HEIGHT - FOOT))
    panel.text("end bold", (WIDTH - EDGE, HEIGHT - 7), f"{_said(across)}, {UNITS[across]}")
    panel.text("bold", (2, EDGE - 3), f"{_said(up)}, {UNITS[up]}")
    for dot in dots:
        words = f"{dot.name}: {_said(across)} {dot.values[across]:.2f}, {_said(up)} {dot.values[up]:.2f}"
        if dot.target:
            panel.open_link(dot.target, words)
        drawn_dot(panel, dot.letter, place(dot), "" if dot.target else words)
        if dot.target:
            panel.close_link()
    return panel.to_html()


def _said(name: str) -> str:
    """An objective's name in words."""
    return name.replace("_", " ")


def _x(value: float, span: tuple[float, float]) -> float:
    return LEFT + (WIDTH - EDGE - LEFT) * (value - span[0]) / (span[1] - span[0])


def _y(value: float, span: tuple[float, float]) -> float:
    return HEIGHT - FOOT - (HEIGHT - FOOT - EDGE) * (value - span[0]) / (span[1] - span[0])
