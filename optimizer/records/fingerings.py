"""Ways to finger notes on a layout: what the finder found."""

from typing import Literal

from optimizer.records.files import SCHEMA_VERSION, Record


class FoundFingering(Record):
    """One way to a note.

    kind: `chart` where the chart has it, `trill` where one finger alone moves from a neighbour's main fingering, else
    `alternate`
    cents: against the note wanted; sd_cents: one standard deviation
    height_over_lower: of its impedance peak, over the next one below; null for the lowest
    quality_over_main: of its resonance, over that of the chart's main fingering of the note, where there is one
    effort: how hard it is from both neighbours in the scale, by rules of thumb
    line: as the chart would have it
    """

    kind: Literal["chart", "trill", "alternate"]
    touches: str
    register_number: int
    frequency_hz: float
    cents: float
    sd_cents: float
    height_over_lower: float | None
    quality_over_main: float | None
    effort: int
    line: str


class NoteFingerings(Record):
    """Ways to one note, the best first; off_cents: how far beside the note is wanted, as 50 for a quarter tone;
    left_out: how many more there are."""

    written: str
    off_cents: float
    target_hz: float
    ways: list[FoundFingering]
    left_out: int


class FingeringsRecord(Record):
    """What the finder found.

    fingerings : that hands can hold; states : distinct states of the holes among them
    within_cents : ways further off were left out
    """

    schema_name: Literal["holewright-fingerings"] = "holewright-fingerings"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    layout: str
    fingerings: int
    states: int
    within_cents: float
    notes: list[NoteFingerings]
