"""Reading a project file: TOML to `Project`, with every problem at once and a sentence for each."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from optimizer.project.chart import ChartNote, read_chart
from optimizer.project.checks import cross_checks, scale_checks
from optimizer.project.faults import Fault
from optimizer.project.impossible import impossibilities
from optimizer.project.included import HandFileError, hand_taken_in, read_hand
from optimizer.project.model import Hole, Key, Project
from optimizer.project.piece_checks import fitting_sentences, piece_checks
from optimizer.project.printer_file import PrinterFileError, printer_taken_in
from optimizer.project.sentences import sentence, shown, toml_sentence, unknown_key
from optimizer.words import counted

_LISTS: dict[str, type[BaseModel]] = {"holes": Hole, "keys": Key}
"""Tables whose every line is one item, named by the line's key."""


class ProjectError(Fault):
    """A project file that cannot be used: `problems` holds one sentence for each thing to mend."""

    def __init__(self, source: str, problems: list[str]) -> None:
        super().__init__(*problems, heading=f"{source}: {counted(len(problems), 'problem')} to mend")
        self.source = source


@dataclass(frozen=True)
class LoadedProject:
    """A project that passed every check: its model, its chart and its text as written, a hand file's table taken in."""

    source: str
    text: str
    project: Project
    notes: list[ChartNote]


def load_project(path: Path, hand: Path | None = None, rule_out: bool = True) -> LoadedProject:
    """Read and check a project file; hand: a hand file in place of the project's own hand; rule_out: `parse_project`.

    Raises
    ------
    ProjectError
        with every problem found
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise ProjectError(str(path), [f"there is no file {path}"]) from None
    except IsADirectoryError:
        raise ProjectError(str(path), [f"{path} is a folder; name a project file in it"]) from None
    except UnicodeDecodeError:
        raise ProjectError(str(path), [f"{path} is not a text file; a project is TOML text in UTF-8"]) from None
    except OSError as error:
        raise ProjectError(str(path), [f"{path} cannot be read: {error.strerror}"]) from None
    return parse_project(text_with_files(text, path, hand), str(path), rule_out)


def text_with_files(text: str, path: Path, hand: Path | None) -> str:
    """The project's text with the hand and printer files in it that it names, or the hand that is named for it.

    Raises
    ------
    ProjectError
        when one of them cannot be used
    """
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError):
        return text
    try:
        if isinstance(data.get("printer"), str):
            text = printer_taken_in(text, path.parent / data["printer"])
        if hand is not None or isinstance(data.get("hand"), str):
            text = hand_taken_in(text, read_hand(hand or path.parent / data["hand"]))
    except (HandFileError, PrinterFileError) as error:
        raise ProjectError(str(path), error.problems) from None
    return text


def parse_project(text: str, source: str, rule_out: bool = True) -> LoadedProject:
    """Check the text of a project file; see `load_project`. rule_out: refuse one proved to have no layout."""
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise ProjectError(source, [toml_sentence(error)]) from None
    for name in ("hand", "printer"):
        if isinstance(data.get(name), str):
            raise ProjectError(
                source, [f"{name}: the file {data[name]!r} is out of reach here; write its [{name}] table"]
            )
    sections, problems = _sections(data)
    problems += cross_checks(sections) + piece_checks(sections)
    notes: list[ChartNote] = []
    if all(name in sections for name in ("chart", "holes", "keys")):
        notes, chart_problems = read_chart(sections["chart"], sections["holes"], sections["keys"])
        problems += chart_problems
        if not chart_problems:
            problems += scale_checks(sections, notes)
    if problems:
        raise ProjectError(source, problems)
    sections["uncertainty"] = sections["uncertainty"].taken_from(sections["printer"])
    project = Project(**sections)
    ruled_out = impossibilities(project) + fitting_sentences(project) if rule_out else []
    if ruled_out:
        raise ProjectError(source, ruled_out)
    return LoadedProject(source, text, project, notes)


def _sections(data: Mapping[str, Any]) -> tuple[dict[str, Any], list[str]]:
    """Each table checked on its own, so that one broken table hides nothing in the others."""
    sections: dict[str, Any] = {}
    problems = [unknown_key((key,), Project) for key in data if key not in Project.model_fields]
    for name, field in Project.model_fields.items():
        if name not in data:
            if field.is_required():
                problems.append(f"{name}: this table is missing; every project needs it")
            else:
                sections[name] = field.get_default(call_default_factory=True)
        elif name in _LISTS:
            items, item_problems = _items(name, data[name])
            problems += item_problems
            if not item_problems:
                sections[name] = items
        else:
            kinds: list[Any] = [kind for kind in get_args(field.annotation) if kind is not type(None)]
            (model,) = kinds or [field.annotation]
            found, found_problems = _validated(model, data[name], (name,))
            problems += found_problems
            if found is not None:
                sections[name] = found
    return sections, problems


def _items(name: str, value: Any) -> tuple[list[Any], list[str]]:
    if not isinstance(value, dict):
        one = name.removesuffix("s")
        line = "g1 = { by = ... }" if name == "holes" else "k1 = { touch = ... }"
        came = "a list" if isinstance(value, list) else shown(value)
        return [], [f"{name}: must be a table with one line for each {one}, such as `{line}`, but got {came}"]
    if name == "holes" and not value:
        return [], ["holes: must hold at least one hole"]
    items, problems = [], []
    for label, entry in value.items():
        if not isinstance(entry, dict):
            problems.append(f"{name}.{label}: must be a table such as {{ by = ... }}, but got {entry!r}")
            continue
        if "id" in entry:
            problems.append(f"{name}.{label}.id: there is no such key; {label!r} in front of the line is the id")
            continue
        item, item_problems = _validated(_LISTS[name], {"id": label, **entry}, (name, label))
        problems += item_problems
        if item is not None:
            items.append(item)
    return items, problems


def _validated(model: type[BaseModel], value: Any, where: tuple[str | int, ...]) -> tuple[Any, list[str]]:
    try:
        return model.model_validate(value), []
    except ValidationError as error:
        return None, list(dict.fromkeys(sentence(item, model, where) for item in error.errors()))
