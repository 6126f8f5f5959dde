"""What an instrument was heard to play: cents of its notes as recordings or a tuner gave them, with their doubts.

Errors that all notes share (the clock of the recorder, the air, the pitch that A4 was set to) stay apart from each
note's own: they do not shrink with more notes.
"""

import math
from typing import Annotated, Literal

from pydantic import Field

from optimizer.project.marks import mark_of
from optimizer.records.files import SCHEMA_VERSION, Record
from optimizer.records.layout import LayoutRecord

Flag = Literal["unsteady", "cracked", "octave doubtful", "clipped"]

UNFIT: tuple[Flag, ...] = ("cracked", "octave doubtful", "clipped")
"""Flags of notes whose cents say nothing of the instrument."""

PLAYED_CENTS, PLAYED_FREEDOM = 4.0, 4.0
"""How far takes of a note are usually apart [cents], and how many differences that counts for: common practice, no
source."""


def scatter_of(squares: float, freedom: float) -> float:
    """One standard deviation between takes of a note [cents], pooled over all notes and with what is usual.

    Parameters
    ----------
    squares : of the takes about what was fitted to them, summed [cents2]
    freedom : how many differences these are
    """
    return math.sqrt((squares + PLAYED_FREEDOM * PLAYED_CENTS**2) / (freedom + PLAYED_FREEDOM))


class CommonDeviations(Record):
    """One standard deviation of each error that all notes share; 0 where there is none.

    clock_cents : of the clock that frequencies were counted by
    temperature_K : of `temperature_degC`; null where no temperature was taken, so that the layout's own counts
    a4_cents : of the pitch of A4 that the cents are counted from
    player_cents : of how high the player blows all notes alike; 2: common practice, no source
    """

    clock_cents: Annotated[float, Field(ge=0)] = 0.1
    temperature_K: Annotated[float, Field(ge=0)] | None = None
    a4_cents: Annotated[float, Field(ge=0)] = 0.0
    player_cents: Annotated[float, Field(ge=0)] = 2.0


class MeasuredNote(Record):
    """One line of the chart as it was played.

    line : its place among the layout's `notes`, from 0
    written, fingering, register_number : as the layout says them; fingering is what is pressed
    cents : above the pitch that the project wants of it at the measurement's A4, mean of all takes
    sd_cents : one standard deviation of that mean, common deviations aside
    takes : cents of each take
    vibrato_cents : half of the vibrato's width; slope_cents_per_s : how the pitch drifted in a take; null where neither
    can be told, as from a tuner
    """

    line: Annotated[int, Field(ge=0)]
    written: str
    fingering: str
    register_number: Annotated[int, Field(ge=1)]
    cents: float
    sd_cents: Annotated[float, Field(gt=0)]
    takes: list[float]
    vibrato_cents: float | None = None
    slope_cents_per_s: float | None = None
    flags: list[Flag] = Field(default_factory=list)

    @property
    def fit(self) -> bool:
        """Whether its cents say something of the instrument."""
        return not set(UNFIT) & set(self.flags)


class Unassigned(Record):
    """Something that was heard or written and could not be assigned to a line of the chart: when it began [s], at what
    pitch, null where neither is known, and why."""

    at_s: float | None
    hz: float | None
    why: str


class MeasurementRecord(Record):
    """A measured instrument.

    source : what was read, such as `tuner table my-notes.csv` or `recording take-1.wav`
    layout, layout_mark : id of the layout that was built, and `layout_mark` of it
    temperature_degC : of the air at the bell end while it was played, null where it was not taken
    """

    schema_name: Literal["holewright-measurement"] = "holewright-measurement"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    source: str
    layout: str
    layout_mark: str
    a4_hz: Annotated[float, Field(gt=0)]
    temperament: str
    temperature_degC: float | None = None
    humidity_percent: float | None = None
    common: CommonDeviations = CommonDeviations()
    notes: list[MeasuredNote]
    unassigned: list[Unassigned] = Field(default_factory=list)
    remarks: list[str] = Field(default_factory=list)


def layout_mark(record: LayoutRecord) -> str:
    """A mark of what a layout sounds by: its bore, holes, reed and fingerings."""
    fingerings = [(note.written, note.register_number, note.openness, note.target_hz) for note in record.notes]
    return mark_of(record.bore, *record.holes, record.reed, fingerings)
