"""What columns of a table of measurements may hold: their headers with units, and how a cell is read."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from optimizer.project.sentences import nearest
from optimizer.words import cut

OTHER_UNITS = {
    "in": ("inches", 25.4), "inch": ("inches", 25.4), "inches": ("inches", 25.4), "cm": ("centimetres", 10.0),
    "m": ("metres", 1000.0), "khz": ("kilohertz", 1000.0),
}  # fmt: skip
"""Units that a table does not take, and what a number in them is times to be one in the table's."""

Value = float | str


@dataclass(frozen=True)
class Quantity:
    """What a column may hold.

    Attributes
    ----------
    name, unit : its header is both, with a _ between; words have no unit
    told : what it says, for a reader
    needed : whether a table must have it, and each of its rows
    low, high : between what a number must lie; a number that may equal low says so by `at_least`
    at_least : whether low itself will do
    words : those that it may hold, where it holds one of some
    """

    name: str
    unit: str
    told: str
    needed: bool = False
    low: float = -math.inf
    high: float = math.inf
    at_least: bool = True
    words: tuple[str, ...] = ()

    @property
    def header(self) -> str:
        """Its name with its unit."""
        return f"{self.name}_{self.unit}" if self.unit else self.name


def no_header(name: str, plain: str, quantities: Sequence[Quantity]) -> str:
    """Why a header is none of this table."""
    if not plain or re.fullmatch(r"[\d_]+", plain):
        return f"{cut(name)!r} is no header; the first line names the columns, such as {quantities[0].header}"
    for each in quantities:
        unit = plain.removeprefix(f"{each.name}_")
        if each.unit and plain == each.name:
            return f"the header {name!r} lacks its unit; write {each.header}"
        if each.unit and unit != plain:
            called, factor = OTHER_UNITS.get(unit, (unit, None))
            times = f", each number times {factor:g}" if factor else ""
            return f"{name!r} is in {called}; this table takes {each.header}{times}"
    if plain.startswith("from_bell"):
        return f"{name!r} counts from the bell; this table counts from the reed end, as from_reed_mm: length less that"
    headers = [each.header for each in quantities]
    return f"there is no column {cut(name)!r}{nearest(plain, headers) or '; there are: ' + ', '.join(headers)}"


def value_of(text: str, column: Quantity, comma: bool) -> tuple[Value, str]:
    """A cell's value, and what is wrong with it."""
    if not column.unit:
        if column.words and text not in column.words:
            return text, f"must be one of {', '.join(column.words)}, but got {cut(text)!r}{nearest(text, column.words)}"
        return text, ""
    plain = text.replace(",", ".") if comma and text.count(",") == 1 and "." not in text else text
    try:
        number = float(plain)
    except ValueError:
        return 0.0, f"must be a number, but got {cut(text)!r}{_number_hint(text)}"
    if not math.isfinite(number):
        return 0.0, f"must be a number, but got {cut(text)!r}"
    low, high = column.low, column.high
    if number > high or number < low or (number == low and not column.at_least):
        least = f"{'at least' if column.at_least else 'more than'} {low:g}" if math.isfinite(low) else ""
        most = f"at most {high:g}" if math.isfinite(high) else ""
        return number, f"must be {' and '.join(filter(None, (least, most)))}, but got {number:g}"
    return number, ""


def _number_hint(text: str) -> str:
    if re.fullmatch(r"-?\d+,\d+", text):
        return "; write a decimal point"
    unit = re.fullmatch(r"-?[\d.,]+ ?([a-zA-Z\"”]+)", text)
    return f"; the unit stands in the header, and is not {unit[1]} here" if unit else ""
