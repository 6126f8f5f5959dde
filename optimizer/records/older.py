"""What files of the schema's first major version said by other names, the objectives `reach` and `evenness`, and what
they did not know, venting.

`reach` is `stretch` now, the same figure. `evenness` was the root mean square bend of sizes and cutoffs; unevenness is
another figure, which is worked out from a layout's holes and notes, and where these are not at hand left out.
"""

from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

from optimizer.project.editing import with_tables
from optimizer.project.objectives import CALLED_NOW
from optimizer.project.toml_text import UnreadableError, tables_of

OTHER_FIGURE = "evenness"
SAID = "Objectives by the names they go by now; without venting, which was not asked for."


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
