"""Project, hand, printer and stock files that the service offers, and a submitted project with those that it names."""

from collections.abc import Iterable
from pathlib import Path

from pydantic import BaseModel

from optimizer.project.file_text import FOLDERS, nearest_first, offered_names
from optimizer.project.findings import Finding, at, counted_problems, located
from optimizer.project.hand import Hand
from optimizer.project.included import INCLUDED, Included, IncludedError, parse_included, read_included
from optimizer.project.loading import LoadedProject, ProjectError, parse_project, text_with_files
from optimizer.project.toml_text import UnreadableError, tables_of
from optimizer.service.refusals import RefusedError, told
from optimizer.words import counted

SOURCE = "project.toml"


class OfferedFile(BaseModel):
    """A file by its name here, and what it says of itself."""

    name: str
    about: str


class OfferedHand(OfferedFile):
    """A hand file; title: whose hand it is."""

    title: str


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


def hand_of(projects: Path, name: str | None, text: str | None) -> Included[Hand] | None:
    """The hand that a request names or brings; None for neither.

    Raises
    ------
    RefusedError
        422 with every problem in it
    """
    if name is not None and text is not None:
        both = at("hand", "name one that is offered, or send one as hand_text, not both")
        raise RefusedError(422, "the hand cannot be used", told([both]))
    try:
        if text is not None:
            return parse_included(text, "hand_text", "a hand sent along", Hand, "hand")
        return None if name is None else _offered_hand(projects / FOLDERS["hand"], name)
    except IncludedError as error:
        where = "hand" if text is None else "hand_text"
        findings = [finding._replace(path=where) for finding in error.findings]
        raise RefusedError(422, "the hand cannot be used", told(without(projects, findings))) from None


def _offered_hand(folder: Path, name: str) -> Included[Hand]:
    known = offered_names(folder)
    if name not in known:
        there = ", ".join(nearest_first(name, known)) or "none"
        raise IncludedError("hand", [at("hand", f"there is no hand {name!r} here; there are: {there}")])
    return read_included(folder / name, Hand, "hand")


def project_of(projects: Path, text: str, hand: Included[Hand] | None) -> LoadedProject:
    """A submitted project, checked, with the files in it that it names among those offered.

    Raises
    ------
    RefusedError
        422 with every problem found, each with its key path and line
    """
    try:
        return parse_project(standing_alone(projects, text, hand), SOURCE, written=text)
    except ProjectError as error:
        raise to_mend(projects, error) from None


def standing_alone(projects: Path, text: str, hand: Included[Hand] | None) -> str:
    """The text of a submitted project with the files in it that it names among those offered.

    Raises
    ------
    ProjectError
        where it names others, or one that cannot be used
    """
    path = _among_offered(projects, text, [key for key in INCLUDED if not (hand and key == "hand")])
    return text_with_files(text, path, hand)


def to_mend(projects: Path, error: ProjectError) -> RefusedError:
    """The refusal of a project, which does not tell where files lie here."""
    findings = without(projects, error.findings)
    many = counted(counted_problems(findings), "thing")
    return RefusedError(422, f"the project has {many} to mend", told(findings))


def without(projects: Path, findings: list[Finding]) -> list[Finding]:
    """Findings that do not tell where the files lie here."""
    return [each._replace(sentence=each.sentence.replace(f"{projects}/", "")) for each in findings]


def _among_offered(projects: Path, text: str, keys: Iterable[str]) -> Path:
    """Where a submitted project counts as lying, once the files that it names under some keys are known as offered."""
    try:
        data = tables_of(text)
    except UnreadableError:
        return projects / SOURCE
    findings = []
    for key in keys:
        named = data.get(key)
        known = [f"{FOLDERS[key]}/{name}" for name in offered_names(projects / FOLDERS[key])]
        if isinstance(named, str) and named not in known:
            there = ", ".join(nearest_first(named, known)) or "none"
            findings.append(at(key, f"there is no file {named!r} here; there are: {there}; or write a [{key}] table"))
    if findings:
        raise ProjectError(SOURCE, located(findings, text))
    return projects / SOURCE
