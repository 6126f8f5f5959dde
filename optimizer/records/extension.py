"""File of an extension: an instrument carried on to lower notes, three ways."""

from typing import Literal

from optimizer.records.files import SCHEMA_VERSION, Record
from optimizer.records.fits import FitSummary

TITLES = {"free": "everything new", "kept": "upper pieces kept", "redrilled": "kept, holes opened up"}


class NoteChange(Record):
    """A note that was there before: its error as it is and extended [cents]; null where it does not sound."""

    written: str
    register_number: int
    alternate: bool
    weight: float
    before_cents: float | None
    after_cents: float | None


class Redrilled(Record):
    """A hole opened up. worth_cents: RMS that was lost when it alone stayed as it is, when holes were chosen."""

    hole: str
    from_mm: float
    to_mm: float
    worth_cents: float | None = None


class WayEntry(Record):
    """One way of extending.

    common_rms_cents, common_worst_cents : over the notes of both instruments, by the extended one's weights
    cost_cents : what that RMS is more than before, below 0 a gain
    print_pieces : numbers of the pieces to print, from the reed; passed_over: holes that might have been opened up
    touches_moved : holes of kept pieces whose plate gets its touch elsewhere, so that the plate is made anew
    """

    way: Literal["free", "kept", "redrilled"]
    sentence: str
    fit: FitSummary
    common_rms_cents: float
    common_worst_cents: float
    cost_cents: float
    notes: list[NoteChange]
    pieces: int
    print_pieces: list[int]
    redrill: list[Redrilled]
    passed_over: list[Redrilled]
    touches_moved: list[str]
    reed_volume_cm3: float
    solves: int

    @property
    def feasible(self) -> bool:
        """Whether everything is met."""
        return self.fit.feasible


class ExtensionRecord(Record):
    """A present instrument and its extension. before_rms_cents, before_worst_cents: of the notes of both."""

    schema_name: Literal["holewright-extension"] = "holewright-extension"
    schema_version: str = SCHEMA_VERSION
    present: str
    present_layout: str
    extended: str
    project_file: str
    kept_pieces: list[int]
    new_notes: list[str]
    before_rms_cents: float
    before_worst_cents: float
    reed_volume_cm3: float
    ways: list[WayEntry]
    seconds: float
    cautions: list[str]
