"""The fingering chart: for each note a strip of the holes from the reed to the bell, closed, half or open.

Holes under fingers are drawn large, those under keys smaller, vents least.
"""

from collections.abc import Sequence

from optimizer.records.layout import HoleRecord, NoteRecord
from optimizer.views.drawings.canvas import Canvas, Point, Value

STEP, EDGE, HEAD = 16.0, 4.0, 30.0
FINGER, KEY, VENT = 11.5, 7.5, 5.0


def fingering_strip(note: NoteRecord, holes: Sequence[HoleRecord]) -> Canvas:
    """One note's strip; holes from the reed to the bell, so against the order of the note's openness."""
    openness = list(reversed(note.openness))
    strip = Canvas(_width(holes), STEP, strip_words(note, holes), "strip", unit="px")
    strip.line("pipe", (0, STEP / 2), (_width(holes), STEP / 2))
    for number, (hole, share) in enumerate(zip(holes, openness, strict=True)):
        _mark(strip, (EDGE + STEP * (number + 0.5), STEP / 2), _size(hole), share)
    return strip


def _width(holes: Sequence[HoleRecord]) -> float:
    return STEP * len(holes) + 2 * EDGE


def _size(hole: HoleRecord) -> float:
    return VENT if hole.role == "vent" else KEY if hole.by == "key" else FINGER


def named_holes(holes: Sequence[HoleRecord]) -> Canvas:
    """Names of the holes, upright, above their places."""
    head = Canvas(_width(holes), HEAD, "holes: " + ", ".join(hole.id for hole in holes), "strip", unit="px")
    for number, hole in enumerate(holes):
        x = EDGE + STEP * (number + 0.5) + 3.5
        kind = "keyed" if hole.by == "key" else "finger"
        look: dict[str, Value] = {"transform": f"rotate(-90 {x:g} {HEAD - 2:g})", "font-size": 9.5}
        head.text(kind, (x, HEAD - 2), hole.id if hole.by == "key" else hole.by, **look)
    return head


def strip_words(note: NoteRecord, holes: Sequence[HoleRecord]) -> str:
    """The strip in words."""
    pairs = list(zip(holes, reversed(note.openness), strict=True))
    closed = [hole.id for hole, share in pairs if share <= 0]
    half = [hole.id for hole, share in pairs if 0 < share < 1]
    parts = [f"closed: {' '.join(closed)}"] if closed else ["no hole closed"]
    return f"{note.written}, " + "; ".join(parts + ([f"half open: {' '.join(half)}"] if half else []))


def _mark(strip: Canvas, centre: Point, size: float, share: float) -> None:
    """A closed hole is a disk, an open one a ring, one partly open a ring with its reed side filled."""
    if share <= 0:
        strip.oval("closed", centre, size, size)
        return
    strip.oval("hole", centre, size, size)
    if share < 1:
        x, y, r = centre[0], centre[1], size / 2.0
        strip.path("closed", f"M{x:g} {y - r:g}A{r:g} {r:g} 0 0 0 {x:g} {y + r:g}Z")
