"""Reading a project file: TOML to `Project`, with every problem at once and a sentence for each."""

import difflib
import itertools
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from acoustics.pitch import midi_number
from optimizer.chart import ChartNote, read_chart
from optimizer.project import Hole, Key, Project

_LISTS: dict[str, type[BaseModel]] = {"holes": Hole, "keys": Key}
"""Tables whose every line is one item, named by the line's key."""


class ProjectError(Exception):
    """A project file that cannot be used: `problems` holds one sentence for each thing to mend."""

    def __init__(self, source: str, problems: list[str]) -> None:
        super().__init__("\n".join(problems))
        self.source = source
        self.problems = problems


@dataclass(frozen=True)
class LoadedProject:
    """A project that passed every check: its model, its chart and its text as written."""

    source: str
    text: str
    project: Project
    notes: list[ChartNote]


def load_project(path: Path) -> LoadedProject:
    """Read and check a project file.

    Raises
    ------
    ProjectError
        with every problem found
    """
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise ProjectError(str(path), [f"there is no file {path}"]) from None
    except IsADirectoryError:
        raise ProjectError(str(path), [f"{path} is a folder; name a project file in it"]) from None
    except (OSError, UnicodeDecodeError) as error:
        raise ProjectError(str(path), [f"{path} cannot be read as text: {error}"]) from None
    return parse_project(text, str(path))


def parse_project(text: str, source: str) -> LoadedProject:
    """Check the text of a project file; see `load_project`."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ProjectError(source, [f"not valid TOML: {error}"]) from None
    sections, problems = _sections(data)
    problems += _cross_checks(sections)
    notes: list[ChartNote] = []
    if all(name in sections for name in ("chart", "holes", "keys")):
        notes, chart_problems = read_chart(sections["chart"], sections["holes"], sections["keys"])
        problems += chart_problems + _scale_checks(sections, notes)
    if problems:
        raise ProjectError(source, problems)
    return LoadedProject(source, text, Project(**sections), notes)


def _sections(data: Mapping[str, Any]) -> tuple[dict[str, Any], list[str]]:
    """Each table checked on its own, so that one broken table hides nothing in the others."""
    sections: dict[str, Any] = {}
    problems = [_unknown_key((key,), Project) for key in data if key not in Project.model_fields]
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
            model = field.annotation
            assert isinstance(model, type)
            assert issubclass(model, BaseModel)
            found, found_problems = _validated(model, data[name], (name,))
            problems += found_problems
            if found is not None:
                sections[name] = found
    return sections, problems


def _items(name: str, value: Any) -> tuple[list[Any], list[str]]:
    if not isinstance(value, dict):
        return [], [f"{name}: must be a table with one line for each, such as `[{name}]`, but got {value!r}"]
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
        return None, [_sentence(item, model, where) for item in error.errors()]


def _sentence(item: Any, model: type[BaseModel], where: tuple[str | int, ...]) -> str:
    """One pydantic finding as a sentence: where, what must hold, what came."""
    location = tuple(where) + tuple(item["loc"])
    path = ".".join(str(part) for part in location)
    kind, value = item["type"], item.get("input")
    if kind == "extra_forbidden":
        return _unknown_key(location, _model_at(model, item["loc"][:-1]))
    if kind == "missing":
        return f"{path}: this key is missing"
    if kind == "value_error":
        return (
            f"{path}.{item['ctx']['error']!s}"
            if ": " in str(item["ctx"]["error"])
            else (f"{path}: {item['ctx']['error']}")
        )
    message = item["msg"].removeprefix("Input ").removeprefix("Value ")
    message = message[0].lower() + message[1:]
    if kind == "literal_error":
        return f"{path}: {message}, but got {value!r}{_nearest(str(value), _choices(item))}"
    return f"{path}: {message}, but got {value!r}"


def _choices(item: Any) -> list[str]:
    return [part.strip(" '") for part in str(item["ctx"]["expected"]).replace(" or ", ",").split(",")]


def _model_at(model: type[BaseModel], location: Iterable[str | int]) -> type[BaseModel]:
    """The model that a location inside another model leads to."""
    for part in location:
        field = model.model_fields.get(str(part))
        if field is None:
            continue
        for candidate in (field.annotation, *get_args(field.annotation)):
            if isinstance(candidate, type) and issubclass(candidate, BaseModel):
                model = candidate
                break
    return model


def _nearest(word: str, known: Iterable[str]) -> str:
    close = difflib.get_close_matches(word, list(known), n=1, cutoff=0.5)
    return f"; did you mean {close[0]!r}?" if close else ""


def _unknown_key(location: tuple[str | int, ...], model: type[BaseModel]) -> str:
    path = ".".join(str(part) for part in location)
    fields = list(model.model_fields)
    hint = _nearest(str(location[-1]), fields) or f"; known here: {', '.join(fields)}"
    return f"{path}: there is no such key{hint}"


def _cross_checks(sections: Mapping[str, Any]) -> list[str]:
    """Checks between tables, each run when its tables are sound."""
    problems: list[str] = []
    holes: list[Hole] = sections.get("holes", [])
    keys: list[Key] = sections.get("keys", [])
    if "holes" in sections and "keys" in sections:
        problems += _key_checks(holes, keys)
    if "holes" in sections and "bore" in sections:
        problems += _bore_checks(holes, sections["bore"])
    if "holes" in sections and "chart" in sections:
        ids = [hole.id for hole in holes]
        for name in sections["chart"].order:
            if name not in ids:
                problems.append(f"chart.order: there is no hole {name!r}{_nearest(name, ids)}")
    return problems


def _key_checks(holes: list[Hole], keys: list[Key]) -> list[str]:
    problems = []
    ids = [hole.id for hole in holes]
    touches = {key.id for key in keys} | {hole.by for hole in holes}
    for key in keys:
        for verb in ("opens", "closes"):
            for name in getattr(key, verb):
                if name not in ids:
                    problems.append(f"keys.{key.id}.{verb}: there is no hole {name!r}{_nearest(name, ids)}")
        if not key.opens and not key.closes:
            problems.append(f"keys.{key.id}: a key must open or close a hole")
        for name in key.moved_by:
            if name not in touches:
                problems.append(f"keys.{key.id}.moved_by: there is no touch {name!r}{_nearest(name, touches)}")
    worked = {name for key in keys for name in (*key.opens, *key.closes)}
    for hole in holes:
        if hole.by == "key" and hole.id not in worked:
            problems.append(f"holes.{hole.id}.by: is 'key', but no key opens or closes it")
    fingers = [hole.by for hole in holes if hole.by != "key"]
    for finger in sorted({name for name in fingers if fingers.count(name) > 1}):
        problems.append(f"holes: the finger {finger} is on more than one hole; make all but one 'key'")
    return problems


def _bore_checks(holes: list[Hole], bore: Any) -> list[str]:
    problems = []
    end = bore.end_span_mm[1]
    tone = [hole for hole in holes if hole.role == "tone"]
    for hole in holes:
        if hole.position_mm[1] >= end:
            problems.append(
                f"holes.{hole.id}.position_mm: must lie before the bore's end at {end:g}, "
                f"but reaches to {hole.position_mm[1]:g}"
            )
    for below, above in itertools.pairwise(tone):
        if above.position_mm[0] > below.position_mm[1]:
            problems.append(
                f"holes.{above.id}.position_mm: holes are listed from the bell toward the reed, so it must be able to "
                f"lie above {below.id} (at most {below.position_mm[1]:g}), but starts at {above.position_mm[0]:g}"
            )
    return problems


def _scale_checks(sections: Mapping[str, Any], notes: list[ChartNote]) -> list[str]:
    if "scale" not in sections or not notes:
        return []
    problems = []
    written = [note.written for note in notes]
    pitches = {midi_number(name) for name in written}
    for table in ("weight", "offset_cents"):
        for name in getattr(sections["scale"], table):
            try:
                known = midi_number(name) in pitches
            except ValueError as error:
                problems.append(f"scale.{table}: {error}")
                continue
            if not known:
                problems.append(f"scale.{table}: the chart has no note {name!r}{_nearest(name, written)}")
    return problems
