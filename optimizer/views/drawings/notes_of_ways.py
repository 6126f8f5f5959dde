"""Every note of an extension on one line across the drawing: how far it is off now and by each way, in cents."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from optimizer.analysis.note_changes import Line, line_of
from optimizer.records.extension import TITLES, ExtensionRecord
from optimizer.records.layout import LayoutRecord
from optimizer.views.drawings.axes import Scale, drawn_dot
from optimizer.views.drawings.canvas import Canvas

WIDTH, HEIGHT, LEFT, TOP, FOOT = 1000.0, 270.0, 44.0, 64.0, 34.0
LETTERS = "ABCD"
"""Marks of what is as it is and of the ways, in their order: circle, square, triangle, diamond."""


@dataclass(frozen=True)
class Series:
    """One layout's notes by chart line [cents], with its mark and name."""

    letter: str
    name: str
    cents: Mapping[Line, float | None]


def series(record: ExtensionRecord, present: LayoutRecord, ways: Mapping[str, LayoutRecord]) -> list[Series]:
    """The present instrument and each way."""
    layouts = [("as it is", present), *((TITLES[way.way], ways[way.way]) for way in record.ways)]
    return [
        Series(letter, name, {line_of(note): note.cents for note in reversed(layout.notes)})
        for letter, (name, layout) in zip(LETTERS, layouts, strict=False)
    ]


def series_of_both(record: ExtensionRecord) -> tuple[list[Series], list[Line]]:
    """The notes of both instruments, as they are and by each way, from the record alone; and their chart lines."""
    lines = {(note.written, note.register_number, note.alternate): note for note in record.ways[0].notes}
    found = [Series(LETTERS[0], "as it is", {line: note.before_cents for line, note in lines.items()})]
    for letter, way in zip(LETTERS[1:], record.ways, strict=False):
        after = {(note.written, note.register_number, note.alternate): note.after_cents for note in way.notes}
        found.append(Series(letter, TITLES[way.way], after))
    return found, list(lines)


def chart_lines(extended: LayoutRecord) -> list[Line]:
    """Chart lines of the extended instrument, each once: by register as the chart has them, alternates last."""
    return sorted(dict.fromkeys(line_of(note) for note in extended.notes), key=lambda line: (line[2], line[1]))


def notes_drawing(found: Sequence[Series], lines: Sequence[Line]) -> Canvas:
    """The drawing; notes, by name and register, that the first series lacks are new."""
    before = {line[:2] for line in found[0].cents}
    new = [line[:2] not in before for line in lines]
    reach = max((abs(one.cents.get(line) or 0.0) for one in found for line in lines), default=0.0)
    spread = max(1.0, 1.08 * reach)
    height = Scale(-spread, spread, HEIGHT - FOOT, TOP)
    drawing = Canvas(WIDTH, HEIGHT, "cents of each note, now and by each way; the table lists them", "notes")
    step = (WIDTH - LEFT) / max(len(lines), 1)
    _legend(drawing, found)
    _rules(drawing, height)
    for number, line in enumerate(lines):
        middle = LEFT + step * (number + 0.5)
        if number % 2 == 0:
            drawing.box("band", (middle - step / 2, TOP), step, HEIGHT - TOP - FOOT)
        _heading(drawing, lines, number, middle - step / 2)
        drawing.text("mid bold" if new[number] else "mid", (middle, HEIGHT - FOOT + 15), line[0])
    for start, end in _runs(new):
        left, right = LEFT + step * start + 3, LEFT + step * end - 3
        drawing.line("axis", (left, HEIGHT - FOOT + 19), (right, HEIGHT - FOOT + 19))
        drawing.text("mid soft", (0.5 * (left + right), HEIGHT - 3), "new")
    drawing.line("axis", (LEFT, height(0.0)), (WIDTH, height(0.0)))
    for place, one in enumerate(found):
        shift = (place - (len(found) - 1) / 2.0) * step / (len(found) + 0.6)
        for number, line in enumerate(lines):
            cents = one.cents.get(line)
            if cents is not None:
                x = LEFT + step * (number + 0.5) + shift
                drawing.line("lead", (x, height(0.0)), (x, height(cents)))
                tip = f"{line[0]}, {one.name}: {cents:+z.2f} cents"
                drawn_dot(drawing, one.letter, (x, height(cents)), tip)
    return drawing


def _runs(chosen: Sequence[bool]) -> Iterator[tuple[int, int]]:
    """Where stretches of chosen places begin and end."""
    for new, group in groupby(range(len(chosen)), key=lambda place: chosen[place]):
        places = list(group)
        if new:
            yield places[0], places[-1] + 1


def _legend(drawing: Canvas, found: Sequence[Series]) -> None:
    drawing.text("bold", (0, 16), "cents of each note")
    x = 150.0
    for one in found:
        drawn_dot(drawing, one.letter, (x, 12.0), one.name)
        drawing.text("", (x + 10, 16), one.name)
        x += 7.2 * len(one.name) + 44


def _rules(drawing: Canvas, height: Scale) -> None:
    for value in height.ticks():
        drawing.line("rule", (LEFT, height(value)), (WIDTH, height(value)))
        drawing.text("soft end", (LEFT - 6, height(value) + 4), f"{value:+g}" if value else "0")


def _heading(drawing: Canvas, lines: Sequence[Line], number: int, x: float) -> None:
    """Over the first note of each register, its number; over the first alternate, that it is one."""
    before, line = lines[number - 1] if number else None, lines[number]
    if before is None or before[1:] != line[1:]:
        if not line[2]:
            drawing.text("soft", (x + 3, TOP - 6), f"register {line[1]}")
        elif before is None or not before[2]:
            drawing.text("soft end", (WIDTH, TOP - 18), "other way")
        drawing.line("axis", (x, TOP - 14), (x, HEIGHT - FOOT))
