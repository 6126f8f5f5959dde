"""Changing one table of a project's text and nothing else: its old lines are commented out, new ones written below."""

import json
import re
import tomllib
from collections.abc import Mapping
from typing import Any

_HEADER = re.compile(r"\s*\[")


def replaced(text: str, name: str, table: Mapping[str, Any], said: str) -> str | None:
    """The text with its top-level table `name` replaced, under a comment; None when its lines cannot be told apart."""
    data = tomllib.loads(text)
    cut = _without(text, name)
    if _read(cut) != {key: value for key, value in data.items() if key != name}:
        return None
    return f"{cut.rstrip()}\n\n# {said}\n" + "\n".join(_lines(table, (name,))) + "\n"


def _read(text: str) -> Mapping[str, Any] | None:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return None


def _without(text: str, name: str) -> str:
    """The text with a table's lines commented out."""
    header = re.compile(rf"""\s*\[\[?\s*["']?{name}["']?\s*[].]""")
    assigned = re.compile(rf"""\s*["']?{name}["']?\s*[=.]""")
    lines, inside, top = [], False, True
    for line in text.split("\n"):
        if _HEADER.match(line) and not (inside and _continues(line)):
            inside = header.match(line) is not None
            top = False
        mine = (inside and line.strip() and not line.lstrip().startswith("#")) or (top and assigned.match(line))
        lines.append(f"# {line}" if mine else line)
    return "\n".join(lines)


def _continues(line: str) -> bool:
    """Whether a line that begins with a bracket is a row of a list over several lines, such as `[0, 4.4],`."""
    return re.fullmatch(r"\s*\[[-+0-9., \t]*\]?,?\s*(\]\s*)?(#.*)?", line) is not None


def _lines(table: Mapping[str, Any], path: tuple[str, ...]) -> list[str]:
    """A table as TOML: its plain keys, then its tables."""
    plain = [f"{_name(key)} = {_value(item)}" for key, item in table.items() if not isinstance(item, dict)]
    lines = [f"[{'.'.join(map(_name, path))}]", *plain]
    for key, item in table.items():
        if isinstance(item, dict):
            lines += ["", *_lines(item, (*path, key))]
    return lines


def _name(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _value(key)


def _value(item: Any) -> str:
    if isinstance(item, str):
        return json.dumps(item, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(item, bool):
        return "true" if item else "false"
    if isinstance(item, list | tuple):
        return f"[{', '.join(map(_value, item))}]"
    if isinstance(item, dict):
        return f"{{ {', '.join(f'{_name(key)} = {_value(value)}' for key, value in item.items())} }}"
    return str(item)
