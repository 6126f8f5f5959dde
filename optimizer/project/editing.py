"""Changing tables of a project's text and nothing else: comments and layout around them stay as they are."""

import re
import tomllib
from collections.abc import Iterable, Mapping, MutableMapping, Sequence
from typing import Any

from optimizer.project.toml_text import tables_of


def with_tables(
    text: str, tables: Mapping[str, Any], said: str, anew: bool = False, without: Sequence[str] = ()
) -> str | None:
    """The text with other top-level tables in it, and a comment at its end that says so.

    Parameters
    ----------
    text : a TOML text that can be read
    tables : by name; of one that the text has already only what differs is written
    said : the comment
    anew : whether they are written as a whole, under the comment, and nothing of the old ones stays
    without : tables that go

    Returns
    -------
    The text, or None where the library that edits cannot make one that reads as it should.
    """
    known = tables_of(text)
    wanted = {name: table for name, table in {**known, **tables}.items() if name not in without}
    ended = text if text.endswith("\n") else f"{text}\n"
    rest = _without_lines(ended, known.keys() & tables) if anew and not without else None
    found = None if rest is None else _with_changes("", tables, said, rest)
    if found is not None and _reads_as(found, wanted):
        return found
    found = _with_changes(ended, wanted, said, gone=tables if anew else ())
    return found if found is not None and _reads_as(found, wanted) else None


def _with_changes(
    text: str, wanted: Mapping[str, Any], said: str, before: str = "", gone: Iterable[str] = ()
) -> str | None:
    """A text with a comment at its end and tables as they are wanted, some of them anew, after another text."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        document = tomlkit.parse(text)
        for name in gone:
            document.pop(name, None)
        document.add(tomlkit.nl())
        document.add(tomlkit.comment(said))
        _change(document, wanted)
        return before + document.as_string()
    except (TOMLKitError, RecursionError):
        return None


def _without_lines(text: str, names: Iterable[str]) -> str | None:
    """A text without what it says by one line each, before all tables; the library takes long to read a whole text."""
    first = re.search(r"(?m)^\[", text)
    head, tables = text[: first and first.start()], text[first.start() :] if first else ""
    for name in names:
        head, times = re.subn(rf'(?m)^{name} *= *"[^"\\\n]*" *(?:#.*)?\n', "", head)
        if times != 1:
            return None
    return head + tables


def _reads_as(text: str, wanted: Mapping[str, Any]) -> bool:
    try:
        return tomllib.loads(text) == wanted
    except (tomllib.TOMLDecodeError, RecursionError):
        return False


def with_chart_lines(text: str, lines: Sequence[str]) -> str | None:
    """The text with more lines at the end of its chart, all else as it is.

    Parameters
    ----------
    text : of a project
    lines : as the chart has them

    Returns
    -------
    The text, or None where the library that edits cannot make one that reads as it should.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    wanted = tables_of(text)
    written = "\n".join([wanted["chart"]["lines"].rstrip("\n"), *lines, ""])
    try:
        document: Any = tomlkit.parse(text)
        inside = tomlkit.string(written, multiline=True).as_string().removeprefix('"""')
        document["chart"]["lines"] = tomlkit.value(f'"""\n{inside}')  # the first line stays below the quotes
        edited = str(document.as_string())
        chart = {**wanted["chart"], "lines": written}
        return edited if tomllib.loads(edited) == {**wanted, "chart": chart} else None
    except (TOMLKitError, tomllib.TOMLDecodeError, RecursionError):
        return None


def _change(old: MutableMapping[str, Any], new: Mapping[str, Any]) -> None:
    """Make a table hold what another does, and touch nothing that it holds already."""
    for key in [key for key in old if key not in new]:
        del old[key]
    for key, value in new.items():
        if isinstance(value, Mapping) and isinstance(old.get(key), MutableMapping):
            _change(old[key], value)
        elif key not in old or old[key] != value:
            old[key] = value
