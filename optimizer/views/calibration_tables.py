"""A fitted instrument, as tables and sentences."""

from collections.abc import Sequence

from rich.console import Console

from optimizer.records.calibration import CalibrationRecord, FittedNote, NextStep, Tier
from optimizer.views.table import Column, Table, tabled
from optimizer.views.terminal import show_lines, show_table
from optimizer.words import or_dash

NOTES: Sequence[Column[FittedNote]] = [
    Column("note", lambda note: f"{note.written} alternate" if note.alternate else note.written),
    Column("register", lambda note: note.register_number, "d"),
    Column("designed", lambda note: note.designed_cents, "+z.1f"),
    Column("designed +-", lambda note: note.designed_sd_cents, ".1f"),
    Column("measured", lambda note: note.measured_cents, "+z.1f"),
    Column("fitted", lambda note: note.cents, "+z.1f"),
    Column("fitted +-", lambda note: note.sd_cents, ".1f"),
    Column("by the others", lambda note: _alone(note), heading="off what the others say", right=True),
]


def show_calibration(console: Console, record: CalibrationRecord) -> None:
    """Notes, tiers, and what the data say."""
    console.print(f"{record.instrument}, layout {record.layout}, fitted to {', '.join(record.fitted_on)}", style="bold")
    show_table(console, notes_table(record.notes))
    show_table(console, tiers_table(record.tiers))
    show_lines(console, record.says or ["nothing beyond what was known"], heading="What the notes say", whole=True)
    show_lines(console, record.cannot_say, heading="What they cannot say", whole=True)
    for heading, lines in (("Look at this first", record.looks_like), ("Outside of what was stated", record.outside)):
        if lines:
            show_lines(console, lines, heading=heading, whole=True)
    if record.remarks:
        show_lines(console, record.remarks, heading="Of the measurement", whole=True)
    if record.next_best:
        show_table(console, next_table(record.next_best))


def notes_table(notes: Sequence[FittedNote]) -> Table:
    """Notes as designed, measured and fitted."""
    told = (
        "+-: one standard deviation; fitted: the instrument's own, whether a note was measured or not, what the "
        "measurement has in common (A4, clock, player) aside",
        "off what the others say: measured less what all other notes predict, with its own +-; from about 3 of these "
        "look at fingering and pads",
    )
    return tabled("Notes", NOTES, notes, "cents", told)


def _alone(note: FittedNote) -> str:
    if note.alone_cents is None or note.alone_sd_cents is None:
        return "-"
    return f"{note.alone_cents:+.1f} +- {note.alone_sd_cents:.1f}"


def tiers_table(tiers: Sequence[Tier]) -> Table:
    """What was fitted, step by step, and whether what is left is fair."""
    columns: list[Column[Tier]] = [
        Column("fitted", lambda tier: tier.name),
        Column("left", lambda tier: tier.chi_squared, ".1f", heading="squares left"),
        Column("expected", lambda tier: tier.expected, ".1f"),
        Column("chance", lambda tier: f"{100 * tier.chance:.2g} %", heading="chance of more", right=True),
        Column("fair", lambda tier: "yes" if tier.fair else "no"),
    ]
    return tabled("What it takes to explain the notes, each step with those above", columns, tiers)


def next_table(steps: Sequence[NextStep]) -> Table:
    """What to measure next."""
    columns: list[Column[NextStep]] = [
        Column("measure", lambda step: step.name),
        Column("how", lambda step: "play it" if step.kind == "note" else "gauge it"),
        Column("left", lambda step: or_dash(step.doubt_cents, ".2f"), heading="doubt left, cents", right=True),
    ]
    return tabled("What to measure next, the most telling first", columns, steps, "doubt: rms over the main notes")
