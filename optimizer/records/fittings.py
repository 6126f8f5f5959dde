"""Records of what is fastened to the body: strap ring, thumb rest, peg. Lengths in millimetres."""

from typing import Annotated

from pydantic import Field

from optimizer.records.files import Record


class FittingRecord(Record):
    """A fitting and the zone kept clear for it, a rectangle on the body's surface about its middle.

    length_mm : along the body; width_mm : round it
    room_mm : from the zone to what stands nearest, below 0 where they overlap; clear_mm : wanted
    piece : the one it stands on, from the reed; 0 is the crook
    """

    id: str
    position_mm: float
    azimuth_deg: float
    length_mm: Annotated[float, Field(gt=0)]
    width_mm: Annotated[float, Field(gt=0)]
    clear_mm: float
    room_mm: float
    nearest: str
    piece: int | None = None
