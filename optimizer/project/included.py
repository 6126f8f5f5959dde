"""Hand files: one player's `[hand]` table in a file of its own, and how a project takes it in.

A project names a hand file (`hand = "hands/small-adult.toml"`, beside it), or a command does (`--hand FILE`). Either
way the table is written into the project's text, and what stood there is commented out, so that the text a run keeps
needs no other file.
"""

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from optimizer.project.editing import replaced
from optimizer.project.faults import Fault
from optimizer.project.hand import Hand
from optimizer.project.sentences import sentence, toml_sentence


class HandFileError(Fault):
    """A hand file that cannot be used: `problems` holds one sentence for each thing to mend."""

    def __init__(self, problems: list[str]) -> None:
        super().__init__(*problems, heading="hand file to mend")


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
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise HandFileError([f"there is no hand file {path}"]) from None
    except IsADirectoryError:
        raise HandFileError([f"{path} is a folder; name a hand file in it"]) from None
    except UnicodeDecodeError:
        raise HandFileError([f"{path} is not a text file; a hand file is TOML text in UTF-8"]) from None
    except OSError as error:
        raise HandFileError([f"{path} cannot be read: {error.strerror}"]) from None
    return parse_hand(text, str(path), path.name)


def parse_hand(text: str, source: str, name: str) -> HandFile:
    """Check the text of a hand file; source stands before each problem. Raises as `read_hand` does."""
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise HandFileError([f"{source}: {toml_sentence(error)}"]) from None
    table = data["hand"] if isinstance(data.get("hand"), dict) and len(data) == 1 else data
    if "instrument" in table:
        raise HandFileError([f"{source} is a project file; name a file that holds a hand alone"])
    try:
        return HandFile(name, table, Hand.model_validate(table))
    except ValidationError as error:
        found = dict.fromkeys(sentence(item, Hand, ("hand",)) for item in error.errors())
        raise HandFileError([f"{source}: {line.removeprefix('hand.')}" for line in found]) from None


def hand_taken_in(text: str, file: HandFile) -> str:
    """A project's text with a hand file's table in it, in place of what the project says of the hand.

    Raises
    ------
    HandFileError
        when the lines of the project's own hand cannot be told from the others
    """
    taken = replaced(text, "hand", file.table, f"Hand taken in from {file.name}")
    if taken is None:
        raise HandFileError(["hand: write the project's own hand as one [hand] table, so that another can replace it"])
    return taken
