"""Entries of the bench book of a run: what was measured of a layout once it was built, what that said, what was done.

Each is a folder: `entry.json` says what it is, `layout.json` of which layout, the others hold it.
"""

import re
from typing import Annotated, Literal

from pydantic import Field

from optimizer.records.calibration import CalibrationRecord
from optimizer.records.correction import CorrectionRecord
from optimizer.records.files import SCHEMA_VERSION, Record
from optimizer.records.gauge import GaugedRecord
from optimizer.records.impedance import ImpedanceRecord
from optimizer.records.measurement import MeasurementRecord

Kind = Literal["recording", "tuner table", "gauge readings", "impedance", "fit", "correction"]
RECORDS: dict[Kind, type[Record]] = {
    "recording": MeasurementRecord,
    "tuner table": MeasurementRecord,
    "gauge readings": GaugedRecord,
    "impedance": ImpedanceRecord,
    "fit": CalibrationRecord,
    "correction": CorrectionRecord,
}
MEASURED: tuple[Kind, ...] = ("recording", "tuner table")
"""Entries that tell cents of notes."""

NAME = re.compile(r"[0-9]{3,5}")
ENTRY, LAYOUT, RECORD, TAKES = "entry.json", "layout.json", "record.json", "takes.json"
CORRECTED, DONE, PICTURE, PAGE, LEARNED = "corrected.json", "done.csv", "picture.svg", "page.html", "learned.toml"


class Done(Record):
    """What was done of a step of a correction, by its number: its amount as measured afterwards, 0 if it was left."""

    number: Annotated[int, Field(ge=1)]
    amount: float


class Entry(Record):
    """What stands in the book.

    layout : id of the layout that it is of; after : entry of the correction that had been carried out, null where none
    title : what it was read from, or made of; based_on : entries that it was made from
    done : of a correction, once that was said; null counts as done as told
    """

    schema_name: Literal["holewright-book-entry"] = "holewright-book-entry"
    schema_version: str = SCHEMA_VERSION
    kind: Kind
    layout: str
    after: str | None = None
    title: str
    written: str
    based_on: list[str] = Field(default_factory=list)
    done: list[Done] | None = None

    @property
    def rests_on(self) -> set[str]:
        """Entries without which it could not have been made."""
        return {*self.based_on, *([] if self.after is None else [self.after])}
