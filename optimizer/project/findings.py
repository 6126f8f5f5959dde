"""Findings: what is to be mended in a project, where it stands, and a sentence that says so."""

import re
from collections.abc import Iterable
from typing import NamedTuple


class Finding(NamedTuple):
    """One thing to mend.

    Attributes
    ----------
    path : key path in the project, such as `holes.h05.diameter_mm`; empty where no key is to blame
    sentence : what must hold, what came, what to do
    line : line of the project's text, from 1, as `located` found it
    row : line within the text that the path holds, from 1, for a text over several lines
    """

    path: str
    sentence: str
    line: int | None = None
    row: int | None = None


def at(path: str, said: str, place: str = "", row: int | None = None) -> Finding:
    """A finding whose sentence begins with its key path, and with the place in its value that is meant."""
    return Finding(path, f"{path}{place}: {said}", row=row)


def sentences_of(findings: Iterable[Finding]) -> list[str]:
    """The sentences of findings, each once."""
    return list(dict.fromkeys(finding.sentence for finding in findings))


def located(findings: Iterable[Finding], text: str) -> list[Finding]:
    """Findings with the line of a project's text on which their key, or what it lies in, is first named."""
    lines = key_lines(text)
    return [finding if finding.line else finding._replace(line=_line(finding, lines, text)) for finding in findings]


def _line(finding: Finding, lines: dict[str, int], text: str) -> int | None:
    parts = finding.path.split(".")
    prefixes = (".".join(parts[:count]) for count in range(len(parts), 0, -1))
    line = next((lines[path] for path in prefixes if path in lines), None)
    if line is None or finding.row is None:
        return line
    opens_a_line = text.split("\n")[line - 1].rstrip().endswith(('"""', "'''"))
    return line + finding.row - (0 if opens_a_line else 1)


_NAME = r"""(?:[\w-]+|"[^"\n]*"|'[^'\n]*')"""
_PATH = rf"{_NAME}(?:\s*\.\s*{_NAME})*"
_HEADER = re.compile(rf"\s*\[\[?\s*({_PATH})\s*\]")
_ASSIGNED = re.compile(rf"\s*({_PATH})\s*=")
_HIDDEN = re.compile(
    r'''"""(?:\\.|[^\\])*?"""|\'\'\'.*?\'\'\'|"(?:\\.|[^"\\\n])*"|'[^'\n]*'|#[^\n]*''', re.DOTALL
)  # fmt: skip


def key_lines(text: str) -> dict[str, int]:
    """Line, from 1, on which each key or table of a TOML text is first named, by its path.

    Keys inside an inline table or list are left out: what holds them stands on the same line, or close by.
    """
    found: dict[str, int] = {}
    table, depth = "", 0
    bare = _HIDDEN.sub(lambda hidden: "[" + "\n" * hidden[0].count("\n") + "]", text)
    for number, (line, brackets) in enumerate(zip(text.split("\n"), bare.split("\n"), strict=True), start=1):
        header, key = _HEADER.match(line), _ASSIGNED.match(line)
        if depth == 0 and header:
            table = _plain(header[1])
            found.setdefault(table, number)
        elif depth == 0 and key:
            name = _plain(key[1])
            found.setdefault(f"{table}.{name}" if table else name, number)
        depth = max(depth + sum(map(brackets.count, "[{")) - sum(map(brackets.count, "]}")), 0)
    return found


def _plain(path: str) -> str:
    """A key path without quotes and blanks."""
    return ".".join(part.strip("\"'") for part in re.findall(_NAME, path))
