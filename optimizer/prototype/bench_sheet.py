"""A tuner table to fill in at the bench: every note of a layout in an order that no tune has, an anchor now and then.

In their order notes would take the warming of the instrument for a slope of the scale; anchors, one note that comes
again, show it.
"""

import csv
import io
from collections.abc import Sequence

import numpy as np

from optimizer.prototype.tuner_table import PASSES
from optimizer.records.layout import LayoutRecord, NoteRecord

ANCHOR_EVERY = 7
"""So many notes from one anchor to the next."""


def bench_order(record: LayoutRecord, seed: int, first: Sequence[str] = ()) -> list[NoteRecord]:
    """Notes of a layout as they are to be played: those that say most first, the others at random, anchors between.

    Parameters
    ----------
    record : the layout
    seed : of the order
    first : written names of notes to begin with, in this order
    """
    sounding = [note for note in record.notes if note.frequency_hz is not None]
    wanted = [note for name in first for note in sounding if note.written == name and not note.alternate]
    rest = [note for note in sounding if note not in wanted]
    shuffled = [rest[place] for place in np.random.default_rng(seed).permutation(len(rest))]
    anchor = anchor_of(sounding)
    order: list[NoteRecord] = []
    for number, note in enumerate([each for each in [*wanted, *shuffled] if each is not anchor]):
        if number % (ANCHOR_EVERY - 1) == 0:
            order.append(anchor)
        order.append(note)
    return [*order, anchor]


def anchor_of(notes: Sequence[NoteRecord]) -> NoteRecord:
    """The note in the middle of the first register, which is played again and again."""
    main = [note for note in notes if not note.alternate]
    low = [note for note in main if note.register_number == 1] or main
    return sorted(low, key=lambda note: note.target_hz)[len(low) // 2]


def bench_csv(record: LayoutRecord, order: Sequence[NoteRecord], passes: int) -> str:
    """The table, with nothing under its passes yet.

    Parameters
    ----------
    record : the layout
    order : of its notes
    passes : how many columns to fill in, `PASSES` at the most
    """
    text = io.StringIO()
    for line in _told(record, order, passes):
        text.write(f"# {line}\n")
    columns = [f"pass_{number}_cents" for number in range(1, min(passes, PASSES) + 1)]
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(["note", "register", "fingering", *columns])
    for note in order:
        rows.writerow([note.written, note.register_number, note.touches, *[""] * len(columns)])
    return text.getvalue()


def _told(record: LayoutRecord, order: Sequence[NoteRecord], passes: int) -> list[str]:
    name = " ".join(record.instrument.split())  # on one line, whatever is in it
    return [
        f"{name}, layout {record.id}: what the tuner shows, in cents",
        f"instrument = {name}",
        f"a4_hz = {record.reference.a4_hz:g}",
        f"temperament = {record.reference.temperament}",
        "Correct both where the tuner stands otherwise; add # bell_degC = 22.5 where you measure the air.",
        f"Play at mezzo forte with one embouchure, looking away from the needle, from the top, {passes} passes.",
        f"{order[0].written} comes again and again: it shows how the instrument warms.",
    ]
