"""What a layout was changed from by hand, in words."""

from optimizer.records.layout import LayoutRecord
from optimizer.records.parentage import MovedNumber
from optimizer.words import counted, listed

TOLD = 6
"""Of so many numbers moved by hand it is said where they were."""

UNITS = {"mm": "mm", "cm3": "cm3", "deg": "degrees", "scale": ""}


def by_hand_words(record: LayoutRecord) -> str:
    """What a layout was changed from, what was moved, and how much followed; empty for one that no hand changed."""
    found = record.parentage
    if found is None:
        return ""
    moved = [_moved(each) for each in found.moved[:TOLD]]
    more = len(found.moved) - len(moved)
    said = [*moved, *([counted(more, "other number")] if more else [])]
    followed = f"; {counted(len(found.followed), 'number')} followed" if found.followed else ""
    return f"changed by hand from layout {found.layout}: {listed(said) or 'nothing alone'}{followed}"


def _moved(number: MovedNumber) -> str:
    quantity, _, place = number.name.partition(".")
    return f"{f'{place} ' if place else ''}{number_words(quantity, number.now)} (was {number.was:g})"


def number_words(quantity: str, value: float) -> str:
    """A number of a layout in words, such as `crook end diameter 7.9 mm`; its unit by what its name ends in."""
    name, _, unit = quantity.rpartition("_")
    return f"{name.replace('_', ' ')} {value:g} {UNITS.get(unit, '')}".rstrip()
