"""Tables of what a tuner showed, as a player writes them: one row a note, one column or row a pass.

| column | what stands in it |
|---|---|
| `note` | as the chart writes it |
| `register`, `fingering` | which of several fingerings of a note; the second as the chart presses it |
| `pass_1_cents` and on, or `reading_cents` | what the needle showed; empty where the note was not played |

Rows count as played from the top, pass after pass: notes that come again in one show how the instrument drifts.

Remarks above say the tuner's `# a4_hz = 440` and `# temperament = equal`, and may say `# bell_degC = 22.5`.
"""

from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from acoustics.pitch import TEMPERAMENTS, cents_between, note_frequency
from optimizer.hearing.drift import ROW_SECONDS, Reading
from optimizer.project.allowed_ranges import A4_HZ, AIR_DEGC
from optimizer.project.faults import Fault
from optimizer.project.sentences import nearest
from optimizer.project.toml_text import tables_of
from optimizer.prototype.measured_table import MeasuredTable, Row, read_table
from optimizer.prototype.quantities import Quantity
from optimizer.prototype.takes import in_order
from optimizer.prototype.toml_table import read_toml_table
from optimizer.records.layout import LayoutRecord, NoteRecord
from optimizer.records.measurement import CommonDeviations, MeasuredNote, MeasurementRecord, layout_mark
from optimizer.words import counted, listed

PASSES = 9
CALLED = "tuner table"
READINGS = ("reading_cents", *(f"pass_{number}_cents" for number in range(1, PASSES + 1)))

FARTHEST_CENTS = 120.0
"""No needle shows more; what is written beyond is another note."""

THERMOMETER_K = 1.0
"""How well a thermometer tells the air in an instrument: common practice, no source."""

QUANTITIES = (
    Quantity("note", "", "written note", needed=True),
    Quantity("register", "", "which resonance sounds", words=tuple("123456789")),
    Quantity("fingering", "", "what is pressed"),
    *(Quantity(header.removesuffix("_cents"), "cents", "what the needle showed") for header in READINGS),
)


@dataclass(frozen=True)
class Tuner:
    """What the readings are counted from: pitch of A4 [Hz], temperament; air at the bell [degC] where it was taken.
    None: as the table says."""

    a4_hz: float | None = None
    temperament: str | None = None
    bell_degC: float | None = None


def read_tuner_table(path: Path, record: LayoutRecord, told: Tuner = Tuner()) -> MeasurementRecord:
    """What a tuner showed of an instrument built from a layout.

    Parameters
    ----------
    path : CSV text, or TOML
    record : the layout
    told : in place of what the table says

    Raises
    ------
    Fault
        with everything that is to be mended
    """
    table, said = _read(path)
    tuner = _tuner(path, said, told, record)
    played: list[Reading] = []
    chart = _Chart(record, table)
    for number, row in enumerate(table.rows):
        line = chart.line_of(row)
        shown = {at: value for at, header in enumerate(READINGS) if (value := row.number(header)) is not None}
        if line is not None and chart.may_be(row, list(shown.values())):
            played += [Reading(line, at, ROW_SECONDS * number, value) for at, value in shown.items()]
    chart.ask_whose()
    table.problems.refuse()
    if not played:
        raise Fault(f"{path} has no reading in it; write cents under {READINGS[1]}", heading=f"{CALLED} to mend")
    found = _measurement(path, record, tuner, played)
    return found.model_copy(update={"remarks": [*_of_another(said, record), *found.remarks]})


def _read(path: Path) -> tuple[MeasuredTable, dict[str, Any]]:
    """A table and what it says besides."""
    if path.suffix.lower() != ".toml":
        table = read_table(path, CALLED, QUANTITIES)
        return table, dict(table.remarks)
    table = read_toml_table(path, CALLED, QUANTITIES, "notes")
    besides = tables_of(path.read_text(encoding="utf-8-sig"))
    return table, {name.lower(): str(value) for name, value in besides.items() if not isinstance(value, dict)}


def _tuner(path: Path, said: dict[str, Any], told: Tuner, record: LayoutRecord) -> Tuner:
    """What the readings are counted from; raises Fault where that is not known."""
    wrong: list[str] = []

    def number(name: str, given: float | None) -> float | None:
        text = str(said.get(name, "")).replace(",", ".")
        words = text.split()
        if given is not None or not words:
            return given
        try:
            return float(words[0])
        except ValueError:
            wrong.append(f"{path}: {name} must be a number, but got {text!r}")
            return None

    a4, bell = number("a4_hz", told.a4_hz), number("bell_degc", told.bell_degC)
    temperament = told.temperament or said.get("temperament")
    if a4 is None and not wrong:
        wanted = f"{record.reference.a4_hz:g}"
        wrong.append(
            f"{path} does not say at what A4 the tuner stood; write `# a4_hz = {wanted}` above, or say it beside"
        )
    if temperament is None:
        wrong.append(f"{path} does not say the tuner's temperament; write `# temperament = equal` above")
    elif temperament not in TEMPERAMENTS:
        known = f"{', '.join(TEMPERAMENTS)}, but got {temperament!r}{nearest(temperament, list(TEMPERAMENTS))}"
        wrong.append(f"{path}: temperament must be one of {known}")
    for name, value, bounds in (("a4_hz", a4, A4_HZ), ("bell_degC", bell, AIR_DEGC)):
        if value is not None and (bad := bounds.wrong(value)):
            wrong.append(f"{path}: {name} {bad}")
    if wrong:
        raise Fault(*wrong, heading=f"{CALLED} to mend")
    return Tuner(a4, temperament, bell)


class _Chart:
    """The lines of a layout's chart by what a row says; what cannot be found is noted in its table."""

    def __init__(self, record: LayoutRecord, table: MeasuredTable) -> None:
        self.record, self.problems, self.rows, self.unknown = record, table.problems, len(table.rows), 0
        self.lines: dict[str, list[int]] = defaultdict(list)
        for line, note in enumerate(record.notes):
            self.lines[note.written].append(line)

    def line_of(self, row: Row) -> int | None:
        """The line that a row is of."""
        name = row.word("note") or ""
        known = self.lines.get(name)
        if known is None:
            self.problems.say(self._unknown(name), row.line, "note")
            self.unknown += 1
            return None
        notes = self.record.notes
        register, fingering = row.word("register"), row.word("fingering")
        left = [line for line in known if register in (None, str(notes[line].register_number))]
        left = [line for line in left if fingering is None or _same(fingering, notes[line].touches)]
        if len(left) == 1:
            return left[0]
        ways = listed([f"register {notes[line].register_number} {notes[line].touches!r}" for line in known])
        why = "is no fingering of the chart" if not left else "may be any of several fingerings"
        self.problems.say(f"{name} {why}: the chart has {ways}; write register or fingering as it does", row.line)
        return None

    def ask_whose(self) -> None:
        """Ask before all else whose table it is, where half of its rows or more are of no note of the chart."""
        if self.unknown > 2 and 2 * self.unknown >= self.rows:
            self.problems.say(
                f"{self.unknown} of its {self.rows} rows are of notes that {self.record.instrument} does not have; is "
                "it the table of another instrument?",
                first=True,
            )

    def _unknown(self, name: str) -> str:
        """Why a note is none of the chart's, with what is likely meant."""
        by_sound = [note.written for note in self.record.notes if note.sounding == name]
        if by_sound:
            return f"{name} is not in the chart, but what its {by_sound[0]} sounds; write notes as the chart does"
        folded = {written.lower(): written for written in self.lines}
        if name.lower() in folded:
            return f"there is no note {name!r}; did you mean {folded[name.lower()]!r}?"
        hint = nearest(name, list(self.lines)) or f"; the chart goes from {self._ends()}"
        return f"there is no note {name!r} in the chart{hint}"

    def _ends(self) -> str:
        by_pitch = sorted(self.record.notes, key=lambda note: note.target_hz)
        return f"{by_pitch[0].written} to {by_pitch[-1].written}"

    def may_be(self, row: Row, readings: list[float]) -> bool:
        """Whether a needle can show these; what it cannot is noted."""
        far = next((value for value in readings if abs(value) > FARTHEST_CENTS), None)
        if far is not None:
            octaves = round(far / 1200.0)
            near = octaves and abs(far - 1200.0 * octaves) < FARTHEST_CENTS
            why = f", {counted(abs(octaves), 'octave')} off: is it another note, or register?" if near else ""
            self.problems.say(f"a needle shows at most {FARTHEST_CENTS:g} cents, but got {far:g}{why}", row.line)
        return far is None


def _same(one: str, other: str) -> bool:
    return one.split() == other.split()


def _measurement(path: Path, record: LayoutRecord, tuner: Tuner, played: list[Reading]) -> MeasurementRecord:
    assert tuner.a4_hz is not None
    assert tuner.temperament is not None
    takes, found = in_order(played)
    higher = [_shown_above_wanted(record.notes[line], record, tuner.a4_hz, tuner.temperament) for line in takes]
    notes = [
        MeasuredNote(
            line=line,
            written=record.notes[line].written,
            fingering=record.notes[line].touches,
            register_number=record.notes[line].register_number,
            cents=float(mean + more),
            sd_cents=float(sd),
            takes=[float(take + more) for take in takes[line]],
        )
        for line, mean, sd, more in zip(takes, found.mean, found.sd, higher, strict=True)
    ]
    thermometer = CommonDeviations(temperature_K=THERMOMETER_K) if tuner.bell_degC is not None else CommonDeviations()
    return MeasurementRecord(
        instrument=record.instrument,
        source=f"tuner table {path.name}",
        layout=record.id,
        layout_mark=layout_mark(record),
        a4_hz=tuner.a4_hz,
        temperament=tuner.temperament,
        temperature_degC=tuner.bell_degC,
        common=thermometer,
        notes=notes,
        remarks=[*found.remarks, *_suspected_a4(record, notes, tuner.a4_hz), *_far_off(record, notes, tuner.a4_hz)],
    )


def _shown_above_wanted(note: NoteRecord, record: LayoutRecord, a4_hz: float, temperament: str) -> float:
    """How far the middle of a tuner's scale lies above what the project wants of a note at the same A4 [cents]."""
    midi = note.sounding_midi
    if midi is None:
        midi = round(69 + cents_between(note.target_hz, record.reference.a4_hz) / 100.0)
    wanted = note.target_hz * a4_hz / record.reference.a4_hz
    return cents_between(note_frequency(midi, a4_hz, temperament), wanted)


def _of_another(said: dict[str, Any], record: LayoutRecord) -> list[str]:
    """A sentence where a table says that it is of an instrument of another name."""
    name, own = (" ".join(str(told).split()) for told in (said.get("instrument", ""), record.instrument))
    if name in ("", own):
        return []
    return [f"the table says that it is of {name}, and this is a layout of {own}: is it the right table?"]


def _off(record: LayoutRecord, notes: list[MeasuredNote], a4_hz: float) -> dict[int, float]:
    """How far notes lie off what their layout was predicted to sound, by their lines [cents]."""
    higher = cents_between(a4_hz, record.reference.a4_hz)
    predicted = {note.line: record.notes[note.line].cents for note in notes}
    return {note.line: note.cents + higher - cents for note in notes if (cents := predicted[note.line]) is not None}


FAR_CENTS = 100.0
"""A note farther from its layout is likely another note, or of another instrument."""


def _far_off(record: LayoutRecord, notes: list[MeasuredNote], a4_hz: float) -> list[str]:
    """A sentence where notes lie more than a semitone off the layout; nothing is changed."""
    far = [line for line, cents in _off(record, notes, a4_hz).items() if abs(cents) > FAR_CENTS]
    if not far:
        return []
    names = listed([record.notes[line].written for line in far])
    lies = f"{names} lies" if len(far) == 1 else f"{names} lie"
    return [
        f"{lies} more than a semitone off the layout: were other notes fingered, or is it the table of another "
        "instrument? Nothing was changed"
    ]


LARGE_CENTS, NARROW = 12.0, 3.0
"""All notes off by so much, and by so many times more than they differ among themselves, look like another A4."""


def _suspected_a4(record: LayoutRecord, notes: list[MeasuredNote], a4_hz: float) -> list[str]:
    """A sentence where all notes lie off as they would if the tuner had stood elsewhere; nothing is changed."""
    off = np.array(list(_off(record, notes, a4_hz).values()))
    if off.size < 4:
        return []
    middle = float(np.median(off))
    apart = 1.4826 * float(np.median(np.abs(off - middle)))
    if abs(middle) < max(LARGE_CENTS, NARROW * apart):
        return []
    stood = a4_hz * 2.0 ** (-middle / 1200.0)
    return [
        f"all notes lie about {middle:+.0f} cents off the layout, as if the tuner had stood at A4 = {stood:.0f} Hz and "
        f"not at {a4_hz:g}: look at it; else reed or air are far off. Nothing was changed"
    ]
