"""One layout in a terminal: everything a maker wants to know of it, or what was asked for."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.console import Console

from optimizer import cautions
from optimizer.analysis.hand_fit import HandFit, reached_touches
from optimizer.records.layout import LayoutRecord, NoteRecord
from optimizer.records.layout_ids import PRESENT
from optimizer.records.shares import Share
from optimizer.views import objectives
from optimizer.views.body_words import mass_words
from optimizer.views.by_hand_words import by_hand_words
from optimizer.views.layout_tables import bore_table, holes_table, keys_table, made_words, notes_table, resonances_table
from optimizer.views.limit_tables import binding_lines, clearances_table, reach_table, touches_table
from optimizer.views.piece_tables import body_tables
from optimizer.views.settling import settling_lines
from optimizer.views.terminal import show_lines, show_table

if TYPE_CHECKING:
    from acoustics.resonances import Spectrum


def show_layout(console: Console, record: LayoutRecord) -> None:
    """Everything a maker wants to know of one layout."""
    state = state_words(record)
    console.print(f"{record.instrument}, layout {record.id}: {state}", style="bold")
    if words := by_hand_words(record):
        console.print(words)
    console.print(objectives.figures(objectives.of_one(record.objectives), "  "))
    if words := objectives.step_words(record):
        console.print(words)
    console.print(f"reed volume {record.reed.volume_cm3:.4f} cm3")
    if words := mass_words(record):
        console.print(words)
    show_table(console, notes_table(record.notes, record.warnings, record.holes, record.doubt))
    show_table(console, bore_table(record.bore))
    show_table(console, holes_table(record.holes, record.pieces))
    if record.keys:
        show_table(console, keys_table(record.keys))
    for table in body_tables(record):
        show_table(console, table)
    if record.reach:
        show_table(console, reach_table(record.reach))
    if touches := reached_touches(record):
        show_table(console, touches_table(touches))
    show_table(console, clearances_table(record.margins_mm))
    heading = "What binds" if record.binds else "Nothing binds: every constraint has room"
    show_lines(console, binding_lines(record), heading=heading)
    for warning in record.warnings:
        console.print(f"outside a formula's range: {warning}", style="yellow")
    for matter in settling_lines(record.to_settle):
        console.print(f"to settle in CAD: {matter}", style="yellow")
    show_lines(console, record.cautions, heading="Cautions")


def state_words(record: LayoutRecord) -> str:
    """Whether a layout keeps what it must, in words; of an instrument that is made, what it does not keep."""
    if record.feasible:
        return "meets every limit that is checked, every note sounds as wanted"
    if record.id != PRESENT:
        return "is NOT feasible, see below"
    return made_words(record)


def show_notes(console: Console, notes: Sequence[NoteRecord], doubt: Sequence[Share]) -> None:
    """The table of notes alone, with what their doubt is made of."""
    show_table(console, notes_table(notes, doubt=doubt))


def show_resonances(console: Console, notes: Sequence[NoteRecord], spectra: "Sequence[Spectrum]") -> None:
    """All resonances of each note."""
    show_table(console, resonances_table(notes, spectra))


def show_fit(console: Console, found: HandFit) -> None:
    """A layout under a hand: table, what is wrong, advice, caution."""
    console.print(f"hand: {found.name}" + (f"; {found.source}" if found.source else ""))
    if found.reach:
        show_table(console, reach_table(found.reach))
    else:
        console.print("no two fingers of one hand lie on holes, or rest on keys in a row")
    if found.touches:
        show_table(console, touches_table(found.touches))
    show_lines(console, found.troubles, heading="This hand does not fit:" if found.troubles else "")
    show_lines(console, found.remarks, "yellow")
    show_lines(console, cautions.of_hands(found.adult), "dim")
