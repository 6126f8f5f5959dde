"""A measured instrument, as tables."""

from collections.abc import Sequence

from rich.console import Console

from optimizer.records.measurement import MeasuredNote, MeasurementRecord, Unassigned
from optimizer.views.table import Column, Table, tabled
from optimizer.views.terminal import show_lines, show_table
from optimizer.words import clock, counted

NOTES: Sequence[Column[MeasuredNote]] = [
    Column("note", lambda note: note.written),
    Column("register", lambda note: note.register_number, "d"),
    Column("fingering", lambda note: note.fingering),
    Column("cents", lambda note: note.cents, "+z.1f"),
    Column("+-", lambda note: note.sd_cents, ".1f", heading="cents +-"),
    Column("takes", lambda note: len(note.takes), "d"),
    Column("vibrato", lambda note: note.vibrato_cents, ".1f", heading="vibrato +-"),
    Column("slope", lambda note: note.slope_cents_per_s, "+z.1f", heading="cents/s"),
    Column("remark", lambda note: ", ".join(note.flags)),
]


def show_measurement(console: Console, record: MeasurementRecord) -> None:
    """Notes, what they have in common, what could not be assigned, and what was odd."""
    console.print(
        f"{record.instrument}, layout {record.layout}: {counted(len(record.notes), 'line')} of the chart from "
        f"{record.source}",
        style="bold",
        soft_wrap=True,
    )
    show_table(console, measured_table(record))
    if record.unassigned:
        show_table(console, unassigned_table(record.unassigned))
    show_lines(console, record.remarks, heading="Remarks" if record.remarks else "", whole=True)


def measured_table(record: MeasurementRecord) -> Table:
    """Cents of every note with their doubt."""
    common = record.common
    shared = [f"the recorder's clock {common.clock_cents:g} cents", f"the player {common.player_cents:g} cents"]
    if common.a4_cents:
        shared.append(f"A4 {common.a4_cents:g} cents")
    if common.temperature_K:
        shared.append(f"the air {common.temperature_K:g} K")
    notes = (
        "+-: one standard deviation of the note's own; all notes share besides, and may be off together by: "
        + ", ".join(shared),
    )
    return tabled("Notes", NOTES, record.notes, f"against what is wanted at A4 = {record.a4_hz:g} Hz", notes)


def unassigned_table(left: Sequence[Unassigned]) -> Table:
    """What could not be assigned, and why."""
    columns: list[Column[Unassigned]] = [
        Column("at", lambda each: None if each.at_s is None else clock(each.at_s), right=True),
        Column("pitch", lambda each: each.hz, ".1f", "Hz"),
        Column("why", lambda each: each.why, wraps=True),
    ]
    return tabled("Left out", columns, left)
