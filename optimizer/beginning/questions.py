"""The questions of `begin`: one for each answer, in the order in which they are asked, with the usual answer."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from optimizer.beginning.answers import FAMILIES
from optimizer.beginning.family import family_file
from optimizer.beginning.shipped import shipped_names

Given = Mapping[str, Any]


def _always(given: Given) -> bool:
    return True


def _keyed(given: Given) -> bool:
    return bool(given.get("family") != "six-hole")


@dataclass(frozen=True)
class Question:
    """A question: which answer it asks for, in words, what may be answered, the usual answer, and when it is asked."""

    answer: str
    words: str
    usual: Callable[[Given], str]
    choices: Callable[[Given], list[str] | None] = lambda given: None
    asked: Callable[[Given], bool] = _always


def _lowest(given: Given) -> str:
    return str(family_file(given["family"])["usual_lowest"])


def _yes_no(given: Given) -> list[str]:
    return ["yes", "no"]


QUESTIONS = (
    Question("name", "What is it called?", lambda given: "My reed pipe"),
    Question("family", "How is it fingered?", lambda given: FAMILIES[0], lambda given: list(FAMILIES)),
    Question(
        "bore",
        "Is its bore a cone or a cylinder?",
        lambda given: "cone",
        lambda given: ["cone", "cylinder"],
        lambda given: not _keyed(given),
    ),
    Question(
        "reed",
        "Is its reed double or single?",
        lambda given: "single" if given["family"] == "keyed-cylinder" else "double",
        lambda given: ["double", "single"],
    ),
    Question("lowest", "Which is its lowest written note?", _lowest),
    Question(
        "transposition", "How many semitones does it sound above (or below, -) what is written?", lambda given: "0"
    ),
    Question("notes", "How many semitones has its range? (all: as far as the family goes)", lambda given: "all"),
    Question("forks", "May notes be forked?", lambda given: "yes", _yes_no),
    Question("vents", "Has it vents for a second register?", lambda given: "yes", _yes_no),
    Question("side_keys", "Has it side keys?", lambda given: "yes", _yes_no, _keyed),
    Question("rows", "Do touches stand in rows, away from the holes?", lambda given: "no", _yes_no, _keyed),
    Question("hand", "Whose hand? (a hand file, or one of these)", lambda given: "median-adult", lambda g: None),
    Question("printer", "Which printer? (a printer file, or one of these)", lambda given: "filament-256"),
)
"""In the order in which they are asked."""


def known_names(question: Question) -> str:
    """What comes along for a question that takes a file."""
    return ", ".join(shipped_names(question.answer)) if question.answer in ("hand", "printer", "stock") else ""
