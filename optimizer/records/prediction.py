"""A layout's notes in other air, at another pitch and under another hand: the file that `predict` writes."""

from typing import Literal

from pydantic import Field

from optimizer.project.model import AirState
from optimizer.records.files import SCHEMA_VERSION, Record
from optimizer.records.layout import NoteRecord, ReachRecord
from optimizer.records.shares import Share


class HandRecord(Record):
    """How a layout lies under a hand: each pair, a sentence for each limit that is broken, advice."""

    name: str
    source: str
    reach: list[ReachRecord]
    troubles: list[str]
    remarks: list[str]


class PredictionRecord(Record):
    """A layout's notes in other air or at another pitch, and how it lies under another hand, where one was named.

    doubt : what the main notes' sd_cents are made of; older files lack it
    mean_cents, least_cents, most_cents : over all lines of the chart that sound; null where none does
    """

    schema_name: Literal["holewright-prediction"] = "holewright-prediction"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    layout: str
    a4_hz: float
    air: AirState
    mean_cents: float | None
    least_cents: float | None
    most_cents: float | None
    notes: list[NoteRecord]
    doubt: list[Share] = Field(default_factory=list)
    hand: HandRecord | None
