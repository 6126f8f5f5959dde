"""What older files said otherwise, the objectives `reach` and `evenness` of the schema's first major version, and what
they did not know: venting, and joints that count.

`reach` is `stretch` now, the same figure. `evenness` was the root mean square bend of sizes and cutoffs; unevenness is
another figure, which is worked out from a layout's holes and notes, and where these are not at hand left out.
"""

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

from optimizer.project.editing import with_tables
from optimizer.project.objectives import CALLED_NOW
from optimizer.project.toml_text import UnreadableError, tables_of

OTHER_FIGURE = "evenness"
SAID = "Objectives by the names they go by now."
SOUGHT_AS_BEFORE = "Sought as when the run began, before venting was asked for and joints counted."


def named_now(names: Iterable[str]) -> list[str]:
    """Objectives by the names they go by now."""
    return [CALLED_NOW.get(name, name) for name in names]


def figures_now(figures: Mapping[str, float]) -> dict[str, float]:
    """Figures of objectives by the names they go by now, without the one that meant something else."""
    return {CALLED_NOW.get(name, name): value for name, value in figures.items() if name != OTHER_FIGURE}


@lru_cache(maxsize=16)
def text_now(text: str) -> str:
    """A project's text with its objectives by the names they go by now; as it is where it cannot be edited: then its
    findings say what to write."""
    try:
        search: Any = tables_of(text).get("search")
    except UnreadableError:
        return text
    sought = search.get("objectives") if isinstance(search, dict) else None
    if not isinstance(sought, dict) or not CALLED_NOW.keys() & sought.keys():
        return text
    now = dict(zip(named_now(sought), sought.values(), strict=True))
    return with_tables(text, {"search": {**search, "objectives": now}}, SAID) or text


def before_venting_and_joints(version: Any) -> bool:
    """Whether a file of this schema version is from before venting was asked for and joints counted."""
    return isinstance(version, str) and re.match(r"1\.|2\.0\.", version) is not None


@lru_cache(maxsize=16)
def text_as_sought(text: str) -> str:
    """The text of a run from before venting was asked for and joints counted, so that it goes on without; as it is
    where it cannot be edited."""
    try:
        tables: Any = tables_of(text)
    except UnreadableError:
        return text
    changed: dict[str, Any] = {} if "venting" in tables else {"venting": {"wanted": False}}
    sections, search = tables.get("sections"), tables.get("search", {})
    open_ = isinstance(sections, dict) and isinstance(sections.get("joints"), list)
    sought = search.get("objectives", {}) if isinstance(search, dict) else None
    if open_ and isinstance(sought, dict) and "joints" not in sought:
        changed["search"] = {**search, "objectives": {**sought, "joints": False}}
    return (with_tables(text, changed, SOUGHT_AS_BEFORE) or text) if changed else text
