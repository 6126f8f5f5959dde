"""Fingering chart: from the maker's lines and the keys' logic to the openness of every hole for every note.

A line reads `NOTE REGISTER FINGERING`, for example

    C#4  1  L123 R123 kC kC#     touches pressed; holes follow from rest states and keys
    F4   1  xoxxxx x             a pattern over `chart.order`: x closed, o open, h half open
    D5   1  kP1  alternate       a second way to play a note, tuned with less weight
    A#4  1  L12 kSide  option    one of several ways; the search chooses which one is played, and drops the others
    C#5  1  none                 nothing pressed

A finger in a row of touches (`rows`) and the key that it rests on are one: either name presses both.

A key that closes a hole wins over nothing but the hole's own rest; one that closes and one that opens the same hole at
once contradict each other, and are named.
"""

import difflib
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from optimizer.project.findings import Finding, at
from optimizer.project.likely_values import finger_meant
from optimizer.project.linkage import finger_conflict, moving
from optimizer.project.model import FINGERS, ChartSection, Hole, Key
from optimizer.project.note_names import number_of
from optimizer.project.rows import Rows, idle_finger, resting_keys
from optimizer.words import cut


class ChartError(ValueError):
    """A chart that cannot be read; the message says where and what to do."""


@dataclass(frozen=True)
class ChartNote:
    """One line of the chart.

    Attributes
    ----------
    written : note name
    register : which resonance sounds, counted from 1
    openness : per hole in project order, 0 closed to 1 open
    touches : what is pressed, for display
    alternate : a second way to a note
    option : one of several ways, of which the search chooses one
    row : its line within the chart's text, from 1
    midi : key number of the written note, 60 for C4
    """

    written: str
    register: int
    openness: tuple[float, ...]
    touches: str
    alternate: bool
    option: bool = False
    row: int | None = None
    midi: int = 0

    @property
    def label(self) -> str:
        """Note name, marked when it is an alternate fingering."""
        return f"{self.written}'" if self.alternate else self.written


def read_chart(
    chart: ChartSection, holes: list[Hole], keys: list[Key], rows: Rows | None = None
) -> tuple[list[ChartNote], list[Finding]]:
    """All readable lines, and a finding for each that is not (and for contradictions between lines)."""
    notes: list[ChartNote] = []
    problems: list[Finding] = []
    for number, raw in enumerate(chart.lines.splitlines(), start=1):
        line = re.sub(r"(^|\s)# .*|^#.*", "", raw).strip()
        if not line:
            continue
        try:
            notes.append(replace(_read_line(line, chart, holes, keys, rows or Rows()), row=number))
        except (ChartError, ValueError) as error:
            problems.append(at("chart.lines", str(error), f" ({cut(line)!r})", row=number))
    if not notes and not problems:
        problems.append(at("chart.lines", "must hold at least one note"))
    return notes, problems + _clashes(notes) + ([] if problems else _lacking(notes))


def _clashes(notes: list[ChartNote]) -> list[Finding]:
    """Notes that cannot be told apart, or that lack an `alternate` mark."""
    problems = []
    seen: dict[tuple[int, tuple[float, ...]], str] = {}
    main: dict[int, str] = {}
    plain = {note.midi for note in notes if not (note.option or note.alternate)}
    for note in notes:
        state = (note.register, note.openness)
        if state in seen and seen[state] != note.written:
            problems.append(
                at(
                    "chart.lines",
                    f"{seen[state]} and {note.written} have the same holes open in register {note.register}; "
                    "one fingering sounds one note",
                    row=note.row,
                )
            )
        seen[state] = note.written
        pitch = note.midi
        if not note.alternate:
            if pitch in main and (pitch in plain or not note.option):
                other = "" if main[pitch] == note.written else f", the second time as {note.written}"
                problems.append(
                    at(
                        "chart.lines",
                        f"{main[pitch]} stands twice{other}; mark the second line `alternate`, or both `option`",
                        row=note.row,
                    )
                )
            main.setdefault(pitch, note.written)
    return problems


def _lacking(notes: list[ChartNote]) -> list[Finding]:
    """Notes without a main fingering, or with one of several ways alone."""
    main: dict[int, str] = {}
    for note in notes:
        if not note.alternate:
            main.setdefault(note.midi, note.written)
    options, problems = Counter(note.midi for note in notes if note.option), []
    for name in dict.fromkeys(note.written for note in notes if note.midi not in main):
        problems.append(
            at("chart.lines", f"{name} has only an alternate fingering; take `alternate` off the one most used")
        )
    for pitch in (pitch for pitch, count in options.items() if count == 1):
        problems.append(
            at("chart.lines", f"{main[pitch]} has a single `option`; give it another, or take the mark off")
        )
    return problems


def _read_line(line: str, chart: ChartSection, holes: list[Hole], keys: list[Key], rows: Rows) -> ChartNote:
    tokens = line.split()
    if len(tokens) < 3:
        raise ChartError("a line needs a note, a register and a fingering, such as `A4 1 L12`")
    written, register, rest = tokens[0], tokens[1], tokens[2:]
    midi = number_of(written, chart.note_names)
    if not re.fullmatch(r"[1-9]", register):
        raise ChartError(f"the register must be a number from 1 to 9, but got {register!r}")
    alternate, option = rest[-1] == "alternate", rest[-1] == "option"
    rest = rest[:-1] if alternate or option else rest
    if not rest:
        raise ChartError("the fingering is missing")
    pattern = "".join(rest)
    if not chart.order and re.fullmatch(r"[xoh]+", pattern):
        raise ChartError("a pattern of x, o and h needs `order` in [chart], the holes that it names")
    if chart.order and re.fullmatch(r"[xoh]+", pattern):
        openness = _from_pattern(pattern, chart, holes)
    else:
        resting = resting_keys(rows, holes, keys)
        pressed = pressed_touches(rest, keys, resting)
        conflict = idle_finger(pressed, rows, holes, keys, resting) or finger_conflict(pressed, holes, keys)
        if conflict:
            raise ChartError(conflict)
        openness = openness_of_touches(pressed, holes, keys)
    return ChartNote(written, int(register), openness, " ".join(rest), alternate, option, midi=midi)


def _from_pattern(pattern: str, chart: ChartSection, holes: list[Hole]) -> tuple[float, ...]:
    if len(pattern) != len(chart.order):
        raise ChartError(f"the pattern must name {len(chart.order)} holes as chart.order does, but has {len(pattern)}")
    value = {"x": 0.0, "o": 1.0, "h": chart.half_open_percent / 100.0}
    named = dict(zip(chart.order, (value[letter] for letter in pattern), strict=True))
    return tuple(named.get(hole.id, 1.0 if hole.rest == "open" else 0.0) for hole in holes)


def pressed_touches(tokens: list[str], keys: list[Key], resting: Mapping[str, str] | None = None) -> set[str]:
    """Touches named by a line's tokens: `L123` is L1 L2 L3, `LT` a thumb, anything else a key id.

    Parameters
    ----------
    tokens : of the line
    keys : that there are
    resting : key that a finger rests on, by the finger: either presses both

    Raises
    ------
    ChartError
        for a token that is neither
    """
    ids = {key.id for key in keys}
    links = {key.id: key.moved_by for key in keys if not key.pressed}
    pressed: set[str] = set()
    for token in tokens:
        run = re.fullmatch(r"([LR])([1-4]+)", token)
        if token in links:
            raise ChartError(f"{token!r} is a link; name what moves it ({', '.join(links[token])})")
        if token in ids or token in FINGERS:
            pressed.add(token)
        elif run is not None:
            pressed.update(run.group(1) + digit for digit in run.group(2))
        elif token != "none":
            known = ", ".join(sorted(ids)) or "none are defined"
            hint = _touch_asked(token, ids)
            raise ChartError(f"{token!r} is neither a finger (such as L123 or RT) nor a key ({known}){hint}")
    for finger, key in (resting or {}).items():
        if finger in pressed or key in pressed:
            pressed |= {finger, key}
    return pressed


def _touch_asked(token: str, ids: set[str]) -> str:
    """The end of a sentence that asks for the touch that a token is likely to mean."""
    same = [name for name in sorted(ids) if name.lower() == token.lower()]
    near = difflib.get_close_matches(token, sorted(ids), n=1, cutoff=0.6)
    meant = next(iter(same), None) or finger_meant(token) or next(iter(near), None)
    return f"; did you mean {meant!r}?" if meant else ""


def openness_of_touches(pressed: set[str], holes: list[Hole], keys: list[Key]) -> tuple[float, ...]:
    """Openness of every hole when these touches are pressed.

    Raises
    ------
    ChartError
        when one key opens and another closes the same hole
    """
    active = moving(pressed, keys)
    state = []
    for hole in holes:
        closing = [key.id for key in active if hole.id in key.closes]
        opening = [key.id for key in active if hole.id in key.opens]
        if closing and opening:
            raise ChartError(f"{closing[0]} closes {hole.id} while {opening[0]} opens it; one of them has to go")
        if hole.by in pressed or closing:
            state.append(0.0)
        else:
            state.append(1.0 if opening or hole.rest == "open" else 0.0)
    return tuple(state)


def idle_keys(notes: list[ChartNote], keys: list[Key], resting: Mapping[str, str] | None = None) -> list[str]:
    """Keys and links that no line of the chart ever moves."""
    moved: set[str] = set()
    for note in notes:
        if not re.fullmatch(r"[xoh ]+", note.touches):
            moved |= {key.id for key in moving(pressed_touches(note.touches.split(), keys, resting), keys)}
    return [key.id for key in keys if key.id not in moved]


def openness_matrix(notes: list[ChartNote]) -> np.ndarray:
    """Openness of every hole in every note, shape (N, H)."""
    return np.array([note.openness for note in notes], float)
