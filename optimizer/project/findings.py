"""Findings: what is to be mended in a project, where it stands, and a sentence that says so."""

import re
from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple, TypeVar

from optimizer.words import counted, cut

FINDINGS_MOST = 100
"""So many findings are told of one text; who has mended them is told of the next."""

SENTENCE_MOST, PATH_MOST = 1000, 200
"""Letters of a finding's sentence and of its path, whatever the text holds."""

NAMED_MOST = 4
"""Places named after a finding that says the same of them."""

Wrong = TypeVar("Wrong")


class Finding(NamedTuple):
    """One thing to mend.

    Attributes
    ----------
    path : key path in the project, such as `holes.h05.diameter_mm`; empty where no key is to blame
    sentence : what must hold, what came, what to do
    line : line of the project's text, from 1, as `located` found it
    row : line within the text that the path holds, from 1, for a text over several lines
    more : how many problems it stands for, where it tells none of them
    """

    path: str
    sentence: str
    line: int | None = None
    row: int | None = None
    more: int = 0

    @property
    def told(self) -> str:
        """The sentence, after the line that it speaks of."""
        return f"line {self.line}: {self.sentence}" if self.line else self.sentence


def at(path: str, said: str, place: str = "", row: int | None = None) -> Finding:
    """A finding whose sentence begins with its key path, and with the place in its value that is meant."""
    return Finding(path, f"{path}{place}: {said}", row=row)


def sentences_of(findings: Iterable[Finding]) -> list[str]:
    """The sentences of findings, each once."""
    return list(dict.fromkeys(finding.sentence for finding in findings))


def first_findings(wrong: Sequence[Wrong], finding: Callable[[Wrong], Finding], path: str = "") -> list[Finding]:
    """Findings of the first `FINDINGS_MOST` things that are wrong at a path, each once, then one for all the rest."""
    found = list(dict.fromkeys(finding(each) for each in wrong[:FINDINGS_MOST]))
    more = len(wrong) - FINDINGS_MOST
    return [*found, _for_more(more, path)] if more > 0 else found


def shortened(findings: Sequence[Finding]) -> list[Finding]:
    """The first of some findings, no longer than somebody reads, then one for all the rest."""
    plain = [finding for finding in findings if not finding.more]
    found = [
        each._replace(path=cut(each.path, PATH_MOST), sentence=cut(each.sentence, SENTENCE_MOST))
        for each in plain[:FINDINGS_MOST]
    ]
    more = counted_problems(findings) - len(found)
    return [*found, _for_more(more, "")] if more else found


class Suspicion(NamedTuple):
    """A likely mistake: what is told of it; paths or sentences of findings that follow from it, `*` for any part."""

    finding: Finding
    explains: tuple[str, ...] = ()


def gathered(findings: Iterable[Finding]) -> list[Finding]:
    """Findings with those that say the same of three lines of a table or of the chart, or of more, told as one."""
    alike: dict[tuple[str, ...], list[Finding]] = {}
    for finding in findings:
        alike.setdefault(_kind(finding), []).append(finding)
    return [each for group in alike.values() for each in ([_as_one(group)] if len(group) > 2 else group)]


def _kind(finding: Finding) -> tuple[str, ...]:
    """What findings that say the same have in common: table and key, and the sentence with its numbers left open."""
    parts = finding.path.split(".")
    if finding.row is not None:
        return finding.path, finding.sentence.partition("): ")[2] or finding.sentence
    if len(parts) < 3 or not finding.sentence.startswith(finding.path):
        return finding.path, finding.sentence
    return parts[0], parts[-1], re.sub(r"\b\d+(?:\.\d+)?", "N", finding.sentence.removeprefix(finding.path))


def _as_one(group: Sequence[Finding]) -> Finding:
    """The first of some findings, with where the others stand."""
    first, *others = group
    names = [each.path.split(".")[1] if each.row is None else f"line {each.line}" for each in others]
    told = ", ".join(names[:NAMED_MOST]) + (f" and {len(names) - NAMED_MOST} more" if len(names) > NAMED_MOST else "")
    return first._replace(sentence=f"{first.sentence}; the same holds for {told}")


def counted_problems(findings: Iterable[Finding]) -> int:
    """How many problems findings stand for."""
    return sum(finding.more or 1 for finding in findings)


def _for_more(more: int, path: str) -> Finding:
    return Finding(path, f"{counted(more, 'more problem')}; mend these first", more=more)


def located(findings: Iterable[Finding], text: str) -> list[Finding]:
    """Findings with the line of a project's text on which their key, or what it lies in, is first named."""
    lines, written = key_lines(text), text.split("\n")
    return [finding if finding.line else finding._replace(line=_line(finding, lines, written)) for finding in findings]


def _line(finding: Finding, lines: dict[str, int], written: Sequence[str]) -> int | None:
    parts = finding.path.split(".")
    prefixes = (".".join(parts[:count]) for count in range(len(parts), 0, -1))
    line = next((lines[path] for path in prefixes if path in lines), None)
    if line is None or finding.row is None:
        return line
    opens_a_line = written[line - 1].rstrip().endswith(('"""', "'''"))
    return line + finding.row - (0 if opens_a_line else 1)


_NAME = r"""(?:[\w-]+|"[^"\n]*"|'[^'\n]*')"""
_PATH = rf"{_NAME}(?:\s*\.\s*{_NAME})*"
_HEADER = re.compile(rf"\s*\[\[?\s*({_PATH})\s*\]")
_ASSIGNED = re.compile(rf"\s*({_PATH})\s*=")
HIDDEN = re.compile(
    r'''"""(?:\\.|[^\\])*?(?:"""|\Z)|\'\'\'.*?(?:\'\'\'|\Z)|"(?:\\.|[^"\\\n])*"|'[^'\n]*'|#[^\n]*''', re.DOTALL
)  # fmt: skip
"""Quoted texts and comments; a text over several lines that never ends goes to the end."""


def hidden(text: str) -> str:
    """A TOML text whose quoted texts are underscores, letter by letter; comments and ends of lines stay."""
    return HIDDEN.sub(lambda found: found[0] if found[0][0] == "#" else re.sub(r"[^\n]", "_", found[0]), text)


def key_lines(text: str) -> dict[str, int]:
    """Line, from 1, on which each key or table of a TOML text is first named, by its path.

    Keys inside an inline table or list are left out: what holds them stands on the same line, or close by.
    """
    found: dict[str, int] = {}
    for path, number in named_keys(text):
        found.setdefault(path, number)
    return found


def named_keys(text: str) -> list[tuple[str, int]]:
    """Every key and table of a TOML text as often as it is named, and on which line, from 1."""
    found: list[tuple[str, int]] = []
    table, depth = "", 0
    bare = HIDDEN.sub(lambda hidden: "[" + "\n" * hidden[0].count("\n") + "]", text)
    for number, (line, brackets) in enumerate(zip(text.split("\n"), bare.split("\n"), strict=True), start=1):
        header, key = _HEADER.match(line), _ASSIGNED.match(line)
        if depth == 0 and header:
            table = _plain(header[1])
            found.append((table, number))
        elif depth == 0 and key:
            name = _plain(key[1])
            found.append((f"{table}.{name}" if table else name, number))
        depth = max(depth + sum(map(brackets.count, "[{")) - sum(map(brackets.count, "]}")), 0)
    return found


def _plain(path: str) -> str:
    """A key path without quotes and blanks."""
    return ".".join(part.strip("\"'") for part in re.findall(_NAME, path))
