"""Where a layout that was changed by hand comes from, and which layouts of a run are such."""

import re

from optimizer.records.files import Record

FOLDER = "by_hand"
"""Of a run folder: its layouts changed by hand. A search neither counts nor touches them, and no front has them."""

NAME = re.compile(r"hand-([0-9]{1,6})")


def hand_id(number: int) -> str:
    """Id of a layout changed by hand."""
    return f"hand-{number}"


def numbered_by_hand(name: str) -> int:
    """Number in the id of a layout changed by hand; 0 where it is none."""
    found = NAME.fullmatch(name)
    return int(found[1]) if found else 0


class MovedNumber(Record):
    """A number of a layout that was changed, by its name such as `position_mm.h07`, in the unit that the name tells."""

    name: str
    was: float
    now: float


class Parentage(Record):
    """What a layout was changed from by hand.

    layout : id of that layout of the same run; moved : numbers changed by hand; followed : those that were solved again
    to suit them
    """

    layout: str
    moved: list[MovedNumber]
    followed: list[MovedNumber]
