"""Project, hand and printer files that the service offers, and a submitted project with those that it names."""

import re
import tomllib
from pathlib import Path

from pydantic import BaseModel

from optimizer.project.included import HandFile, HandFileError, hand_taken_in, parse_hand, read_hand
from optimizer.project.loading import LoadedProject, ProjectError, parse_project, text_with_files
from optimizer.project.sentences import toml_sentence
from optimizer.service.refusals import Finding, RefusedError, findings

FILE = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}\.toml")
SOURCE = "project.toml"


class OfferedFile(BaseModel):
    """A file by its name here, and what it says of itself."""

    name: str
    about: str


class OfferedHand(OfferedFile):
    """A hand file; title: whose hand it is."""

    title: str


def offered_names(folder: Path) -> list[str]:
    """Names of the files in a folder of projects, hands or printers."""
    if not folder.is_dir():
        return []
    return sorted(path.name for path in folder.iterdir() if FILE.fullmatch(path.name) and path.is_file())


def offered_text(folder: Path, name: str) -> str:
    """The text of one of them.

    Raises
    ------
    RefusedError
        404 when there is no such file
    """
    if name not in offered_names(folder):
        raise RefusedError(404, "there is no file of that name here")
    try:
        return (folder / name).read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError):
        raise RefusedError(404, "the file of that name here cannot be read") from None


def hand_of(projects: Path, name: str | None, text: str | None) -> HandFile | None:
    """The hand that a request names or brings; None for neither.

    Raises
    ------
    RefusedError
        422 with every problem in it
    """
    if name is not None and text is not None:
        message = "hand: name one that is offered, or send one as hand_text, not both"
        raise RefusedError(422, "the hand cannot be used", [Finding(path="hand", message=message)])
    try:
        if text is not None:
            return parse_hand(text, "hand_text", "a hand sent along")
        if name is None:
            return None
        if name not in offered_names(projects / "hands"):
            known = ", ".join(offered_names(projects / "hands")) or "none"
            raise HandFileError([f"hand: there is no hand {name!r} here; there are: {known}"])
        return read_hand(projects / "hands" / name)
    except HandFileError as error:
        said = [line.replace(f"{projects}/", "") for line in error.problems]
        where = "hand" if text is None else "hand_text"
        raise RefusedError(
            422, "the hand cannot be used", [Finding(path=where, message=line) for line in said]
        ) from None


def project_of(projects: Path, text: str, hand: HandFile | None) -> LoadedProject:
    """A submitted project, checked, with the hand and printer files in it that it names among those offered.

    Raises
    ------
    RefusedError
        422 with every problem found, each with its key path and line
    """
    try:
        if hand is not None:
            tomllib.loads(text)
            text = hand_taken_in(text, hand)
        return parse_project(text_with_files(text, _among_offered(projects, text), None), SOURCE)
    except (ValueError, RecursionError) as error:
        problems = [toml_sentence(error)]
    except HandFileError as error:
        problems = error.problems
    except ProjectError as error:
        problems = [line.replace(f"{projects}/", "") for line in error.problems]
    many = "1 thing" if len(problems) == 1 else f"{len(problems)} things"
    raise RefusedError(422, f"the project has {many} to mend", findings(text, problems))


def _among_offered(projects: Path, text: str) -> Path:
    """Where a submitted project counts as lying, once the files that it names are known to be offered."""
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError):
        return projects / SOURCE
    problems = []
    for key, kind in (("hand", "hands"), ("printer", "printers")):
        named = data.get(key)
        known = [f"{kind}/{name}" for name in offered_names(projects / kind)]
        if isinstance(named, str) and named not in known:
            there = ", ".join(known) or "none"
            problems.append(f"{key}: there is no file {named!r} here; there are: {there}; or write a [{key}] table")
    if problems:
        raise ProjectError(SOURCE, problems)
    return projects / SOURCE
