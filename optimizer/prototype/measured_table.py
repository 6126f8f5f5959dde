"""Tables of measurements as a bench writes them: the one reader, for holes, bores, gauge readings and impedances.

A table is CSV text in UTF-8 with one line of headers, each with its unit (`from_reed_mm`), and a line for each thing
measured. Commas, semicolons or tabs part the cells; after semicolons and tabs a number may have a decimal comma. Lines
that begin with # are remarks, of which `# name = value` may be asked for.
"""

import csv
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from optimizer.project.faults import Fault
from optimizer.project.file_text import text_of
from optimizer.prototype.quantities import Quantity, Value, no_header, value_of
from optimizer.words import counted, listed

BYTES_MOST = 1_000_000
ROWS_MOST = 600
TOLD_MOST = 20
"""Problems told of one table."""


class TableError(Fault):
    """A table that cannot be used, with a sentence for each thing to mend."""


@dataclass(frozen=True)
class Row:
    """A line of a table: its number in the file, and its values by header; cells left empty are not there."""

    line: int
    values: Mapping[str, Value]

    def number(self, header: str) -> float | None:
        """A number, or None where the cell is empty."""
        value = self.values.get(header)
        return value if isinstance(value, float) else None

    def word(self, header: str) -> str | None:
        """A word, or None where the cell is empty."""
        value = self.values.get(header)
        return value if isinstance(value, str) else None


@dataclass
class Problems:
    """What is wrong with a table, gathered as it is read."""

    source: str
    heading: str
    found: list[str] = field(default_factory=list)

    def say(self, sentence: str, line: int | None = None, column: str = "", first: bool = False) -> None:
        """Take note of one, with where it stands; first: before all others."""
        place = f"{self.source}" + (f", line {line}" if line else "") + (f", column {column}" if column else "")
        self.found.insert(0 if first else len(self.found), f"{place}: {sentence}")

    def refuse(self) -> None:
        """Raise what was found.

        Raises
        ------
        TableError
            where anything was
        """
        if self.found:
            more = len(self.found) - TOLD_MOST
            rest = [f"{counted(more, 'more problem')}; mend these first"] if more > 0 else []
            raise TableError(*self.found[:TOLD_MOST], *rest, heading=self.heading)


@dataclass(frozen=True)
class MeasuredTable:
    """A table as read: its rows, its headers, what its remarks say, and where to say what else is wrong with it."""

    rows: list[Row]
    headers: tuple[str, ...]
    remarks: Mapping[str, str]
    problems: Problems


def read_table(
    path: Path, called: str, quantities: Sequence[Quantity], bytes_most: int = BYTES_MOST, rows_most: int = ROWS_MOST
) -> MeasuredTable:
    """Read a table.

    Parameters
    ----------
    path : of the file
    called : what it is, such as "holes table"
    quantities : the columns it may have
    bytes_most, rows_most : how large it may be

    Raises
    ------
    TableError
        with everything that is wrong with it
    """
    heading = f"{called} to mend"
    text = text_of(
        path, partial(_unusable, heading), missing=called, name=called, whole=called, kind="CSV text", most=bytes_most
    )
    return parse_table(text, str(path), called, quantities, rows_most)


def _unusable(heading: str, sentence: str) -> TableError:
    return TableError(sentence, heading=heading)


def parse_table(
    text: str, source: str, called: str, quantities: Sequence[Quantity], rows_most: int = ROWS_MOST
) -> MeasuredTable:
    """Read the text of a table; source stands before each problem.

    Raises
    ------
    TableError
        with everything that is wrong with it
    """
    problems = Problems(source, f"{called} to mend")
    lines = list(enumerate(text.splitlines(), start=1))
    remarks = dict(_remark(line) for _, line in lines if line.lstrip().startswith("#") and "=" in line)
    lines = [(number, line) for number, line in lines if line.strip() and not line.lstrip().startswith("#")]
    if len(lines) - 1 > rows_most:
        problems.say(f"has {len(lines) - 1} rows; a {called} has at most {rows_most}")
    elif not lines:
        wanted = ", ".join(each.header for each in quantities if each.needed)
        problems.say(f"is empty; a {called} begins with its headers: {wanted}")
    problems.refuse()
    parted = _delimiter(lines[0][1])
    cells = [(number, _cells(line, parted)) for number, line in lines]
    return table_of(cells, quantities, problems, remarks, comma=parted != ",")


def table_of(
    cells: Sequence[tuple[int, list[str]]],
    quantities: Sequence[Quantity],
    problems: Problems,
    remarks: Mapping[str, str],
    comma: bool = False,
) -> MeasuredTable:
    """A table from the cells of its lines, the headers first.

    Parameters
    ----------
    cells : of each line, with its number in the file
    quantities : the columns it may have
    problems : takes what is wrong
    remarks : what it says besides
    comma : whether numbers may have a decimal comma

    Raises
    ------
    TableError
        with everything that is wrong with it
    """
    columns = _columns(cells[0], quantities, problems)
    if len(cells) == 1 and not problems.found:
        problems.say("has headers and no row under them", cells[0][0])
    problems.refuse()
    rows = [_row(number, parts, columns, comma, problems) for number, parts in cells[1:]]
    problems.refuse()
    return MeasuredTable(rows, tuple(each.header for each in columns), remarks, problems)


def _remark(line: str) -> tuple[str, str]:
    name, _, value = line.lstrip(" \t#").partition("=")
    return name.strip().lower(), value.strip()


def _delimiter(header: str) -> str:
    """What parts the cells: the one that the line of headers has most of."""
    return max(",;\t", key=header.count)


def _cells(line: str, parted: str) -> list[str]:
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=parted), [])]
    except csv.Error:
        return line.split(parted)


def _columns(headers: tuple[int, list[str]], quantities: Sequence[Quantity], problems: Problems) -> list[Quantity]:
    """The quantity of each column."""
    line, names = headers
    known = {each.header: each for each in quantities}
    found = []
    for place, name in enumerate(names, start=1):
        plain = re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")
        if plain in known:
            found.append(known[plain])
        else:
            problems.say(no_header(name, plain, quantities), line, str(place))
    twice = sorted({each.header for each in found if found.count(each) > 1})
    for header in twice:
        problems.say(f"the header {header} stands more than once", line)
    if not problems.found:
        missing = [each.header for each in quantities if each.needed and each not in found]
        if missing:
            problems.say(
                f"must have the header{'s' * (len(missing) > 1)} {listed(missing)}; it has {', '.join(names)}", line
            )
    return found


def _row(line: int, parts: list[str], columns: list[Quantity], comma: bool, problems: Problems) -> Row:
    """A line of the table; what is wrong with it is noted."""
    values: dict[str, Value] = {}
    wrongs: list[tuple[str, str]] = []
    for column, text in zip(columns, [*parts, *[""] * len(columns)], strict=False):
        if text:
            value, wrong = value_of(text, column, comma)
            values[column.header] = value
        else:
            wrong = "is empty" if column.needed else ""
        if wrong:
            wrongs.append((wrong, column.header))
    if len(parts) > len(columns) and (wrongs or any(parts[len(columns) :])):
        hint = "; a decimal comma? write 12.5, or part the cells by semicolons" if not comma else ""
        problems.say(f"has {len(parts)} cells under {counted(len(columns), 'header')}{hint}", line)
        return Row(line, {})
    for wrong, header in wrongs:
        problems.say(wrong, line, header)
    return Row(line, values)


def table_text(headers: Iterable[str], rows: Iterable[Sequence[str]], remarks: Iterable[str] = ()) -> str:
    """A table as text: remarks, headers, rows."""
    return "\n".join([*(f"# {each}" for each in remarks), ",".join(headers), *map(",".join, rows)]) + "\n"
