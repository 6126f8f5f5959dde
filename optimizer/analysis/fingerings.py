"""All ways to finger a note on a layout: all states of the holes that hands can hold, the near ones by real resonances.

A tree over all states tells roughly where each resonates. Which of them are worked out exactly is chosen by that, put
right by how far the chart's own line of the note is off in the tree. Ranked by cents off, effort, and weakness: an
effort of 1 counts as much as 1 cent, a peak 10 % lower than the one below or a resonance 10 % less sharp than the main
fingering's as much as 2 (rules of thumb, no source).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from acoustics.fingering_tree import Rough, rough_resonances
from acoustics.pitch import note_frequency
from acoustics.resonances import CENTS_PER_OCTAVE, lowest_hz
from optimizer.project.chart import ChartNote
from optimizer.project.editing import with_chart_lines
from optimizer.project.faults import Fault
from optimizer.project.loading import LoadedProject, parse_project
from optimizer.project.note_names import name_of, number_of, prefers_flats
from optimizer.project.reachable import Reachable, by_finger, differ, effort, in_words, reachable
from optimizer.records.fingerings import FingeringsRecord, FoundFingering, NoteFingerings
from optimizer.records.layout import LayoutRecord, NoteRecord
from optimizer.solving.real_resonances import Fingerings, Sounding, record_build, record_duct, soundings

GRID_CENTS = 24.0
ROUGHLY_CENTS = 45.0
"""By how much more than wanted the tree may be off."""
EFFORT_CENTS = 2.0
"""How far beyond the cents that are wanted a way may be for each effort less, to be worked out exactly."""
EXACT_MOST = 160
"""Fingerings of a note that are worked out exactly."""
SAME_CENTS, SAME_QUALITY = 1.0, 0.05
"""Ways no further apart are one, and the easier is kept."""
HEIGHT_GOOD = 1.2
"""Over the peak below, so that a note speaks readily (rule of thumb, no source)."""


@dataclass(frozen=True)
class Wanted:
    """A note to find ways to: its key number, name, cents beside it, and pitch [Hz]."""

    midi: int
    written: str
    off_cents: float
    hz: float


class Finder:
    """Finds ways to notes on one layout; all of its fingerings are looked through once.

    Parameters
    ----------
    loaded : the project, whose keys say what hands can hold
    record : a layout of it

    Raises
    ------
    Fault
        where the layout is not one of the project
    """

    def __init__(self, loaded: LoadedProject, record: LayoutRecord) -> None:
        if [hole.id for hole in record.holes] != [hole.id for hole in loaded.project.holes]:
            raise Fault(f"layout {record.id} is none of {loaded.source}: it has other holes")
        self.loaded, self.record, self.duct = loaded, record, record_duct(record)
        self.reachable: Reachable = reachable(loaded.project, loaded.notes)
        self.row_of = {_state(row): number for number, row in enumerate(self.reachable.openness)}
        self.chart = {(note.midi, note.register, _state(note.openness)) for note in loaded.notes}
        self.main = _main_lines(loaded.notes, record)
        targets = np.array([note.target_hz for note in record.notes])
        low = lowest_hz(targets, np.array([note.register_number for note in record.notes]))
        count = int(CENTS_PER_OCTAVE * np.log2(1.1 * targets.max() / low) / GRID_CENTS) + 2
        self.rough: Rough = rough_resonances(
            self.duct, self.reachable.openness, np.geomspace(low, 1.1 * targets.max(), count)
        )

    def ways(self, wanted: Wanted, within_cents: float, most: int) -> NoteFingerings:
        """Ways to a note, the best first.

        Parameters
        ----------
        wanted : the note
        within_cents : how far off they may be
        most : so many at the most
        """
        rows, registers = self._near(wanted, within_cents)
        asked = Fingerings(
            self.reachable.openness[rows], registers, np.full(len(rows), wanted.hz),
            np.array([hole.role == "vent" for hole in self.record.holes]),
        )  # fmt: skip
        heard = soundings(self.duct, asked, self.record.reference, record_build(self.record))[0] if len(rows) else []
        found = [
            self._way(wanted, row, int(number), sound)
            for row, number, sound in zip(rows, registers, heard, strict=True)
            if sound.cents is not None and abs(sound.cents) <= within_cents and sound.status == "ok"
        ]
        ranked = _without_twins(sorted(found, key=_cost))
        return NoteFingerings(
            written=wanted.written, off_cents=wanted.off_cents, target_hz=wanted.hz, ways=ranked[:most],
            left_out=len(ranked[most:]),
        )  # fmt: skip

    def _near(self, wanted: Wanted, within_cents: float) -> tuple[np.ndarray, np.ndarray]:
        """States (R,) that roughly sound a note, and by which resonance; no more than can be worked out exactly, the
        chart's own before all others."""
        off = CENTS_PER_OCTAVE * np.log2(self.rough.frequency / wanted.hz)
        off += self._put_right(wanted.hz)
        near = np.flatnonzero(np.abs(off) < within_cents + ROUGHLY_CENTS)
        own = [self.row_of.get(state, -1) for midi, _, state in self.chart if midi == wanted.midi]
        hard = np.where(np.isin(self.rough.row[near], own), -np.inf, self._efforts(wanted)[self.rough.row[near]])
        best = near[np.argsort(np.maximum(np.abs(off[near]) - within_cents, 0.0) + EFFORT_CENTS * hard, kind="stable")]
        kept = best[:EXACT_MOST]
        return self.rough.row[kept], self.rough.number[kept]

    def _beside(self, wanted: Wanted) -> list[frozenset[str]]:
        """What the main lines of a note's neighbours in the scale press."""
        sides = [self.main[midi] for midi in (wanted.midi - 1, wanted.midi + 1) if midi in self.main]
        rows = [self.row_of.get(_state(note.openness)) for note in sides]
        return [self.reachable.touches(row) for row in rows if row is not None]

    def _efforts(self, wanted: Wanted) -> np.ndarray:
        """Effort of every state (N,) from both neighbours of a note, each finger's by itself."""
        project, found = self.loaded.project, np.zeros(len(self.reachable.openness))
        for before in self._beside(wanted):
            held = by_finger(before, project)
            for at, choices in enumerate(self.reachable.choices):
                one = held.get(self.reachable.fingers[at], frozenset())
                each = np.array([effort(one, choice.touches, project) for choice in choices])
                found += each[self.reachable.choice[:, at]]
        return found

    def _put_right(self, hz: float) -> float:
        """How much higher the chart's lines near a pitch sound than in the tree [cents]."""
        note = min(self.main.values(), key=lambda note: abs(np.log(note.target_hz / hz)))
        rough = self.rough.frequency[self.rough.row == self.row_of.get(_state(note.openness), -1)]
        if note.frequency_hz is None or not rough.size:
            return 0.0
        cents = CENTS_PER_OCTAVE * np.log2(note.frequency_hz / rough)
        return float(cents[np.argmin(np.abs(cents))])

    def _way(self, wanted: Wanted, row: int, register: int, sound: Sounding) -> FoundFingering:
        touches, state = self.reachable.touches(row), _state(self.reachable.openness[row])
        project = self.loaded.project
        assert sound.frequency_hz is not None
        assert sound.cents is not None
        assert sound.quality is not None
        beside = self._beside(wanted)
        in_chart = not wanted.off_cents and (wanted.midi, register, state) in self.chart
        main = self.main.get(wanted.midi)
        words = in_words(touches, project)
        trill = any(differ(touches, other, project) == 1 for other in beside)
        another = "  alternate" if any(note.midi == wanted.midi for note in self.loaded.notes) else ""
        return FoundFingering(
            kind="chart" if in_chart else "trill" if trill else "alternate",
            touches=words,
            register_number=register,
            frequency_hz=sound.frequency_hz,
            cents=sound.cents,
            sd_cents=sound.sd_cents or 0.0,
            height_over_lower=sound.height_over_lower,
            quality_over_main=sound.quality / main.quality if main and main.quality else None,
            effort=sum(effort(other, touches, project) for other in beside),
            line=f"{wanted.written}  {register}  {words}{another}",
        )


def _state(openness: Sequence[float] | np.ndarray) -> bytes:
    """A state of the holes to look up."""
    return np.asarray(openness, float).tobytes()


def _main_lines(notes: Sequence[ChartNote], record: LayoutRecord) -> dict[int, NoteRecord]:
    """The layout's main line of each note, by the key number it is written with."""
    number = {note.written: note.midi for note in notes}
    return {number[note.written]: note for note in record.notes if not note.alternate and note.written in number}


def _cost(way: FoundFingering) -> float:
    """What a way is ranked by, see the module; the less the better."""
    low = 0.0 if way.height_over_lower is None else max(0.0, HEIGHT_GOOD - way.height_over_lower)
    dull = 0.0 if way.quality_over_main is None else max(0.0, 1.0 - way.quality_over_main)
    return abs(way.cents) + way.effort + 20.0 * (low + dull)


def _without_twins(ways: Sequence[FoundFingering]) -> list[FoundFingering]:
    """Ways (ranked) without those that sound like an easier one; of the chart's own none is left out."""
    kept: list[FoundFingering] = []
    for way in sorted(ways, key=lambda way: (way.kind != "chart", way.effort)):
        twin = any(
            abs(way.cents - other.cents) <= SAME_CENTS
            and way.register_number == other.register_number
            and (way.quality_over_main is None or other.quality_over_main is None
                 or abs(way.quality_over_main - other.quality_over_main) <= SAME_QUALITY)
            for other in kept
        )  # fmt: skip
        if way.kind == "chart" or not twin:
            kept.append(way)
    return sorted(kept, key=_cost)


def wanted_notes(loaded: LoadedProject, record: LayoutRecord, names: Sequence[str], off_cents: float) -> list[Wanted]:
    """The notes to find ways to.

    Parameters
    ----------
    loaded, record : a project and a layout of it
    names : written names; of none all of the chart's notes
    off_cents : how far beside each, as 50 for a quarter tone

    Raises
    ------
    Fault
        for a name that is none, or that lies more than a semitone beyond the chart's notes
    """
    known = {note.midi: note.written for note in loaded.notes}
    numbers, problems = [], []
    for name in names:
        try:
            numbers.append(number_of(name, loaded.project.chart.note_names))
        except ValueError as error:
            problems.append(str(error))
            continue
        if not min(known) - 1 <= numbers[-1] <= max(known) + 1:
            problems.append(f"{name} lies beyond the chart, from {known[min(known)]} to {known[max(known)]}")
    if problems:
        raise Fault(*problems)
    flats = prefers_flats((note.written for note in loaded.notes), loaded.project.chart.note_names)
    main = _main_lines(loaded.notes, record)
    found = []
    for midi in numbers or sorted(known):
        written = known.get(midi) or name_of(midi, loaded.project.chart.note_names, flats)
        hz = (
            main[midi].target_hz
            if midi in main
            else note_frequency(
                midi + record.reference.transposition_semitones, record.reference.a4_hz, record.reference.temperament
            )
        )
        found.append(Wanted(midi, written, off_cents, hz * 2.0 ** (off_cents / CENTS_PER_OCTAVE)))
    return found


def fingerings_of(finder: Finder, wanted: Sequence[Wanted], within_cents: float, most: int) -> FingeringsRecord:
    """Ways to some notes.

    Parameters
    ----------
    finder : of a layout
    wanted : the notes
    within_cents : how far off they may be
    most : so many of each note at the most
    """
    return FingeringsRecord(
        instrument=finder.record.instrument,
        layout=finder.record.id,
        fingerings=finder.reachable.fingerings,
        states=len(finder.reachable.openness),
        within_cents=within_cents,
        notes=[finder.ways(each, within_cents, most) for each in wanted],
    )


def best_new(found: FingeringsRecord) -> list[FoundFingering]:
    """The best way to each note that is not in the chart yet.

    Raises
    ------
    Fault
        where there is none, and beside notes, which no line of a chart can be
    """
    if any(note.off_cents for note in found.notes):
        raise Fault("a chart has lines for its notes alone, none for what lies beside them")
    best = [next((way for way in note.ways if way.kind != "chart"), None) for note in found.notes]
    if new := [way for way in best if way is not None]:
        return new
    raise Fault(f"nothing to add to the chart: it has every way within {found.within_cents:g} cents that is shown")


def with_lines(loaded: LoadedProject, lines: Sequence[str]) -> str:
    """A project's text with more lines in its chart.

    Parameters
    ----------
    loaded : the project
    lines : as `FoundFingering.line` has them

    Raises
    ------
    Fault
        where the text cannot be changed by a program; with the lines to add by hand
    ProjectError
        where the project cannot be read with them
    """
    text = with_chart_lines(loaded.text, lines)
    if text is None:
        raise Fault("the project's text cannot be changed by a program; add to its chart:", *lines)
    return parse_project(text, loaded.source, rule_out=False).text
