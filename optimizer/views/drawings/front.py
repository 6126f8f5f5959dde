"""Fronts as plots to look at: a panel for each two objectives, a dot for each layout."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from optimizer.project.objectives import WHOLE
from optimizer.views.drawings.axes import Scale, drawn_dot, span_of
from optimizer.views.drawings.canvas import Canvas
from optimizer.views.objectives import figures, heading, in_words

WIDTH, HEIGHT, LEFT, FOOT, EDGE = 340.0, 270.0, 46.0, 40.0, 14.0
PANELS = 4


@dataclass(frozen=True)
class Dot:
    """A layout on a front: whose front, its objectives, and the place in the page that it leads to, if any."""

    letter: str
    name: str
    values: Mapping[str, float]
    target: str = ""


def front_panels(dots: Sequence[Dot], names: Sequence[str]) -> list[Canvas]:
    """Panels of two objectives each, better toward the lower left; those with the first objective come first."""
    pairs = list(combinations(names, 2))[:PANELS] if len(names) > 1 else [(name, name) for name in names]
    return [_panel(dots, across, up) for across, up in pairs] if dots else []


def _panel(dots: Sequence[Dot], across: str, up: str) -> Canvas:
    label = f"{in_words(up)} against {in_words(across)} of {len(dots)} layouts; the table lists them"
    panel = Canvas(WIDTH, HEIGHT, label, "panel")
    x = Scale(*span_of(dot.values[across] for dot in dots), LEFT, WIDTH - EDGE)
    y = Scale(*span_of(dot.values[up] for dot in dots), HEIGHT - FOOT, EDGE)
    for value in x.ticks(across in WHOLE):
        panel.line("rule", (x(value), EDGE), (x(value), HEIGHT - FOOT))
        panel.text("soft mid", (x(value), HEIGHT - FOOT + 15), f"{value:g}")
    for value in y.ticks(up in WHOLE):
        panel.line("rule", (LEFT, y(value)), (WIDTH - EDGE, y(value)))
        panel.text("soft end", (LEFT - 6, y(value) + 4), f"{value:g}")
    panel.line("axis", (LEFT, EDGE), (LEFT, HEIGHT - FOOT))
    panel.line("axis", (LEFT, HEIGHT - FOOT), (WIDTH - EDGE, HEIGHT - FOOT))
    panel.text("end bold", (WIDTH - EDGE, HEIGHT - 7), heading(across))
    panel.text("bold", (2, EDGE - 3), heading(up))
    for dot in dots:
        words = f"{dot.name}: {figures({name: dot.values[name] for name in (across, up)}, ', ')}"
        if dot.target:
            panel.open_link(dot.target, words)
        drawn_dot(panel, dot.letter, (x(dot.values[across]), y(dot.values[up])), "" if dot.target else words)
        if dot.target:
            panel.close_link()
    return panel
