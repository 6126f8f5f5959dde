"""Notes of two layouts side by side. Reads records only."""

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence

from optimizer.project.note_names import number_of
from optimizer.records.comparison import NoteChange, difference, pair
from optimizer.records.layout import NoteRecord

Line = tuple[str, int, bool]


def note_changes(first: Sequence[NoteRecord], other: Sequence[NoteRecord]) -> list[NoteChange]:
    """Each chart line of either, in the first's order, those of the other alone after it.

    Lines match by written note, register and main or alternate; of several alike, those that press the same.
    """
    alike: dict[Line, tuple[list[NoteRecord], list[NoteRecord]]] = defaultdict(lambda: ([], []))
    for side, notes in enumerate((first, other)):
        for note in notes:
            alike[line_of(note)][side].append(note)
    partners = {id(one): two for ours, theirs in alike.values() for one, two in _partners(ours, theirs)}
    taken = {id(note) for note in partners.values()}
    return [
        *(_change(note, partners.get(id(note))) for note in first),
        *(_change(None, note) for note in other if id(note) not in taken),
    ]


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


def pitch_of(note: NoteRecord) -> int:
    """Key number of a note as written; older files, which do not tell it, had English names alone."""
    return number_of(note.written) if note.written_midi is None else note.written_midi


def respelled(notes: Sequence[NoteRecord], names: Mapping[int, str]) -> list[NoteRecord]:
    """Notes by other names for their key numbers, so that charts written in flats, sharps or German match."""
    return [note.model_copy(update={"written": names.get(pitch_of(note), note.written)}) for note in notes]


def line_of(note: NoteRecord) -> Line:
    """What lines of two charts match by: written note, register, and whether it is an alternate."""
    return note.written, note.register_number, note.alternate


def _partners(ours: Sequence[NoteRecord], theirs: Sequence[NoteRecord]) -> list[tuple[NoteRecord, NoteRecord]]:
    """Lines that press the same; then, if one is left on either side, those two."""
    left, alone, found = list(theirs), [], []
    for note in ours:
        same = next((each for each in left if pressed(each.touches) == pressed(note.touches)), None)
        if same is None:
            alone.append(note)
        else:
            left = [each for each in left if each is not same]
            found.append((note, same))
    return [*found, (alone[0], left[0])] if len(alone) == len(left) == 1 else found


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
