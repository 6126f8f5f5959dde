"""Tables as data: what stands in them, apart from the terminal, page or Markdown that they are drawn in."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from optimizer.views.drawings.canvas import Canvas

Item = TypeVar("Item")


@dataclass(frozen=True)
class Cell:
    """Words with more to them.

    look : `good`, `warn`, `bad`, or a class of the page's style
    target : the place in a page that the words lead to; its row is about that place
    drawing : what a page shows in place of the words
    """

    words: str
    look: str = ""
    target: str = ""
    drawing: Canvas | None = None


Value = str | float | Cell | None
"""What a row has under a column; None is drawn as a dash."""


@dataclass(frozen=True)
class Column(Generic[Item]):
    """One column: where its values come from, and how they are written.

    key : its name among the columns, and its heading where that is not given apart
    value : from an item to its value under this column
    pattern : format of numbers, which then stand to the right
    heading, unit : what stands above it
    right : whether words stand to the right too; wraps : whether long ones may take several lines
    """

    key: str
    value: Callable[[Item], Value]
    pattern: str = ""
    unit: str = ""
    heading: str | None = None
    right: bool = False
    wraps: bool = False

    def headed(self, between: str) -> str:
        """Heading and unit, with what stands between them."""
        heading = self.key if self.heading is None else self.heading
        return f"{heading}{between}{self.unit}" if self.unit else heading

    @property
    def to_right(self) -> bool:
        """Whether its cells stand to the right, as figures do."""
        return self.right or bool(self.pattern)

    def cell(self, value: Value) -> Cell:
        """A value as it is written."""
        if isinstance(value, Cell):
            return value
        if value is None:
            return Cell("-")
        return Cell(value if isinstance(value, str) else format(value, self.pattern))


@dataclass(frozen=True)
class Table:
    """A title, columns, and rows with a value for each column.

    caption : what holds for all figures, such as their unit; notes : sentences to stand below

    Raises
    ------
    ValueError
        for two columns with one key
    """

    title: str
    columns: Sequence[Column[Any]]
    rows: Sequence[Sequence[Value]]
    caption: str = ""
    notes: Sequence[str] = ()

    def __post_init__(self) -> None:
        keys = [column.key for column in self.columns]
        if len(set(keys)) < len(keys):
            raise ValueError(f"columns must differ by key, but got {', '.join(keys)}")

    def cells(self) -> list[list[Cell]]:
        """The rows as they are written."""
        return [[column.cell(value) for column, value in zip(self.columns, row, strict=True)] for row in self.rows]


def tabled(
    title: str, columns: Sequence[Column[Item]], items: Iterable[Item], caption: str = "", notes: Sequence[str] = ()
) -> Table:
    """A table with a row for each item."""
    rows = [[column.value(item) for column in columns] for item in items]
    return Table(title, columns, rows, caption, notes)


def markdown(table: Table) -> str:
    """The table in Markdown, without title and notes."""
    rows = [[column.headed(", ") for column in table.columns], ["---"] * len(table.columns)]
    rows += [[cell.words for cell in row] for row in table.cells()]
    return "\n".join("| " + " | ".join(row) + " |" for row in rows)
