"""The `[rows]` table: touches in a row under a hand, away from the holes, and which key each finger rests on.

The fingers of a hand with a row rest where the hand lies, and not on holes: index, middle and ring finger in the row,
the little finger beyond the ring finger, the thumb behind the index finger. Each of the three rests on the first of its
keys that the project lists, a little finger or a thumb on its only one. A finger that has a hole lies on it.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from optimizer.project.numbers import Number, Positive, Section, Span

if TYPE_CHECKING:
    from optimizer.project.model import Hole, Key


class Row(Section):
    """Where the touches of one hand lie; all may be left out."""

    position_mm: Annotated[
        Span | None,
        Field(description="the index finger's touch along the body; default: anywhere the hands have room"),
    ] = None
    azimuth_deg: Annotated[float, Field(strict=True, ge=-360, le=360, description="of the row")] = 0.0
    spacing_mm: Annotated[
        Positive | None, Field(description="from finger to finger along the body; default: of the hand's knuckles")
    ] = None
    little_along_mm: Annotated[
        Number | None, Field(description="little finger from the ring finger, toward the bell; default: by the hand")
    ] = None
    little_across_mm: Annotated[
        Number | None, Field(description="the same round the body, clockwise seen from the reed end")
    ] = None
    thumb_along_mm: Annotated[Number, Field(description="thumb from the index finger, toward the bell")] = 0.0
    thumb_deg: Annotated[
        float, Field(strict=True, ge=-360, le=360, description="thumb round the body from the index finger")
    ] = 180.0


class Rows(Section):
    """A row for each hand that has one."""

    left: Row | None = None
    right: Row | None = None

    @property
    def by_side(self) -> dict[str, Row]:
        """The rows by `L` and `R`, the left hand's first."""
        return {side: row for side, row in (("L", self.left), ("R", self.right)) if row is not None}


def resting_keys(rows: Rows, holes: "Sequence[Hole]", keys: "Sequence[Key]") -> dict[str, str]:
    """The key that each finger of a hand with a row rests on, where it rests on one."""
    on_holes = {hole.by for hole in holes}
    found: dict[str, str] = {}
    for finger, own in _own_keys(rows, keys):
        if own and finger not in on_holes and (finger[1] not in "4T" or len(own) == 1):
            found[finger] = own[0]
    return found


def idle_finger(
    pressed: set[str], rows: Rows, holes: "Sequence[Hole]", keys: "Sequence[Key]", resting: Mapping[str, str]
) -> str | None:
    """A sentence when a finger that is said to press, of a hand with a row, presses nothing."""
    busy = {hole.by for hole in holes} | set(resting) | {name for key in keys for name in key.moved_by}
    for finger, own in _own_keys(rows, keys):
        if finger not in pressed or finger in busy:
            continue
        if own:
            return f"{finger} rests beside its keys and on none of them; name the one that it presses: {', '.join(own)}"
        return (
            f"{finger} presses nothing: no hole is under it, and no key has it for its touch; leave it out, or write "
            f'touch = "{finger}" at a key'
        )
    return None


def _own_keys(rows: Rows, keys: "Sequence[Key]") -> Iterator[tuple[str, list[str]]]:
    """Every finger of the hands with a row, and the keys that it presses."""
    for side in rows.by_side:
        for finger in (f"{side}{number}" for number in "T1234"):
            yield finger, [key.id for key in keys if key.touch == finger and key.pressed]
