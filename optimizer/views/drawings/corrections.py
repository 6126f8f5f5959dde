"""Corrections as drawings: the curve of changes against the worst note, and the notes from pass to pass."""

import itertools

from optimizer.records.correction import CorrectionRecord, Stage
from optimizer.views.drawings.axes import Scale, drawn_dot, span_of
from optimizer.views.drawings.canvas import Canvas

WIDTH, HEIGHT, LEFT, FOOT, EDGE = 460.0, 270.0, 46.0, 40.0, 22.0
STAGE_HEIGHT, NAMES_HEIGHT = 102.0, 18.0


def curve_drawing(record: CorrectionRecord) -> Canvas:
    """The worst note against the number of changes, from none on; the recommended list, and from where more is noise,
    with a word beside it."""
    now = max((abs(note.cents) for note in record.notes if not note.alternate), default=0.0)
    sheet = Canvas(WIDTH, HEIGHT, "worst note against the number of changes; the table lists them", "panel")
    x = Scale(-0.5, max(point.changes for point in record.curve) + 1.5, LEFT, WIDTH - EDGE)
    y = Scale(0.0, span_of([0.0, now, *(point.worst_cents for point in record.curve)])[1], HEIGHT - FOOT, EDGE)
    for value in y.ticks():
        sheet.line("rule", (LEFT, y(value)), (WIDTH - EDGE, y(value)))
        sheet.text("soft end", (LEFT - 6, y(value) + 4), f"{value:g}")
    for value in sorted({0, *(point.changes for point in record.curve)}):
        sheet.text("soft mid", (x(value), HEIGHT - FOOT + 15), f"{value:g}")
    sheet.line("axis", (LEFT, EDGE), (LEFT, HEIGHT - FOOT))
    sheet.line("axis", (LEFT, HEIGHT - FOOT), (WIDTH - EDGE, HEIGHT - FOOT))
    sheet.text("end bold", (WIDTH - EDGE, HEIGHT - 7), "changes")
    sheet.text("bold", (2, EDGE - 8), "worst note, cents")
    places = [(x(0.0), y(now)), *((x(point.changes), y(point.worst_cents)) for point in record.curve)]
    for before, after in itertools.pairwise(places):
        sheet.line("rule", before, after)
    drawn_dot(sheet, "a", places[0], "as it is")
    first = next((number for number, point in enumerate(record.curve) if point.noise), None)
    for number, (point, at) in enumerate(zip(record.curve, places[1:], strict=True)):
        drawn_dot(sheet, "b" if point.noise else "a", at, f"within {point.tolerance_cents:g} cents")
        if number in (record.recommended, first):
            word = "recommended" if number == record.recommended else "noise from here on"
            sheet.text("bold", (at[0] + 8, at[1] - 6), word)
    return sheet


def history_drawing(record: CorrectionRecord) -> Canvas:
    """A row for each stage: how far each main note is off, in the order of the chart, its name below the last."""
    most = max(max(map(abs, stage.cents)) for stage in record.history)
    height = EDGE + STAGE_HEIGHT * len(record.history) + NAMES_HEIGHT
    sheet = Canvas(2.0 * WIDTH, height, "main notes from stage to stage, cents", "notes")
    for number, stage in enumerate(record.history):
        top = EDGE + number * STAGE_HEIGHT
        _stage(sheet, stage, Scale(-most, most, top + STAGE_HEIGHT - 16.0, top + 14.0))
    names = [note.written for note in record.notes if not note.alternate]
    for place, name in enumerate(names):
        sheet.text("soft mid", (_across(place, len(names)), height - 6.0), name)
    return sheet


def _across(place: int, count: int) -> float:
    """Where a note of so many stands."""
    return LEFT + (place + 0.5) * (2.0 * WIDTH - EDGE - LEFT) / count


def _stage(sheet: Canvas, stage: Stage, y: Scale) -> None:
    right = 2.0 * WIDTH - EDGE
    words = {"designed": "as designed", "measured": "measured, pass {}", "corrected": "as pass {} should leave it"}
    said = f"worst {stage.worst_cents:.1f}, RMS {stage.rms_cents:.1f} cents"
    sheet.text("bold", (LEFT, y.end - 2.0), f"{words[stage.what].format(stage.number)}: {said}")
    sheet.line("axis", (LEFT, y(0.0)), (right, y(0.0)))
    for value in (y.low, y.high):
        sheet.text("soft end", (LEFT - 6, y(value) + 4), f"{value:+.0f}")
    for place, cents in enumerate(stage.cents):
        x = _across(place, len(stage.cents))
        sheet.line("axis", (x, y(0.0)), (x, y(cents)))
        drawn_dot(sheet, "a", (x, y(cents)), f"{cents:+.1f} cents")
