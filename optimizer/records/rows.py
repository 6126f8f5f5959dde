"""Rows of touches in a layout file: where each lies, and the fingers in it. Files before 2.2 have none."""

from typing import Literal

from optimizer.project.model import Finger
from optimizer.records.files import Record


class RowFingerRecord(Record):
    """A finger in a row: where it rests on the body, how thick that is there, and the key that it rests on, if any."""

    finger: Finger
    position_mm: float
    azimuth_deg: float
    body_diameter_mm: float
    key: str | None


class RowRecord(Record):
    """The row of touches of one hand. position_mm: of the index finger's place along the body; spacing_mm: from finger
    to finger; fingers: those that no hole lies under."""

    hand: Literal["left", "right"]
    position_mm: float
    azimuth_deg: float
    spacing_mm: float
    fingers: list[RowFingerRecord]
