"""Hand files: one player's `[hand]` table in a file of its own, and how a project takes it in.

A project names a hand file (`hand = "hands/small-adult.toml"`, beside it), or a command does (`--hand FILE`). Either
way the table is written into the project's text, and what stood there is commented out, so that the text a run keeps
needs no other file.
"""

import json
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from optimizer.findings import sentence, toml_sentence
from optimizer.hand_model import Hand

_HEADER = re.compile(r"\s*\[")
_HAND_HEADER = re.compile(r"""\s*\[\s*["']?hand["']?\s*[].]""")
_HAND_LINE = re.compile(r"""\s*["']?hand["']?\s*[=.]""")


class HandFileError(Exception):
    """A hand file that cannot be used: `problems` holds one sentence for each thing to mend."""

    def __init__(self, problems: list[str]) -> None:
        super().__init__("\n".join(problems))
        self.problems = problems


@dataclass(frozen=True)
class HandFile:
    """A hand as read: file name, table as written, model."""

    name: str
    table: dict[str, Any]
    hand: Hand


def read_hand(path: Path) -> HandFile:
    """Read and check a hand file: the keys of a `[hand]` table, or that table itself.

    Raises
    ------
    HandFileError
        with every problem found
    """
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        raise HandFileError([f"there is no hand file {path}"]) from None
    except IsADirectoryError:
        raise HandFileError([f"{path} is a folder; name a hand file in it"]) from None
    except UnicodeDecodeError:
        raise HandFileError([f"{path} is not a text file; a hand file is TOML text in UTF-8"]) from None
    except OSError as error:
        raise HandFileError([f"{path} cannot be read: {error.strerror}"]) from None
    except (ValueError, RecursionError) as error:
        raise HandFileError([f"{path}: {toml_sentence(error)}"]) from None
    table = data["hand"] if isinstance(data.get("hand"), dict) and len(data) == 1 else data
    if "instrument" in table:
        raise HandFileError([f"{path} is a project file; name a file that holds a hand alone"])
    try:
        return HandFile(path.name, table, Hand.model_validate(table))
    except ValidationError as error:
        found = dict.fromkeys(sentence(item, Hand, ("hand",)) for item in error.errors())
        raise HandFileError([f"{path}: {line.removeprefix('hand.')}" for line in found]) from None


def hand_taken_in(text: str, data: Mapping[str, Any], file: HandFile) -> str:
    """A project's text with a hand file's table in it, in place of what the project says of the hand.

    Raises
    ------
    HandFileError
        when the lines of the project's own hand cannot be told from the others
    """
    cut = _without_hand(text)
    if _read(cut) != {key: value for key, value in data.items() if key != "hand"}:
        raise HandFileError(["hand: write the project's own hand as one [hand] table, so that another can replace it"])
    return (
        f"{cut.rstrip()}\n\n# Hand taken in from {file.name}\n" + "\n".join(_toml_lines(file.table, ("hand",))) + "\n"
    )


def _read(text: str) -> Mapping[str, Any] | None:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return None


def _without_hand(text: str) -> str:
    """The text with its hand's lines commented out."""
    lines, inside, top = [], False, True
    for line in text.split("\n"):
        if _HEADER.match(line):
            inside = _HAND_HEADER.match(line) is not None
            top = False
        hand = (inside and line.strip() and not line.lstrip().startswith("#")) or (top and _HAND_LINE.match(line))
        lines.append(f"# {line}" if hand else line)
    return "\n".join(lines)


def _toml_lines(table: Mapping[str, Any], path: tuple[str, ...]) -> list[str]:
    """A table as TOML: its plain keys, then its tables."""
    plain = [f"{_name(key)} = {_value(item)}" for key, item in table.items() if not isinstance(item, dict)]
    lines = [f"[{'.'.join(map(_name, path))}]", *plain]
    for key, item in table.items():
        if isinstance(item, dict):
            lines += ["", *_toml_lines(item, (*path, key))]
    return lines


def _name(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _value(key)


def _value(item: Any) -> str:
    if isinstance(item, str):
        return json.dumps(item, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(item, bool):
        return "true" if item else "false"
    if isinstance(item, list):
        return f"[{', '.join(map(_value, item))}]"
    return str(item)
