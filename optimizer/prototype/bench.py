"""An instrument at the bench: what each change does to every note and every limit, by the exact model.

Slopes are what the least step of a change does, worked out anew and divided by it; what a list of changes does together
is worked out of the changed layout itself.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Floats
from acoustics.resonances import CENTS_PER_OCTAVE, chart_errors
from optimizer.prototype.changes import KINDS, Change, changed, possible
from optimizer.prototype.correction_list import Columns, chosen, settled
from optimizer.prototype.kept_limits import OF_LIMITS, KeptLimits
from optimizer.records.layout import LayoutRecord
from optimizer.solving.real_resonances import record_duct

STEPS = 2
"""Of Newton's method, from the layout's own resonance to that of the changed one."""

HEARD = 1.0
"""A change that moves no note by so much at its most is none [cents]."""

KEPT_MM = 1e-6
ROUNDS = 2


class Candidate(NamedTuple):
    """A change that may be made, one way: kind, place, 1 or -1, greatest amount."""

    kind: str
    place: str
    way: int
    most: float

    def of(self, amount: float) -> Change:
        """It, by an amount in its kind's unit."""
        return Change(self.kind, self.place, self.way * amount)


class Bench:
    """A layout whose notes (N,) sound, and what may be changed of the instrument built from it.

    Attributes
    ----------
    record, limits : the layout and its limits, None where no project tells any
    lines : (N,) places of the notes in the record
    candidates : (C,) of the columns, in their order
    """

    def __init__(self, record: LayoutRecord, limits: KeptLimits | None) -> None:
        self.record, self.limits = record, limits
        self.lines = [line for line, note in enumerate(record.notes) if note.frequency_hz is not None]
        notes = [record.notes[line] for line in self.lines]
        self.openness = np.array([note.openness for note in notes])
        self.frequency = np.array([note.frequency_hz for note in notes], float)
        self._as_is = self._above(record)
        self.candidates = [
            Candidate(kind, place, way, float(most))
            for kind, place, low, high in possible(record)
            for way, most in ((1, high), (-1, -low))
            if most >= KINDS[kind].least
        ]
        self.candidates = [
            each for each in self.candidates if np.max(np.abs(self.moved([each.of(each.most)]))) >= HEARD
        ]

    def moved(self, changes: Sequence[Change]) -> Floats:
        """How far changes together move each note (N,) [cents]."""
        return self._above(changed(self.record, changes)) - self._as_is

    def _above(self, record: LayoutRecord) -> Floats:
        duct, cents = record_duct(record), np.zeros(len(self.lines))
        for _ in range(STEPS):
            cents = cents + chart_errors(duct, self.openness, self.frequency * 2.0 ** (cents / CENTS_PER_OCTAVE))
        return np.asarray(cents)

    def broken_by(self, changes: Sequence[Change]) -> Floats:
        """How far changes together break each limit (m,) [mm], kept at 0 and below."""
        if self.limits is None:
            return np.zeros(0)
        return self.limits.broken_by(changed(self.record, [each for each in changes if each.kind in OF_LIMITS]))

    def kept(self, changes: Sequence[Change]) -> list[Change]:
        """The same as far as no limit is broken: what breaks one goes back step by step, and is left out below its
        least."""
        made = list(changes)
        while made and self.limits is not None and np.max(broken := self.broken_by(made)) > KEPT_MM:
            worst, now = int(np.argmax(broken)), self.broken_by([])
            guilty = [each for each in made if self.broken_by([each])[worst] > now[worst]] or made
            made = [_less(each) if each in guilty else each for each in made]
            made = [each for each in made if abs(each.amount) >= KINDS[each.kind].least]
        return made

    def columns(self) -> Columns:
        """What may be changed, as numbers; limits that nothing comes near are left out."""
        least = np.array([KINDS[each.kind].least for each in self.candidates])
        firsts = [[each.of(step)] for each, step in zip(self.candidates, least, strict=True)]
        slopes = np.column_stack([self.moved(first) for first in firsts]) / least
        now = self.broken_by([])
        rows = np.column_stack([self.broken_by(first) - now for first in firsts]) / least
        most = np.array([each.most for each in self.candidates])
        near = now + np.sum(np.maximum(rows, 0.0) * most, axis=1) > 0.0 if now.size else np.zeros(0, bool)
        shared = [(KINDS[each.kind].excludes, each.place) for each in self.candidates]
        group = np.array([shared.index(each) for each in shared])
        cost = np.array([KINDS[each.kind].cost for each in self.candidates])
        return Columns(slopes, least, most, cost, group, rows[near], np.maximum(-now, 0.0)[near])

    def changes(self, amounts: Floats) -> list[Change]:
        """Changes of amounts (C,), in steps of their kinds, none greater than asked."""
        found = []
        for each, amount in zip(self.candidates, amounts, strict=True):
            step = KINDS[each.kind].step
            if amount > 0.0:
                found.append(each.of(round(max(np.floor(amount / step + 1e-6) * step, KINDS[each.kind].least), 4)))
        return found

    def amounts(self, changes: Sequence[Change]) -> Floats:
        """Amounts (C,) of changes."""
        places = {each[:3]: number for number, each in enumerate(self.candidates)}
        found = np.zeros(len(self.candidates))
        for each in changes:
            found[places[each.kind, each.place, 1 if each.amount > 0 else -1]] = abs(each.amount)
        return found


def listed(
    bench: Bench, columns: Columns, errors: Floats, allowed: Floats, seconds: float
) -> tuple[list[Change], bool]:
    """The cheapest list of changes, its amounts settled anew on what it does by the exact model; whether it is proved
    to be the cheapest.

    Parameters
    ----------
    bench, columns : what may be changed
    errors, allowed : (N,) of the notes, and how far each may be off either way [cents]
    seconds : how long the choice may take [s]
    """
    found = chosen(errors, allowed, columns, seconds)
    proved, wanted = found.proved, found.amounts > 0.0
    for _ in range(ROUNDS if np.any(wanted) else 0):
        amounts = bench.amounts(bench.changes(found.amounts))
        bent = bench.moved(bench.changes(amounts)) - columns.slopes @ amounts
        found = settled(errors + bent, allowed, columns, wanted)
    return bench.kept(bench.changes(found.amounts)), proved


def _less(change: Change) -> Change:
    """The same, a step smaller."""
    step = np.copysign(KINDS[change.kind].step, change.amount)
    return change._replace(amount=round(float(change.amount - step), 4))
