"""Notes of two layouts side by side. Reads records only."""

import re
from collections import defaultdict
from collections.abc import Sequence

from optimizer.comparison_record import NoteChange
from optimizer.records import NoteRecord
from optimizer.sides import difference, pair

Line = tuple[str, int, bool]


def note_changes(first: Sequence[NoteRecord], other: Sequence[NoteRecord]) -> list[NoteChange]:
    """Each chart line of either, in the first's order, those of the other alone after it.

    Lines match by written note, register and main or alternate; of several alike, those that press the same.
    """
    left = defaultdict(list)
    for note in other:
        left[_line(note)].append(note)
    rivals = defaultdict(list)
    for note in first:
        rivals[_line(note)].append(note)
    found = []
    for note in first:
        partner = _partner(note, rivals[_line(note)], left[_line(note)])
        found.append(_change(note, partner))
        if partner is not None:
            left[_line(note)].remove(partner)
            rivals[_line(note)].remove(note)
    return [*found, *(_change(None, note) for note in other if any(note is each for each in left[_line(note)]))]


def in_common(changes: Sequence[NoteChange]) -> int:
    """How many chart lines both have."""
    return sum(change.state == "both" for change in changes)


def pressed(touches: str) -> frozenset[str]:
    """What is pressed, `L123` taken apart; a pattern of holes stays as it is."""
    if re.fullmatch(r"[xoh ]+", touches):
        return frozenset({touches})
    fingers = [
        [f"{token[0]}{digit}" for digit in token[1:]] if re.fullmatch(r"[LR][T1-4]+", token) else [token]
        for token in touches.split()
        if token != "none"
    ]
    return frozenset(name for names in fingers for name in names)


def _line(note: NoteRecord) -> Line:
    return note.written, note.register_number, note.alternate


def _partner(note: NoteRecord, rivals: Sequence[NoteRecord], left: Sequence[NoteRecord]) -> NoteRecord | None:
    """The other's line that presses the same; where none does, the only one left to the only one."""
    for each in left:
        if pressed(each.touches) == pressed(note.touches):
            return each
    return left[0] if len(left) == 1 and len(rivals) == 1 else None


def _change(first: NoteRecord | None, other: NoteRecord | None) -> NoteChange:
    any_note = first or other
    if any_note is None:
        raise ValueError("a change needs a note")
    cents = pair(first, other, "cents")
    height = pair(first, other, "height_over_lower")
    return NoteChange(
        written=any_note.written,
        register_number=any_note.register_number,
        alternate=any_note.alternate,
        state="new" if first is None else "gone" if other is None else "both",
        touches=pair(first, other, "touches"),
        cents=cents,
        difference_cents=difference(cents),
        sd_cents=pair(first, other, "sd_cents"),
        height_over_lower=height,
        height_difference=difference(height),
        status=pair(first, other, "status"),
    )
