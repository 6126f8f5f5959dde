"""What is likely meant where a text is no TOML: slips of those who write such files by hand, each told on its line.

Each rule matches what no TOML text may hold outside its texts and comments, so that it accuses nobody wrongly; what
none of them understands is told in the reader's own words.
"""

import re
from collections.abc import Callable, Iterator
from datetime import date

from optimizer.project.findings import HIDDEN, Finding, at, hidden, named_keys
from optimizer.project.numbers import MM_IN
from optimizer.words import cut

_NUMBER = r"[+-]?\d+(?:\.\d+)?"
_END = r"\s*(?=$|[,}\]])"
_UNITS = r"mm|cm|inch|in|m|degC|°\s*C|C|deg|°|%|Hz|cm3|cents?|min(?:utes)?"
_FROM_TO = r"\s*(?:-|–|\.\.\.?|…|to|bis)\s*"


def _date(found: re.Match[str]) -> str | None:
    try:
        day = date(int(found[3]), int(found[2]), int(found[1]))
    except ValueError:
        return None
    return f"a date is written year first: {day.isoformat()}, not {found[0].lstrip('= ')}"


def _with_unit(found: re.Match[str]) -> str:
    key, number, unit = found[1], found[2], found[3]
    scale = MM_IN.get("in" if unit == "inch" else unit, 1.0) if key.endswith("_mm") else 1.0
    return f"the unit stands in the key's name; write {float(number) * scale:.10g}, not {number} {unit}"


def _plain_number(found: re.Match[str]) -> str:
    number = found[1]
    return f"{number} is no number here; write {float(number):.10g}"


_RULES: tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], str | None]], ...] = (
    (
        re.compile(r"[“”„‟«»‘’‚`´]"),
        lambda found: f"{found[0]} is a typographic mark; write the plain quote \" before and after a text",
    ),
    (
        re.compile(r"[\u00a0\u2007\u202f\u200b\u2060\ufeff\u2003]"),
        lambda found: f"there is a blank that TOML does not know (U+{ord(found[0]):04X}); write a plain one over it",
    ),
    (re.compile(rf"=\s*(\d{{1,2}})\.(\d{{1,2}})\.(\d{{4}}){_END}"), _date),
    (
        re.compile(rf"(?<!\[)(?:=\s*)([+-]?\d+),(\d+){_END}"),
        lambda found: f"{found[1]},{found[2]} has a decimal comma; write {found[1]}.{found[2]}",
    ),
    (re.compile(rf"([\w-]+)[\"']?\s*=\s*({_NUMBER})\s*({_UNITS})(?!\w){_END}"), _with_unit),
    (
        re.compile(rf"=\s*({_NUMBER}){_FROM_TO}({_NUMBER}){_END}"),
        lambda found: f"a range is written in brackets: [{found[1]}, {found[2]}]",
    ),
    (re.compile(rf"=\s*([+-]?(?:\.\d+|\d+\.(?!\d)|0\d+(?:\.\d+)?)){_END}"), _plain_number),
    (
        re.compile(rf"=\s*(True|TRUE|yes|Yes|ja|Ja|on|False|FALSE|no|No|nein|Nein|off){_END}"),
        lambda found: f"write {'true' if found[1][0] in 'TtyYjJ' or found[1] == 'on' else 'false'}, not {found[1]}",
    ),
    (
        re.compile(rf"=\s*(\[?\s*)(?!(?:true|false|nan|inf)\b)([A-Za-z][\w#-]*(?:[ \t]+[\w#-]+)*){_END}"),
        lambda found: f'a text needs quotes: "{cut(found[2].strip())}"',
    ),
    (re.compile(r"[\"']"), lambda found: f"the text that begins with {found[0]} is not closed on its line"),
    (
        re.compile(r"^\s*[^\s=]+\s*=\s*(?:[^\[\]{},]+|\{[^{}]*\}|\[[^\[\]]*\]),$"),
        lambda found: "there must be no comma at the end of the line",
    ),
    (
        re.compile(r"^\s*([\w-]+|_+)\s*:\s*\S"),
        lambda found: f"after the key there must be =, not a colon: {found[1]} = ...",
    ),
    (re.compile(r"=\s*\("), lambda found: "a list is written in brackets, [ and ], not ( and )"),
    (
        re.compile(r"=[^=]*?[\w\"'\]}]\s+([A-Za-z_][\w-]*)\s*=(?!=)"),
        lambda found: f"a comma is missing before {found[1]}",
    ),
    (re.compile(r"\]\s+\["), lambda found: "a comma is missing between ] and ["),
    (re.compile(r"^\s*(\[[\w.\s-]+)$"), lambda found: f"the closing bracket is missing: {found[1].strip()}]"),
    (
        re.compile(rf"^\s*([A-Za-z][\w-]*)\s+({_NUMBER}|[\[{{]|_)"),
        lambda found: f"there is no = after {found[1]}",
    ),
)  # fmt: skip
"""What a line holds, texts masked and comments off, and what is likely meant; the first that matches counts."""

_SHARP = re.compile(r"(?:^|[{,\[=])\s*([A-Za-z]\w*#\w*)\s*(?:=|[,\]]|$)")


def slips(text: str) -> list[Finding]:
    """A finding for each line of a text that is no TOML whose mistake is understood."""
    names = {line: path for path, line in reversed(named_keys(text))}
    return [
        at(names[number], said)._replace(line=number) if number in names else Finding("", said, number)
        for number, said in _slips(text)
    ]


def _slips(text: str) -> Iterator[tuple[int, str]]:
    depth = 0
    for number, line in enumerate(hidden(text).split("\n"), start=1):
        sharp = _SHARP.search(line)
        code = line.partition("#")[0].rstrip(" \t\r")
        if not code.strip("_ \t"):
            continue
        said = f'a name with # needs quotes: "{sharp[1]}"' if sharp else _said(code, depth)
        if said:
            yield number, said
        depth = max(depth + code.count("[") - code.count("]"), 0) if "=" in code or depth else 0


def _said(code: str, depth: int) -> str | None:
    for pattern, words in _RULES:
        found = pattern.search(code)
        if found and not (depth and pattern.pattern.startswith("^")):
            said = words(found)
            if said:
                return said
    return None


def twice(text: str, line: int) -> Finding:
    """A finding for a name that stands for the second time on a line of a text, or in the value that ends there."""
    before = [(path, number) for path, number in named_keys(text) if number <= line]
    path, number = before[-1] if before else ("", line)
    first = next((earlier for name, earlier in before if name == path), number)
    if first == number:
        return Finding(path, f"{path}: a name stands twice on this line; each needs its own", number)
    what = "table" if text.split("\n")[number - 1].lstrip().startswith("[") else "name"
    mend = "make one table of the two" if what == "table" else "give the second another, or take it out"
    return Finding(path, f"{path}: this {what} stands twice, first on line {first}; {mend}", number)


def unclosed(text: str, line: int | None) -> Finding | None:
    """A finding for a text over several lines or a list that is not closed before a line, or before the end."""
    for found in HIDDEN.finditer(text):
        mark = found[0][:3]
        if mark in ('"""', "'''") and (len(found[0]) < 6 or not found[0].endswith(mark)):
            number = text.count("\n", 0, found.start()) + 1
            return _at_line(text, number, f"the text that begins here with {mark} has no {mark} at its end")
    depth, opened = 0, 0
    for number, row in enumerate(hidden(text).split("\n")[: line - 1 if line else None], start=1):
        code = row.partition("#")[0]
        opened = opened if depth else number
        depth += code.count("[") - code.count("]")
    return _at_line(text, opened, "a bracket [ that begins here is not closed") if depth > 0 else None


def _at_line(text: str, number: int, said: str) -> Finding:
    """A finding about whatever is named on a line."""
    path = next((path for path, line in reversed(named_keys(text)) if line <= number), "")
    return Finding(path, f"{path}: {said}" if path else said, number)
