"""Tables and lines in a terminal."""

from collections.abc import Iterable

from rich.console import Console, JustifyMethod
from rich.table import Table as Drawn

from optimizer.views.table import Table


def show_table(console: Console, table: Table) -> None:
    """A table with its title above and its notes below."""
    title = ", ".join(part for part in (table.title, table.caption) if part)
    if title:
        console.print(title, style="table.title", highlight=False)
    drawn = Drawn(header_style="bold", pad_edge=False, box=None)
    for column in table.columns:
        side: JustifyMethod = "right" if column.to_right else "left"
        drawn.add_column(column.headed(" "), justify=side, no_wrap=not column.wraps)
    for row in table.cells():
        drawn.add_row(*(cell.words for cell in row))
    console.print(drawn)
    show_lines(console, table.notes, "dim")


def show_lines(console: Console, lines: Iterable[str], style: str = "", heading: str = "", whole: bool = False) -> None:
    """Sentences below a heading, set in a little; whole: however long, never broken by the console."""
    if heading:
        console.print(heading, style="bold")
    for line in lines:
        console.print(f"  {line}", style=style, soft_wrap=whole)
