"""What recordings of an instrument hold: the pitch of each take in time, its tones, and which note each was taken for.

A measurement follows from it, so that a note that was taken wrong can be put right without the recording.
"""

from typing import Annotated, Literal

from pydantic import Field

from optimizer.records.files import SCHEMA_VERSION, Record
from optimizer.records.measurement import Flag, Unassigned


class TakenTone(Record):
    """A tone of a take.

    begin_s, end_s : of its stretch, attack and end included
    other_hz : its pitch by a second method, which tells octaves
    line : of the chart, by its place among the layout's notes; null where it is none, and why says why
    doubtful : whether its octave is; by_hand : whether a person said which line it is, or that it is none
    """

    begin_s: float
    end_s: float
    hz: Annotated[float, Field(gt=0)]
    sd_cents: float
    vibrato_cents: float
    slope_cents_per_s: float
    other_hz: Annotated[float, Field(gt=0)]
    flags: list[Flag]
    line: Annotated[int, Field(ge=0)] | None
    why: str
    doubtful: bool
    by_hand: bool = False


class Taken(Record):
    """A take.

    source : its file; remarks : what is odd about that
    alone : line that its file is named after; null where it holds several
    octave, shift_cents : by how much it lies above the chart as a whole
    first_s, step_s : when the pitch was told; hz : each, null where nothing sounds
    left_out : what sounds and is no tone
    """

    source: str
    seconds: float
    remarks: list[str]
    alone: Annotated[int, Field(ge=0)] | None
    octave: int
    shift_cents: float
    first_s: float
    step_s: float
    hz: list[float | None]
    tones: list[TakenTone]
    left_out: list[Unassigned]


class TakesRecord(Record):
    """All takes of an instrument.

    layout, layout_mark : id of the layout that was built, and its mark
    a4_hz : pitch that cents are counted from; bell_degC, bell_sd_K : of the air at the bell end, null where not taken
    """

    schema_name: Literal["holewright-takes"] = "holewright-takes"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    layout: str
    layout_mark: str
    a4_hz: Annotated[float, Field(gt=0)]
    bell_degC: float | None = None
    bell_sd_K: float = 1.0
    takes: list[Taken]
