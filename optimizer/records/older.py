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
SAID = "Objectives by the names they go by now; without venting, which was not asked for."
SOUGHT_AS_BEFORE = "Sought as when the run began, before joints counted."


def named_now(names: Iterable[str]) -> list[str]:
    """Objectives by the names they go by now."""
    return [CALLED_NOW.get(name, name) for name in names]


def figures_now(figures: Mapping[str, float]) -> dict[str, float]:
    """Figures of objectives by the names they go by now, without the one that meant something else."""
    return {CALLED_NOW.get(name, name): value for name, value in figures.items() if name != OTHER_FIGURE}


@lru_cache(maxsize=16)
def text_now(text: str) -> str:
    """A project's text with its objectives by the names they go by now and no venting asked for; as it is where it
    cannot be edited: then its findings say what to write."""
    try:
        search: Any = tables_of(text).get("search")
    except UnreadableError:
        return text
    tables: dict[str, Any] = {"venting": {"wanted": False}}
    sought = search.get("objectives") if isinstance(search, dict) else None
    if isinstance(sought, dict) and CALLED_NOW.keys() & sought.keys():
        now = dict(zip(named_now(sought), sought.values(), strict=True))
        tables["search"] = {**search, "objectives": now}
    return with_tables(text, tables, SAID) or text


def before_joints(version: Any) -> bool:
    """Whether a file of this schema version is from before joints counted."""
    return isinstance(version, str) and re.match(r"1\.|2\.0\.", version) is not None


def text_as_sought(text: str) -> str:
    """The text of a run from before joints counted, so that it goes on without where they would; as it is where it
    cannot be edited."""
    try:
        tables: Any = tables_of(text)
    except UnreadableError:
        return text
    sections, search = tables.get("sections"), tables.get("search", {})
    open_ = isinstance(sections, dict) and isinstance(sections.get("joints"), list)
    sought = search.get("objectives", {}) if isinstance(search, dict) else None
    if not open_ or not isinstance(sought, dict) or "joints" in sought:
        return text
    as_before = {"search": {**search, "objectives": {**sought, "joints": False}}}
    return with_tables(text, as_before, SOUGHT_AS_BEFORE) or text
