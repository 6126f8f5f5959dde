"""Options that mean the same in every command that takes them, and how the text of an option is read.

A reader never refuses: what it cannot take it returns as `Wrong`, so that all wrong values are told at once, before a
command does anything.
"""

import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Annotated, Any

import typer

from optimizer.project.allowed_ranges import MINUTES, SEED, TRIALS, WORKERS, Bounds


class Wrong(str):
    """In place of a value: what is wrong with it, as a sentence."""


Reader = Callable[[str], Any]


def number(name: str, kind: type[int] | type[float], bounds: Bounds) -> Reader:
    """Reads a number within bounds."""

    def read(text: str) -> float | Wrong:
        try:
            value = kind(text)
        except ValueError:
            return Wrong(f"{name} must be a {'whole ' if kind is int else ''}number, but got {text!r}")
        wrong = bounds.wrong(value)
        return value if wrong is None else Wrong(f"{name} {wrong}")

    return read


def word(name: str, known: Sequence[str]) -> Reader:
    """Reads one of some words."""

    def read(text: str) -> str:
        return text if text in known else Wrong(f"{name} must be one of {', '.join(known)}, but got {text!r}")

    return read


def folder(name: str) -> Reader:
    """Reads the path of a folder that must be there."""

    def read(text: str) -> Path | Wrong:
        return Path(text) if Path(text).is_dir() else Wrong(f"{name}: there is no folder {text}")

    return read


def pieces_reader(text: str) -> str:
    """Reads numbers of pieces with commas between."""
    if re.fullmatch(r"\d+(,\d+)*", text):
        return text
    return Wrong(f"--pieces must be numbers with commas between, such as 1,2, but got {text!r}")


def option(name: str, reader: Reader, metavar: str, help: str) -> Any:
    """An option with a value."""
    return typer.Option(name, parser=reader, metavar=metavar, help=help)


def measure(name: str, kind: type[int] | type[float], bounds: Bounds, help: str) -> Any:
    """An option with a number within bounds."""
    return option(name, number(name, kind, bounds), "NUMBER", help)


def file(name: str, help: str) -> Any:
    """An option with a path."""
    return option(name, Path, "PATH", help)


def text(name: str, metavar: str, help: str) -> Any:
    """An option with words of any kind."""
    return option(name, str, metavar, help)


def flag(name: str, help: str) -> Any:
    """An option that is there or not."""
    return typer.Option(name, help=help)


def given(metavar: str, help: str, reader: Reader = Path) -> Any:
    """What a command is about: it must be given, and has no name."""
    return typer.Argument(parser=reader, metavar=metavar, help=help)


ProjectFile = Annotated[Path, given("PROJECT", "project file (.toml)")]
RunFolder = Annotated[Path, given("RUN", "run folder")]
RunOrLayout = Annotated[Path, given("PATH", "run folder, layout file (.json), or folder of a hand-off")]
AnyLayout = Annotated[
    Path, given("PATH", "run folder, layout file (.json), or project file (.toml) without anything left open")
]

Layout = Annotated[str | None, text("--layout", "ID", "one layout of the run, by its id (default: the best tuned)")]
Hand = Annotated[Path | None, file("--hand", "hand file (.toml) of another player, in place of the project's")]
Learned = Annotated[Path | None, file("--learned", "file (.toml) of what a measured instrument taught, by `fit`")]
Results = Annotated[Path, file("--results", "where run folders and folders of results go")]
Runs = Annotated[Path, file("--results", "where runs of a project file are looked for")]
RESULTS = Path("results")

PAPERS = ("a4", "a3", "letter", "tabloid")
"""As `handoff/sheets/paper.py` knows them."""

Out = Annotated[Path | None, file("--out", "folder for all of it (default: one in --results, named after the project)")]
PaperWord = Annotated[
    str, option("--paper", word("--paper", PAPERS), "PAPER", "of what is to print at 1:1: " + ", ".join(PAPERS))
]
Json = Annotated[Path | None, file("--json", "write everything there, as JSON")]

Minutes = Annotated[
    float, measure("--minutes", float, Bounds(above=0, most=10_000), "how long it may take, all in all")
]
Workers = Annotated[
    int | None, measure("--workers", int, Bounds(least=1, most=1000), "processes at once (default: one per core)")
]

SearchMinutes = Annotated[
    float | None, measure("--minutes", float, MINUTES, "stop after so many minutes (default: the project's)")
]
IdleMinutes = Annotated[
    float | None, measure("--idle-minutes", float, MINUTES, "stop when the front gained nothing for so many minutes")
]
Trials = Annotated[int | None, measure("--trials", int, TRIALS, "stop after so many trials")]
SearchWorkers = Annotated[
    int | None, measure("--workers", int, WORKERS, "solves at once (default: the project's, or one per core)")
]
Seed = Annotated[int | None, measure("--seed", int, SEED, "seed of the search (default: the project's)")]
Storage = Annotated[
    str | None,
    text("--storage", "URL", "a database for the study, or HOLEWRIGHT_STORAGE (default: a journal in the run folder)"),
]
NoReport = Annotated[bool, flag("--no-report", "leave out the report that is written into the run folder at the end")]
Anyway = Annotated[bool, flag("--anyway", "search even where no layout was found to keep all limits")]
