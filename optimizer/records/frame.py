"""What the numbers of a layout file are counted in, and from where."""

from typing import Literal

from optimizer.records.files import Record


class Units(Record):
    """Units of a layout file."""

    length: Literal["mm"] = "mm"
    angle: Literal["degree"] = "degree"
    pitch: Literal["cent"] = "cent"
    frequency: Literal["hertz"] = "hertz"


class Frame(Record):
    """Where positions are counted from."""

    datum: str = "reed end of the bore, on the centre line"
    position: str = "arc length along the centre line, growing toward the bell"
    azimuth_zero: str = "front of the instrument as the player holds it"
    azimuth_positive: str = "clockwise seen from the reed end"
    chimney: str = "along the hole's axis, from the crown of the bore to the chimney top or pad seat"
