"""How far each note is off: one line a note, by register; a bar for each layout, with its standard deviation."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from optimizer.views.drawings.axes import Scale, multiples, round_above
from optimizer.views.drawings.canvas import Canvas, Value

LEFT, RIGHT, WIDTH = 62.0, 66.0, 420.0
MORE = 38.0
"""Room to the right for a second figure on a line, and for a third; more are written smaller."""
ROW, GAP, TOP = 17.0, 46.0, 0.0
LEAST, MOST = 2.0, 200.0


@dataclass(frozen=True)
class Mark:
    """One layout's figure on a note's line [cents]; letter: whose it is."""

    letter: str
    cents: float | None
    sd_cents: float | None


@dataclass(frozen=True)
class Line:
    """A note's line: written name, register, alternate or main, and the marks on it."""

    written: str
    register: int
    alternate: bool
    marks: Sequence[Mark]


def tuning_chart(lines: Sequence[Line], label: str) -> Canvas:
    """The chart; its scale ends at the least round number that holds every bar and most of the deviations."""
    scale = _scale(lines)
    groups = list(dict.fromkeys((line.alternate, line.register) for line in lines))
    many = max((len(line.marks) for line in lines), default=1)
    step = max(ROW, 7.0 * many + 4.0)
    chart = Canvas(WIDTH, TOP + step * len(lines) + GAP * len(groups) + 8, label, "chart")
    y = TOP
    for alternate, register in groups:
        chosen = [line for line in lines if (line.alternate, line.register) == (alternate, register)]
        chart.text("bold", (4, y + 17), f"register {register}" + (", alternate" if alternate else ""))
        y += GAP
        for number in range(0, len(chosen), 2):
            chart.box("band", (0, y + step * number), WIDTH, step)
        _rules(chart, y - 11, y + step * len(chosen), scale)
        for number, line in enumerate(chosen):
            _line(chart, line, y + step * number, step, scale)
        y += step * len(chosen)
    return chart


def _scale(lines: Sequence[Line]) -> Scale:
    marks = [mark for line in lines for mark in line.marks if mark.cents is not None]
    widest = max((abs(mark.cents or 0.0) for mark in marks), default=1.0)
    reach = sorted(abs(mark.cents or 0.0) + (mark.sd_cents or 0.0) for mark in marks)
    usual = reach[int(0.9 * (len(reach) - 1))] if reach else 1.0
    spread = min(round_above(max(widest, usual, LEAST)), MOST)
    more = MORE * min(max((len(line.marks) for line in lines), default=1) - 1, 2)
    return Scale(-spread, spread, LEFT, WIDTH - RIGHT - more)


def _within(scale: Scale, cents: float) -> float:
    """Where a figure stands; one beyond the scale at its end."""
    return scale(max(scale.low, min(scale.high, cents)))


def _rules(chart: Canvas, top: float, foot: float, scale: Scale) -> None:
    for cents in multiples(scale.high / 2.0, scale.low, scale.high):
        chart.line("axis" if cents == 0 else "rule", (scale(cents), top + 4), (scale(cents), foot))
        chart.text("soft mid", (scale(cents), top), f"{cents:+g}" if cents else "0 cents")


def _line(chart: Canvas, line: Line, y: float, step: float, scale: Scale) -> None:
    middle = y + step / 2.0
    chart.text("bold", (4, middle + 4.2), line.written)
    each = (step - 4.0) / max(len(line.marks), 1)
    said = []
    for number, mark in enumerate(line.marks):
        if mark.cents is None or not math.isfinite(mark.cents):
            said.append("-")
            continue
        centre = y + 2.0 + each * (number + 0.5)
        if mark.sd_cents is not None:
            ends = [_within(scale, mark.cents + sign * mark.sd_cents) for sign in (-1, 1)]
            chart.line("spread", (ends[0], centre), (ends[1], centre))
            for end in ends:
                chart.line("spread", (end, centre - 2.5), (end, centre + 2.5))
        zero, end = scale(0.0), _within(scale, mark.cents)
        thick = min(each - 1.0, 8.0)
        kind = f"bar mark-{mark.letter.lower()}"
        chart.box(kind, (min(zero, end) - 0.75, centre - thick / 2), abs(end - zero) + 1.5, thick)
        said.append(f"{mark.cents:+z.1f}")
    size: dict[str, Value] = {"font-size": 9.5} if len(said) > 2 else {}
    chart.text("end", (WIDTH - 4, middle + 4.2), " / ".join(said), **size)
