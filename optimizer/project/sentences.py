"""What pydantic found in a table, as findings in a maker's words: where, what must hold, what came, what to do."""

import difflib
from collections.abc import Iterable
from functools import cache
from typing import Any, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from optimizer.project.findings import Finding, at
from optimizer.project.likely_values import asked, finger_meant
from optimizer.project.model import FINGERS, Project
from optimizer.project.objectives import CALLED_NOW, Objectives
from optimizer.words import cut

LIMITS = {
    "greater_than": ("gt", "more than"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "less than"),
    "less_than_equal": ("le", "at most"),
}
POINT = FieldInfo.from_annotation(tuple[float, float])
KINDS = {"float": "a number", "int": "a whole number", "string": "a text", "bool": "true or false", "list": "a list"}


def shown(value: Any) -> str:
    """A value as the maker wrote it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str | list | int | float):
        return cut(repr(value))
    return "a table" if isinstance(value, dict) else cut(str(value))


def finding_of(item: Any, model: type[BaseModel], where: tuple[str | int, ...]) -> Finding:
    """What pydantic says of one value as a finding: where, what must hold, what came."""
    names = [part for part in item["loc"] if not isinstance(part, int) and "[" not in part]
    places = [part for part in item["loc"] if isinstance(part, int)]
    path = ".".join(str(part) for part in (*where, *names))
    kind, last = item["type"], str(names[-1]) if names else ""
    if kind == "extra_forbidden":
        return unknown_key((*where, *names), _model_at(model, item["loc"][:-1]))
    if kind == "value_error":
        return _own_finding(path, str(item["ctx"]["error"]))
    if last == "points_mm" and places:
        return _point_finding(item, path, places)
    field = None if places else _model_at(model, item["loc"][:-1]).model_fields.get(last)
    hint = asked(last, item["input"], field) if kind != "missing" else ""
    ranged = last.endswith("_mm") or last == "volume_cm3"
    if ranged and (kind.startswith("tuple") or kind == "too_long" or (kind == "missing" and places)):
        return at(path, f"must be one number or a range [low, high], but got {shown(item['input'])}{hint}")
    if kind == "missing":
        return at(path, "this key is missing")
    if kind == "string_pattern_mismatch":
        return at(path.removesuffix(".id"), "a name must be a letter, then letters, digits or _, at most 16 in all")
    if kind == "literal_error" and last == "by":
        said = f"must be 'key' or a finger ({', '.join(FINGERS)}), but got {shown(item['input'])}"
        return at(path, said + _worker_asked(str(item["input"])))
    if kind == "literal_error" and last == "touch":
        return at(path, _must(item, last).partition(";")[0] + _worker_asked(str(item["input"])))
    return at(path, _must(item, last) + hint)


def _worker_asked(text: str) -> str:
    """The end of a sentence that asks for the finger, or `key`, that a text is likely to mean."""
    meant = "key" if text.strip().lower() in ("key", "keys", "klappe") else finger_meant(text)
    return f"; did you mean {meant!r}?" if meant in ("key", *FINGERS) else ""


def _own_finding(path: str, error: str) -> Finding:
    """What a check of our own says of a table, or of the key in it that it begins with."""
    key, colon, said = error.partition(": ")
    return at(f"{path}.{key}", said) if colon and key.isidentifier() else at(path, error)


def _point_finding(item: Any, path: str, places: list[int]) -> Finding:
    """A finding about one point of the bore."""
    said = f"must be [position, diameter], but got {shown(item['input'])}{asked('', item['input'], POINT)}"
    if len(places) > 1 and item["type"] != "missing":
        said = f"the {('position', 'diameter')[places[1]]} {_must(item, '')}{asked('', item['input'], None)}"
    return at(path, said, f", point {places[0] + 1}")


def _must(item: Any, last: str) -> str:
    """`must be ..., but got ...` for a finding about one value."""
    kind, about, came = item["type"], item.get("ctx", {}), shown(item.get("input"))
    if kind == "too_short":
        what = "points" if last == "points_mm" else "entries"
        return f"must hold at least {about['min_length']} {what}, but got {about['actual_length']}"
    if kind == "too_long":
        return f"must hold at most {about['max_length']} entries, but got {about['actual_length']}"
    if kind in LIMITS:
        name, words = LIMITS[kind]
        return f"must be {words} {about[name]:g}, but got {came}"
    if kind == "finite_number":
        return f"must be a finite number, but got {came}"
    if kind == "literal_error":
        return f"must be {about['expected']}, but got {came}{nearest(str(item['input']), _choices(item))}"
    if kind in ("model_type", "dict_type"):
        return f"must be a table, but got {came}"
    for prefix, words in KINDS.items():
        if kind.startswith(prefix + "_"):
            return f"must be {words}, but got {came}"
    return f"{item['msg'][0].lower()}{item['msg'][1:]}, but got {came}"


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


def causes(items: list[Any], model: type[BaseModel]) -> list[Any]:
    """What pydantic found, without keys that are missing only because they are misspelt beside."""
    misspelt = {
        (*item["loc"][:-1], nearest_of(str(item["loc"][-1]), _model_at(model, item["loc"][:-1]).model_fields))
        for item in items
        if item["type"] == "extra_forbidden"
    }
    return [item for item in items if item["type"] != "missing" or item["loc"] not in misspelt]


def nearest_of(word: str, known: Iterable[str]) -> str | None:
    """The likeliest of known words; None where none is near."""
    return next(iter(difflib.get_close_matches(word, list(known), n=1, cutoff=0.5)), None)


def nearest(word: str, known: Iterable[str]) -> str:
    """The end of a sentence that asks for the likeliest of known words; empty where none is near."""
    close = nearest_of(word, known)
    return f"; did you mean {close!r}?" if close else ""


def unknown_key(location: tuple[str | int, ...], model: type[BaseModel]) -> Finding:
    """A key that a table does not have."""
    path = ".".join(str(part) for part in location)
    fields = list(model.model_fields)
    if model is Objectives and location[-1] in CALLED_NOW:
        return at(path, f"is called {CALLED_NOW[str(location[-1])]} now")
    elsewhere = _tables_with(str(location[-1]))
    if elsewhere:
        return at(path, f"there is no such key here; it belongs in {' or '.join(elsewhere[:3])}")
    hint = nearest(str(location[-1]), fields) or f"; known here: {', '.join(fields)}"
    return at(path, f"there is no such key{hint}")


def _tables_with(key: str) -> list[str]:
    """Tables of a project that hold a key, as a maker calls them."""
    return [table for table, model in _tables() if key in model.model_fields and key != "id"]


@cache
def _tables() -> list[tuple[str, type[BaseModel]]]:
    """Every table of a project but lists in lists, and the whole, with what it holds."""
    found: list[tuple[str, type[BaseModel]]] = []

    def look(path: str, model: type[BaseModel]) -> None:
        for name, field in model.model_fields.items():
            kinds = [kind for kind in (field.annotation, *get_args(field.annotation)) if isinstance(kind, type)]
            for kind in (kind for kind in kinds if issubclass(kind, BaseModel)):
                listed = get_origin(field.annotation) is list
                found.append((f"a line of [{path}{name}]" if listed else f"[{path}{name}]", kind))
                look(f"{path}{name}.", kind)

    look("", Project)
    return found
