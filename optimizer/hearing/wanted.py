"""Which notes may have been played: the lines of a layout's chart, lists of notes in the order played, names of files.

A list names a note as the chart writes it, `D5`; where a note has several fingerings, `D5` is the main one, `D5'` the
alternate one, and `D5 kP1` the one with that fingering. Items stand on lines of their own, or with commas between; a
table with the columns `note` and `fingering`, as one takes it to the bench, is such a list too.
"""

import difflib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from acoustics.pitch import midi_number
from optimizer.project.faults import Fault
from optimizer.project.file_text import text_of
from optimizer.records.layout import LayoutRecord
from optimizer.words import cut, listed

MOST_LETTERS, MOST_NOTES = 100_000, 2000
MOST_WRONG = 20


@dataclass(frozen=True)
class Line:
    """One line of the chart.

    Attributes
    ----------
    number : its place among the layout's notes
    written, fingering, register_number, alternate, midi : as the layout says them
    wanted_hz : pitch that cents are counted from
    expected_hz : pitch it is predicted to have, the wanted one where there is no prediction
    """

    number: int
    written: str
    fingering: str
    register_number: int
    alternate: bool
    midi: int | None
    wanted_hz: float
    expected_hz: float

    @property
    def label(self) -> str:
        """Its name, marked where it is an alternate fingering."""
        return f"{self.written}'" if self.alternate else self.written


def lines_of(record: LayoutRecord, a4_hz: float) -> list[Line]:
    """Lines of a layout's chart, wanted at a pitch of A4."""
    return [
        Line(
            number, note.written, note.touches, note.register_number, note.alternate, note.written_midi,
            note.target_hz * a4_hz / record.reference.a4_hz, note.frequency_hz or note.target_hz,
        )
        for number, note in enumerate(record.notes)
    ]  # fmt: skip


def line_named(item: str, lines: Sequence[Line]) -> Line | None:
    """The line that an item of a list means; None where there is none."""
    words = item.replace("♯", "#").replace("♭", "b").split()
    if not words:
        return None
    name, touches = words[0], words[1:]
    named = [line for line in lines if name in (line.written, line.label)] or _same_key(name, lines)
    if touches:
        same = [line for line in named if sorted(line.fingering.split()) == sorted(touches)]
        return same[0] if same else None
    exactly = [line for line in named if line.label == name]
    return next(iter(exactly or named), None)


def _same_key(name: str, lines: Sequence[Line]) -> list[Line]:
    """Lines of the key that a name means: Bb4 is A#4."""
    mark = "'" if name.endswith("'") else ""
    try:
        midi = midi_number(name.removesuffix(mark))
    except ValueError:
        return []
    return [line for line in lines if line.midi == midi and line.alternate == bool(mark)]


def read_order(path: Path, lines: Sequence[Line]) -> list[Line]:
    """Lines in the order of a list of notes.

    Parameters
    ----------
    path : of the list, text
    lines : of the chart

    Raises
    ------
    Fault
        for a file that is no text, and with every note that the chart does not have
    """
    text = text_of(path, Fault, missing="list", name="list of notes", whole="list of notes")
    if len(text) > MOST_LETTERS:
        raise Fault(f"{path} has {len(text)} letters; a list of notes has one note a line")
    found, wrong = list[Line](), list[str]()
    for number, item in _listed(text, lines):
        line = line_named(item, lines)
        if line is None:
            wrong.append(f"line {number}: {_unknown(item, lines)}")
        else:
            found.append(line)
    if not found and not wrong:
        wrong = ["names no note; write one a line, in the order they were played"]
    if len(found) > MOST_NOTES:
        wrong.append(f"has {len(found)} notes, more than anyone plays in a take")
    if wrong:
        raise Fault(*(f"{path.name}: {each}" for each in wrong[:MOST_WRONG]))
    return found


def _listed(text: str, lines: Sequence[Line]) -> Iterator[tuple[int, str]]:
    """Items of a list or a table, each with the number of its row."""
    rows = [(number, re.sub(r"(^|\s)# .*|^#.*", "", row)) for number, row in enumerate(text.splitlines(), start=1)]
    rows = [(number, row) for number, row in rows if row.strip()]
    heads = [cell.strip().lower() for cell in re.split(r"[,;\t]", rows[0][1])] if rows else []
    if "note" not in heads:
        yield from ((number, item) for number, row in rows for item in _items(row, lines))
        return
    named = [heads.index(head) for head in ("note", "fingering") if head in heads]
    for number, row in rows[1:]:
        cells = re.split(r"[,;\t]", row)
        yield number, " ".join(cells[at].strip() for at in named if at < len(cells))


def _items(row: str, lines: Sequence[Line]) -> list[str]:
    """Items of a row: between commas; or words, where each by itself is a note."""
    parts = [part.strip() for part in re.split(r"[,;]", row) if part.strip()]
    words = [word for part in parts for word in part.split()]
    return words if all(line_named(word, lines) for word in words) else parts


def _unknown(item: str, lines: Sequence[Line]) -> str:
    """A sentence about a note that the chart does not have."""
    name, *touches = item.split()
    same = [line for line in lines if line.written == name]
    if touches and same:
        ways = listed([repr(line.fingering) for line in same])
        return f"{name} is not played {cut(' '.join(touches))!r} in the chart, but {ways}"
    near = difflib.get_close_matches(name, [line.written for line in lines], n=1, cutoff=0.5)
    asked = f"; did you mean {near[0]}?" if near else ""
    return f"the chart has no note {cut(item)!r}{asked}"


def line_of_file(path: Path, lines: Sequence[Line]) -> Line | None:
    """The note that a file is named after, such as `C#4-2.flac` or `D5 kP1.wav`; None where it is named otherwise."""
    stem = path.stem.strip()
    for name in (stem, re.sub(r"(?:[-_ ]+\d+|\s*\(\d+\))$", "", stem)):
        line = line_named(name.replace("_", " "), lines) if name.strip() else None
        if line is not None:
            return line
    return None
