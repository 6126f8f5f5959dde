"""Printer files: one `[printer]` table in a file of its own, and how a project takes it in.

A project names a printer file (`printer = "printers/filament-250.toml"`, beside it). Its table is written into the
project's text, so that the text a run keeps needs no other file.
"""

import tomllib
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from optimizer.project.editing import replaced
from optimizer.project.faults import Fault
from optimizer.project.printer import Printer
from optimizer.project.sentences import sentence, toml_sentence


class PrinterFileError(Fault):
    """A printer file that cannot be used: `problems` holds one sentence for each thing to mend."""

    def __init__(self, problems: list[str]) -> None:
        super().__init__(*problems, heading="printer file to mend")


def read_printer(path: Path) -> dict[str, Any]:
    """The table of a printer file, checked: the keys of a `[printer]` table, or that table itself.

    Raises
    ------
    PrinterFileError
        with every problem found
    """
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        raise PrinterFileError([f"there is no printer file {path}"]) from None
    except IsADirectoryError:
        raise PrinterFileError([f"{path} is a folder; name a printer file in it"]) from None
    except UnicodeDecodeError:
        raise PrinterFileError([f"{path} is not a text file; a printer file is TOML text in UTF-8"]) from None
    except OSError as error:
        raise PrinterFileError([f"{path} cannot be read: {error.strerror}"]) from None
    except (ValueError, RecursionError) as error:
        raise PrinterFileError([f"{path}: {toml_sentence(error)}"]) from None
    table: dict[str, Any] = data["printer"] if isinstance(data.get("printer"), dict) and len(data) == 1 else data
    if "instrument" in table:
        raise PrinterFileError([f"{path} is a project file; name a file that holds a printer alone"])
    try:
        Printer.model_validate(table)
    except ValidationError as error:
        found = dict.fromkeys(sentence(item, Printer, ("printer",)) for item in error.errors())
        raise PrinterFileError([f"{path}: {line.removeprefix('printer.')}" for line in found]) from None
    return table


def printer_taken_in(text: str, path: Path) -> str:
    """A project's text with the table of the printer file at path in place of the line that names it.

    Raises
    ------
    PrinterFileError
        when the file cannot be used, or the project's line cannot be told from the others
    """
    taken = replaced(text, "printer", read_printer(path), f"Printer taken in from {path.name}")
    if taken is None:
        raise PrinterFileError(["printer: write the line that names the printer file above the first table"])
    return taken
