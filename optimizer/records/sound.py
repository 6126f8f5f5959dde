"""What a layout's notes sound like, as figures: pitches, and levels of partials to play them with."""

from typing import Literal

from optimizer.project.model import AirState
from optimizer.records.files import SCHEMA_VERSION, Record

LABEL = "computed pitch, invented timbre"
"""What must be said of every sound made from such a record: the levels guess at a reed, the pitches do not."""


class SoundedNote(Record):
    """One chart line as it sounds.

    target_hz, frequency_hz, cents, sd_cents: as in a layout's notes; null where silent, and level_db is then empty
    level_db: of the partials at 1, 2, 3... times its frequency, outside, the strongest 0
    """

    written: str
    sounding: str
    register_number: int
    alternate: bool
    touches: str
    target_hz: float
    frequency_hz: float | None
    cents: float | None
    sd_cents: float | None
    level_db: list[int]


class SoundRecord(Record):
    """Notes of a layout with the levels of their partials, in the chart's order.

    label : what must be said of every sound made from it
    drone : written name of the note that the others are held against unless another is chosen: the lowest that sounds;
        null where none does
    """

    schema_name: Literal["holewright-sound"] = "holewright-sound"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    layout: str
    label: str = LABEL
    a4_hz: float
    air: AirState
    drone: str | None
    notes: list[SoundedNote]
