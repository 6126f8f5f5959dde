"""How plans go onto paper at 1:1, lying: rulers on both axes, and crossing marks where a sheet goes on.

A plan longer or higher than a page goes onto several, each with crossing marks a step apart that lie on the same places
of the plan: laid on each other, sheets go on where the last one ended.
"""

import math
from collections.abc import Iterable, Iterator, Mapping
from textwrap import wrap
from typing import NamedTuple

from optimizer.handoff.sheets.plan import LETTER, Extent, Line, Plan, Point, Shape, Words


class Paper(NamedTuple):
    """A size of paper, lying: what it is called, its sides, and how far it is from sheet to sheet of a plan, along and
    across [mm]; what shows beyond lies on the next sheet, too."""

    called: str
    page_mm: tuple[float, float]
    step_mm: tuple[float, float]

    @property
    def window(self) -> Extent:
        """Where the plan shows on a page; 270 x 152 mm of an A4."""
        wide, high = self.page_mm
        return Extent(9.0, 30.0, wide - 18.0, high - 28.0)


A4 = Paper("A4", (297.0, 210.0), (200.0, 120.0))
PAPERS: Mapping[str, Paper] = {
    "a4": A4,
    "a3": Paper("A3", (420.0, 297.0), (320.0, 200.0)),
    "letter": Paper("US letter", (279.4, 215.9), (200.0, 120.0)),
    "tabloid": Paper("US tabloid", (431.8, 279.4), (320.0, 180.0)),
}
"""By the words that they are asked for with; sides by ISO 216 and by inch."""

BEFORE_MM = 10.0
"""What shows of the plan before the crossing mark at which a further sheet begins."""

RULER_MM = 100
CHECK = (
    "Print at 100 %, not fitted to the page. Measure both rulers: where one is not 100.0 mm within 0.3, print again."
)
SMALL_MM = 2.3


class Sheet(NamedTuple):
    """A page of a plan: its paper, its number along and across and of how many, and where the left lower corner of the
    plan's extent lies on the page [mm]."""

    paper: Paper
    along: int
    across: int
    columns: int
    rows: int
    origin: Point

    @property
    def several(self) -> bool:
        """Whether the plan takes more sheets than this one."""
        return self.columns * self.rows > 1

    @property
    def words(self) -> str:
        """Which sheet it is, where there are several."""
        number = self.across * self.columns + self.along + 1
        return f", sheet {number} of {self.columns * self.rows}" if self.several else ""


def sheets_of(extent: Extent, paper: Paper = A4) -> list[Sheet]:
    """The sheets that a drawing takes, row by row from below; along an axis on which one is enough it lies in its
    middle."""
    window, step = paper.window, paper.step_mm
    sizes, room = ((each.right - each.left, each.top - each.bottom) for each in (extent, window))
    counts, firsts = zip(*(_spread(*each) for each in zip(sizes, room, step, strict=True)), strict=True)
    left, bottom = window.left + firsts[0], window.bottom + firsts[1]
    return [
        Sheet(paper, i, j, counts[0], counts[1], (left - i * step[0], bottom - j * step[1]))
        for j in range(counts[1])
        for i in range(counts[0])
    ]


def _spread(size: float, window: float, step: float) -> tuple[int, float]:
    """How many sheets a size takes, and where in the window of the first one it begins [mm]."""
    if size <= window:
        return 1, (window - size) / 2.0
    return 1 + math.ceil((size - window + BEFORE_MM) / step - 1e-9), BEFORE_MM


def furniture(plan: Plan, sheet: Sheet, foot: str) -> Iterator[Shape]:
    """What stands about the plan on a page: title, sentences, rulers, foot."""
    wide, high = sheet.paper.page_mm
    yield Words((9.0, high - 10.0), plan.title + sheet.words, 4.0)
    for number, line in enumerate(lines_of(plan.told, wide - 27.0, SMALL_MM)[:3]):
        yield Words((9.0, high - 16.0 - 3.7 * number), line, SMALL_MM)
    yield from ruler((12.0, 18.0), (1.0, 0.0))
    yield from ruler((wide - 10.5, 40.0), (0.0, 1.0))
    for number, line in enumerate(lines_of((CHECK,), wide - 129.0, SMALL_MM)):
        yield Words((120.0, 18.0 - 3.7 * number), line, SMALL_MM)
    yield Words((9.0, 7.0), f"{foot}; {sheet.paper.called}", SMALL_MM)


def ruler(start: Point, way: Point) -> Iterator[Shape]:
    """A ruler of 100 mm with a mark each millimetre, along x or y.

    Parameters
    ----------
    start : of its base line [mm]
    way : (1, 0) or (0, 1); marks stand to the left of that way
    """
    (x, y), (dx, dy) = start, way
    yield Line("outline", (start, (x + dx * RULER_MM, y + dy * RULER_MM)))
    for mm in range(RULER_MM + 1):
        high = 4.0 if mm % 10 == 0 else 3.0 if mm % 5 == 0 else 2.0
        place = x + dx * mm, y + dy * mm
        yield Line("centres", (place, (place[0] - dy * high, place[1] + dx * high)))
        if mm % 50 == 0:
            yield Words((place[0] + dy * 0.8, place[1] - dx * 3.2 - dy * 0.8), f"{mm}", SMALL_MM)


def crossings(sheet: Sheet) -> Iterator[Shape]:
    """Crossing marks of a sheet, at places of the drawing that its neighbours show too; none of a single sheet."""
    if not sheet.several:
        return
    window, (along, across) = sheet.paper.window, sheet.paper.step_mm
    for i in (0, 1):
        for j in (0, 1):
            x, y = window.left + BEFORE_MM + i * along, window.bottom + BEFORE_MM + j * across
            yield Line("outline", ((x - 4.0, y), (x + 4.0, y)))
            yield Line("outline", ((x, y - 4.0), (x, y + 4.0)))
            yield Words((x + 1.0, y + 1.0), f"{sheet.along + i}.{sheet.across + j}", SMALL_MM)


def lines_of(told: Iterable[str], width_mm: float, height_mm: float) -> list[str]:
    """Sentences in lines as long as a width allows."""
    return wrap(" ".join(told), int(width_mm / (LETTER * height_mm)))
