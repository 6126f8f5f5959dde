"""What recordings hold, as a drawing: the pitch of each take in time, the notes found in it, and what was left out."""

import numpy as np

from acoustics.arrays import Array
from acoustics.pitch import note_frequency, note_name
from optimizer.hearing.session import Session, Take
from optimizer.hearing.tones import Tone
from optimizer.views.drawings.axes import Scale
from optimizer.views.drawings.canvas import INK, Canvas, Looks
from optimizer.words import clock, counted, cut

WIDTH_MM, MARGIN, HEAD, ROW_MM, GAP_MM = 297.0, 20.0, 20.0, 46.0, 15.0
ROW_SECONDS = 40.0
LINE_MM = 4.4
TICK_SECONDS = 5.0
BEYOND_CENTS = 150.0
"""How far a panel reaches beyond the pitches in it."""

MANY_CENTS = 2000.0
"""A panel of more names C and G alone beside it."""

MOST_TOLD = 40
PALE, WRONG = "#8a969b", "#b4543f"

LOOKS: Looks = {
    "title": {"font_size": 6.0, "fill": INK, "font_weight": "bold"},
    "said": {"font_size": 3.4, "fill": INK},
    "take": {"font_size": 3.8, "fill": INK, "font_weight": "bold"},
    "figure": {"font_size": 2.6, "fill": PALE, "text_anchor": "end"},
    "time": {"font_size": 2.6, "fill": PALE, "text_anchor": "middle"},
    "rule": {"stroke": "#dde3e1", "stroke_width": 0.25},
    "track": {"stroke": INK, "stroke_width": 0.3, "fill": "none"},
    "tone": {"stroke": "#b9d6cf", "stroke_width": 2.4},
    "left out": {"stroke": "#ecc3ba", "stroke_width": 2.4},
    "name": {"font_size": 2.8, "fill": INK, "text_anchor": "middle"},
    "mark": {"font_size": 2.8, "fill": WRONG, "text_anchor": "middle", "font_weight": "bold"},
    "why": {"font_size": 3.2, "fill": WRONG},
}


def takes_drawing(session: Session) -> Canvas:
    """The drawing of all takes."""
    record = session.measurement
    why = [_why(take) for take in session.takes]
    rows = [max(1, int(np.ceil(take.heard.seconds / ROW_SECONDS))) for take in session.takes]
    heights = [9.0 + many * (ROW_MM + GAP_MM) + LINE_MM * len(said) for many, said in zip(rows, why, strict=True)]
    title = f"{record.instrument}, layout {record.layout}, as recorded"
    sheet = Canvas(WIDTH_MM, HEAD + sum(heights) + 4.0, title, "notes", unit="mm", looks=LOOKS)
    sheet.text("title", (MARGIN, 10), title)
    sheet.text(
        "said", (MARGIN, 16), "pitch as it sounds, A4 = 440 Hz; green: notes found, as written; red: left out, and why"
    )
    y = HEAD
    for take, said, many, height in zip(session.takes, why, rows, heights, strict=True):
        sheet.text("take", (MARGIN, y + 4), _headline(take))
        pitch = _span(take)
        for row in range(many):
            top = y + 9.0 + row * (ROW_MM + GAP_MM)
            _row(sheet, take, Scale(*pitch, top + ROW_MM, top), row * ROW_SECONDS)
        for number, each in enumerate(said):
            sheet.text("why", (MARGIN, y + 9.0 + many * (ROW_MM + GAP_MM) - 4.0 + number * LINE_MM), each)
        y += height
    return sheet


def _headline(take: Take) -> str:
    found = sum(match.line is not None for match in take.alignment.matches)
    return f"{take.heard.source}: {counted(found, 'note')} found, {len(_left_out(take))} left out"


def _left_out(take: Take) -> list[tuple[float, float | None, str]]:
    """When, how high and why, of all that is no note of the chart, in order of time."""
    tones = zip(take.heard.tones, take.alignment.matches, strict=True)
    found = [(tone.begin, tone.hz, match.why) for tone, match in tones if match.line is None]
    return sorted([*found, *((each.at, each.hz, each.why) for each in take.heard.unheard)], key=lambda each: each[0])


def _why(take: Take) -> list[str]:
    """A numbered sentence for each thing left out."""
    left = _left_out(take)
    said = [f"{number}  {clock(at)}: {cut(why)}" for number, (at, _, why) in enumerate(left[:MOST_TOLD], start=1)]
    return said + ([f"and {len(left) - MOST_TOLD} more"] if len(left) > MOST_TOLD else [])


def _span(take: Take) -> tuple[float, float]:
    """Lowest and highest pitch of a take's panels, in cents above 1 Hz."""
    known = [tone.hz for tone in take.heard.tones] + [each.hz for each in take.heard.unheard if each.hz]
    cents = 1200.0 * np.log2(known or [220.0])
    return float(np.min(cents)) - BEYOND_CENTS, float(np.max(cents)) + BEYOND_CENTS


def _row(sheet: Canvas, take: Take, height: Scale, begin: float) -> None:
    """So many seconds of a take; of a short one no more than it lasts."""
    lasts = TICK_SECONDS * max(1.0, float(np.ceil(take.heard.seconds / TICK_SECONDS)))
    shown_s = min(ROW_SECONDS, lasts)
    across = Scale(begin, begin + shown_s, MARGIN, WIDTH_MM - MARGIN)
    for midi in range(0, 128):
        cents = 1200.0 * np.log2(note_frequency(midi))
        named = "#" not in note_name(midi) if height.high - height.low < MANY_CENTS else midi % 12 in (0, 7)
        if named and height.low <= cents <= height.high:
            sheet.line("rule", (MARGIN, height(cents)), (WIDTH_MM - MARGIN, height(cents)))
            sheet.text("figure", (MARGIN - 2, height(cents) + 1), note_name(midi))
    for seconds in np.arange(begin, begin + shown_s + 1.0, TICK_SECONDS):
        sheet.text("time", (across(seconds), height.start + 4), clock(seconds))
    _tones(sheet, take, across, height)
    track, inside = take.heard.track, take.heard.sounding
    cents = 1200.0 * np.log2(np.maximum(track.hz, 1.0))
    shown = inside & (track.seconds >= begin) & (track.seconds < begin + ROW_SECONDS)
    shown &= (cents >= height.low) & (cents <= height.high)
    if shown.any():
        sheet.path("track", _steps(np.flatnonzero(shown), track.seconds, cents, across, height))


def _steps(frames: Array, seconds: Array, cents: Array, across: Scale, height: Scale) -> str:
    """A path through frames (n,) by number of a track's times and cents (m,), lifted where frames are left out."""
    parts = []
    for before, frame in zip([-9, *frames[:-1]], frames, strict=True):
        step = "L" if frame - before <= 2 and abs(cents[frame] - cents[before]) < BEYOND_CENTS else "M"
        parts.append(f"{step}{across(seconds[frame]):.2f} {height(cents[frame]):.2f}")
    return "".join(parts)


def _tones(sheet: Canvas, take: Take, across: Scale, height: Scale) -> None:
    """The notes found, with their names, and numbers of what was left out, within the time of a row."""
    numbers = {at: number for number, (at, _, _) in enumerate(_left_out(take), start=1)}
    for tone, match in zip(take.heard.tones, take.alignment.matches, strict=True):
        if across.low <= tone.begin < across.high:
            name = ("name", match.line.label) if match.line else ("mark", str(numbers[tone.begin]))
            _tone(sheet, tone, "tone" if match.line else "left out", name, across, height)
    for each in take.heard.unheard:
        if across.low <= each.at < across.high:
            sheet.text("mark", (across(each.at), height.end - 1.5), str(numbers[each.at]))


def _tone(sheet: Canvas, tone: Tone, kind: str, name: tuple[str, str], across: Scale, height: Scale) -> None:
    y = height(float(1200.0 * np.log2(tone.hz)))
    end = min(tone.end, across.high)
    sheet.line(kind, (across(tone.begin), y), (across(end), y))
    sheet.text(name[0], ((across(tone.begin) + across(end)) / 2.0, y - 2.0), name[1])
