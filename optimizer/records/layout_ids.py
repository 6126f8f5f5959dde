"""Ids of layouts: the trial's number that is in them, and their order."""

import re

PRESENT = "present"
"""Id of an instrument that is made."""


def layout_id(number: int) -> str:
    """Id of the layout that a trial makes; wide enough for what one driver can tell in a month, 200 trials a second."""
    return f"t{number:09d}"


def trial_number(name: str) -> int | None:
    """Number of the trial that a layout's id names, however wide it is written; None where it names none.

    Ids are compared by it: as texts, `t20000` of an older run comes after `t100000`.
    """
    found = re.fullmatch("t([0-9]{1,18})", name)
    return None if found is None else int(found[1])


def numbered(name: str) -> tuple[bool, int, str]:
    """What ids of layouts are put in order by: those of trials by their numbers, then any others."""
    number = trial_number(name)
    return number is None, number or 0, name
