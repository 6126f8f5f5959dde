"""Pages that stand by themselves: one file, no network, every word from a project escaped.

Templates lay out what is handed to them: words, tables (`views.table`) and drawings, which say themselves that they
are HTML.
"""

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from jinja2 import Environment

HERE = Path(__file__).parent


def rendered(template: str, **values: Any) -> str:
    """A template of `templates/` filled with values; a value that it misses is an error."""
    return _templates().get_template(template).render(values)


def asset(name: str) -> str:
    """A style or script of `assets/`."""
    return (HERE / "assets" / name).read_text(encoding="utf-8")


def style() -> str:
    """The style of pages, that of drawings included."""
    return asset("drawings.css") + asset("page.css")


@cache
def _templates() -> "Environment":
    """Made when the first page is, so that nothing else loads the engine."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    made = Environment(
        loader=FileSystemLoader(HERE / "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    made.globals |= {"style": lambda: Markup(style()), "asset": lambda name: Markup(asset(name))}
    return made
