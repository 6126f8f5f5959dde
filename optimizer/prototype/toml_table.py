"""The same tables of measurements written as TOML: a line for each thing, `h05 = { from_reed_mm = 612.5, ... }`."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from optimizer.project.file_text import text_of
from optimizer.project.findings import key_lines
from optimizer.project.toml_text import UnreadableError, tables_of
from optimizer.prototype.measured_table import BYTES_MOST, MeasuredTable, Problems, TableError, table_of
from optimizer.prototype.quantities import Quantity


def read_toml_table(path: Path, called: str, quantities: Sequence[Quantity], name: str) -> MeasuredTable:
    """Read a table that is written as TOML.

    Parameters
    ----------
    path : of the file
    called : what it is, such as "holes table"
    quantities : the columns it may have; what a line is named by is the first one's
    name : of the TOML table, which the file may also be without

    Raises
    ------
    TableError
        with everything that is wrong with it
    """
    heading = f"{called} to mend"

    def unusable(sentence: str) -> TableError:
        return TableError(sentence, heading=heading)

    text = text_of(path, unusable, missing=called, name=called, whole=called, most=BYTES_MOST)
    try:
        data = tables_of(text)
    except UnreadableError as error:
        raise TableError(*(f"{path}: {one.told}" for one in error.findings), heading=heading) from None
    table = data.get(name, data)
    problems = Problems(str(path), heading)
    if not isinstance(table, dict) or not table:
        problems.say(f"must be a [{name}] table with a line for each, such as h05 = {{ {quantities[1].header} = ... }}")
        problems.refuse()
    lines = key_lines(text)
    found = [(label, entry if isinstance(entry, dict) else {}) for label, entry in table.items()]
    first, headers = quantities[0].header, list(dict.fromkeys(key for _, entry in found for key in entry))
    cells = [
        (lines.get(f"{name}.{label}", lines.get(label, 1)), [label, *(_cell(entry.get(key)) for key in headers)])
        for label, entry in found
    ]
    return table_of([(lines.get(name, 1), [first, *headers]), *cells], quantities, problems, {})


def _cell(value: Any) -> str:
    """A value as it would stand in a cell."""
    return "" if value is None else str(value)
