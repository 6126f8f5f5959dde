"""What a search needs to know of every layout that it finds: a part of a layout's JSON, read without the rest."""

from collections.abc import Iterable
from typing import Protocol

from pydantic import Field

from optimizer.records.files import Record
from optimizer.records.keys import HoleCover


class Heard(Protocol):
    """A note, of which is known whether it sounds as wanted."""

    @property
    def status(self) -> str:
        """`ok` where it does."""


def violation_mm(margins: dict[str, float]) -> float:
    """Largest violation of a set of margins [mm], 0 when all hold."""
    return max(0.0, -min(margins.values(), default=0.0))


def wrong_notes(notes: Iterable[Heard]) -> int:
    """How many notes do not sound as wanted."""
    return sum(note.status != "ok" for note in notes)


class NoteVerdict(Record):
    """Whether a note sounds as wanted."""

    status: str


class BindingName(Record):
    """What binds, by its name."""

    name: str


class LayoutVerdict(Record):
    """A part of a `LayoutRecord`'s JSON."""

    id: str
    notes: list[NoteVerdict]
    objectives: dict[str, float]
    feasible: bool
    margins_mm: dict[str, float]
    binds: list[BindingName]
    holes: list[HoleCover]
    pieces: list[object] = Field(default_factory=list)
    reach: list[object]
    to_settle: list[str] = Field(default_factory=list)

    @property
    def violation_mm(self) -> float:
        """Largest violation of a limit [mm], 0 when all hold."""
        return violation_mm(self.margins_mm)

    @property
    def wrong_notes(self) -> int:
        """How many notes do not sound as wanted."""
        return wrong_notes(self.notes)
