"""Hand, printer and stock files, and those of what was learned: one table of a project in a file of its own, and how a
project takes it in.

A project names such a file (`hand = "hands/small-adult.toml"`, beside it), or a command does (`--hand FILE`). Either
way the file's table is written into the project's text in place of what stood there, so that the text a run keeps needs
no other file.
"""

from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Generic, TypeVar

from pydantic import BaseModel, ValidationError

from optimizer.project.editing import with_tables
from optimizer.project.faults import Fault
from optimizer.project.file_text import text_of
from optimizer.project.findings import Finding, first_findings, located, sentences_of, shortened
from optimizer.project.hand import Hand
from optimizer.project.learned import Learned
from optimizer.project.printer import Printer
from optimizer.project.sentences import finding_of
from optimizer.project.stock import Stock
from optimizer.project.toml_text import UnreadableError, tables_of

INCLUDED: dict[str, type[BaseModel]] = {"hand": Hand, "printer": Printer, "stock": Stock, "learned": Learned}
"""Tables that a project may keep in a file of its own."""

Table = TypeVar("Table", bound=BaseModel)


class IncludedError(Fault):
    """A hand, printer or stock file that cannot be used: `findings` holds one for each thing to mend."""

    def __init__(self, kind: str, findings: list[Finding]) -> None:
        self.findings = shortened(findings)
        super().__init__(*sentences_of(self.findings), heading=f"{kind} file to mend")


@dataclass(frozen=True)
class Included(Generic[Table]):
    """A file as read: the project's table that it stands for, its name, its table as written, and as a model."""

    key: str
    name: str
    table: dict[str, Any]
    model: Table


def read_included(path: Path, kind: type[Table], key: str) -> Included[Table]:
    """Read and check a file that stands for a project's table: the table's keys, or the table itself.

    Raises
    ------
    IncludedError
        with every problem found
    """
    called = f"{key} file"
    text = text_of(path, partial(_unusable, key), missing=called, name=called, whole=called)
    return parse_included(text, str(path), path.name, kind, key)


def parse_included(text: str, source: str, name: str, kind: type[Table], key: str) -> Included[Table]:
    """Check the text of such a file; source stands before each problem.

    Raises
    ------
    IncludedError
        with every problem found
    """
    try:
        data = tables_of(text)
    except UnreadableError as error:
        raise _unusable(key, *(one.sentence for one in _in_its_file(error.findings, key, text, source))) from None
    table = data[key] if isinstance(data.get(key), dict) and len(data) == 1 else data
    if "instrument" in table:
        raise _unusable(key, f"{source} is a project file; name a file that holds a {key} alone")
    try:
        return Included(key, name, table, kind.model_validate(table))
    except ValidationError as error:
        found = first_findings(error.errors(), lambda item: finding_of(item, kind, (key,)), key)
        raise IncludedError(key, list(dict.fromkeys(_in_its_file(found, key, text, source)))) from None


def _in_its_file(found: list[Finding], key: str, text: str, source: str) -> list[Finding]:
    """Findings about a project's key as they stand in the file that was written for it."""
    own = [one._replace(path=one.path.removeprefix(f"{key}.")) for one in found]
    return [
        one._replace(path=key, line=None, sentence=f"{source}{place}: {one.sentence.removeprefix(f'{key}.')}")
        if not one.more
        else one
        for one in located(own, text)
        for place in [f", line {one.line}" if one.line else ""]
    ]


def _unusable(key: str, *sentences: str) -> IncludedError:
    return IncludedError(key, [Finding(key, sentence) for sentence in sentences])


def taken_in(text: str, file: Included[Any]) -> str:
    """A project's text with a file's table in it, in place of what the project says there.

    Raises
    ------
    IncludedError
        when the project's own table cannot be told from the others
    """
    key = file.key
    taken = with_tables(text, {key: file.table}, f"{key.capitalize()} taken in from {file.name}", anew=True)
    if taken is None:
        said = f"{key}: write the project's own {key} as one [{key}] table, so that another can replace it"
        raise _unusable(key, said)
    return taken
