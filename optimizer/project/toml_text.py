"""The tables of a TOML text that a maker wrote: the one place where such a text is read, and bounded before it is.

The library, and what works on its tables, take a time that grows with the square of some sizes: of the names in one
key, of the tables, of a line. The largest demo has 8 000 characters, no line of more than 142, no key of more than two
names.
"""

import re
import tomllib
from typing import Any

from optimizer.project.faults import Fault
from optimizer.project.findings import Finding
from optimizer.project.toml_slips import slips, twice, unclosed

CHARACTERS_MOST = 100_000
LINES_MOST = 1_500
LINE_CHARACTERS_MOST = 20_000
"""Room for all points that a bore may have, with all their digits: the library that edits writes them on one line."""
NAMES_MOST = 4
"""In one key, such as the three of `holes.h05.diameter_mm`."""

_NAME = re.compile(r"""[\w-]++|"[^"]*+"|'[^']*+'""")
_CHAIN = re.compile(rf"(?:{_NAME.pattern})(?:[ \t]*+\.[ \t]*+(?:{_NAME.pattern}))*+[ \t]*+([=\]])?+")
"""Names with dots between, and what makes a key or a table of them."""


class UnreadableError(Fault):
    """A text that is no TOML, or more than anybody writes; `findings` say so, with their lines."""

    def __init__(self, findings: list[Finding]) -> None:
        super().__init__(*(finding.told for finding in findings))
        self.findings = findings


def tables_of(text: str) -> dict[str, Any]:
    """The tables of a TOML text.

    Raises
    ------
    UnreadableError
        when there are none
    """
    finding = _too_much(text)
    if finding is not None:
        raise UnreadableError([finding])
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise UnreadableError(_not_toml(error, text)) from None


def _too_much(text: str) -> Finding | None:
    """What a text has more of than it may."""
    if len(text) > CHARACTERS_MOST:
        return Finding("", f"must have at most {CHARACTERS_MOST} characters, but has {len(text)}")
    lines = text.split("\n")
    if len(lines) > LINES_MOST:
        return Finding("", f"must have at most {LINES_MOST} lines, but has {len(lines)}")
    for number, line in enumerate(lines, start=1):
        if len(line) > LINE_CHARACTERS_MOST:
            said = f"must have at most {LINE_CHARACTERS_MOST} characters, but has {len(line)}; break it"
            return Finding("", said, number)
        if any(chain[1] and len(_NAME.findall(chain[0])) > NAMES_MOST for chain in _CHAIN.finditer(line)):
            return Finding("", f"a key must have at most {NAMES_MOST} names with dots between", number)
    return None


_TWICE = re.compile(r"Cannot (?:overwrite a value|declare .* twice)|Duplicate inline table key")


def _not_toml(error: Exception, text: str) -> list[Finding]:
    """What is wrong with the TOML itself: in a maker's words where it is understood, or else in the reader's."""
    message = str(error)
    place = re.search(r" \(at (?:line (\d+), column (\d+)|end of document)\)$", message)
    line = int(place[1]) if place and place[1] else None
    understood = slips(text)
    if line and _TWICE.match(message):
        return sorted([*understood, twice(text, line)], key=lambda finding: finding.line or 0)
    if any(finding.line == line for finding in understood):
        return understood
    never_closed = unclosed(text, line)
    if never_closed:
        return [*understood, never_closed]
    if not isinstance(error, tomllib.TOMLDecodeError):
        message = "a number too long, or brackets nested too deep"
    elif place:
        message = message[: place.start()] + (f" (column {place[2]})" if line else " (at the end of the file)")
    return [*understood, Finding("", f"not valid TOML: {message}", line)]
