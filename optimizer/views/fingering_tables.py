"""Ways to finger notes, a table for each note."""

from collections.abc import Sequence

from rich.console import Console

from optimizer.records.fingerings import FingeringsRecord, FoundFingering, NoteFingerings
from optimizer.views.table import Column, Table, tabled
from optimizer.views.terminal import show_lines, show_table

WAYS: Sequence[Column[FoundFingering]] = [
    Column("chart line", lambda way: way.line.removesuffix("  alternate") if way.kind == "chart" else way.line),
    Column("kind", lambda way: "in the chart" if way.kind == "chart" else way.kind),
    Column("cents", lambda way: way.cents, "+z.1f"),
    Column("+-", lambda way: way.sd_cents, ".1f"),
    Column("effort", lambda way: way.effort, "d"),
    Column("over_lower", lambda way: way.height_over_lower, ".2f", heading="over lower peak"),
    Column("sharpness", lambda way: way.quality_over_main, ".2f", heading="sharpness of main"),
]
MEANING = [
    "effort: from both neighbours in the scale; fingers that move, slides and contrary motion counted more (rules of "
    "thumb, no source)",
    "over lower peak: below 1.2 a note may fall to the one below; sharpness: how sharp its resonance is, over "
    "that of the main fingering",
    "trill: one finger alone moves from a neighbour",
]


def fingering_table(found: NoteFingerings) -> Table:
    """The ways to one note."""
    beside = f" {found.off_cents:+g} cents" if found.off_cents else ""
    more = f", {found.left_out} more" if found.left_out else ""
    return tabled(f"{found.written}{beside}, {found.target_hz:.2f} Hz{more}", WAYS, found.ways)


def show_fingerings(console: Console, found: FingeringsRecord) -> None:
    """All that was found."""
    console.print(
        f"{found.instrument}, layout {found.layout}: {found.fingerings} fingerings that hands can hold, "
        f"{found.states} states of the holes; within {found.within_cents:g} cents",
        soft_wrap=True,
    )
    for note in found.notes:
        if note.ways:
            show_table(console, fingering_table(note))
    empty = [note.written for note in found.notes if not note.ways]
    if empty:
        show_lines(console, [f"no way within {found.within_cents:g} cents: {', '.join(empty)}"], "yellow")
    show_lines(console, MEANING, "dim")
