"""What becomes of a layout's notes, as tables for a terminal."""

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table

from optimizer.records.tolerance import Band, DeviationRecord, HoleAdvice, NoteTolerance, ToleranceRecord
from optimizer.words import counted

MOST_SHARES = 5
NOTES_OF_A_HOLE = 4


def _table(title: str, left: Sequence[str], right: Sequence[str], last: str = "") -> Table:
    table = Table(title=title, title_justify="left", header_style="bold", pad_edge=False, box=None)
    for name in left:
        table.add_column(name, no_wrap=True)
    for name in right:
        table.add_column(name, justify="right", no_wrap=True)
    if last:
        table.add_column(last)
    return table


def show_tolerance(console: Console, record: ToleranceRecord) -> None:
    """Deviations, notes, chance, what matters most, and holes to ream."""
    console.print(f"{record.instrument}, layout {record.layout}: what becomes of its notes", style="bold")
    console.print(deviation_table(record.deviations))
    _show_notes(console, record)
    _show_chance(console, record)
    console.print("What matters most, by its share of all main notes' variances", style="bold")
    for share in record.shares[:MOST_SHARES]:
        console.print(f"  {share.name}: {share.percent:.0f} %")
    if not record.shares:
        console.print("  nothing: every deviation is 0")
    _show_reaming(console, record)
    console.print("Cautions", style="bold")
    for caution in record.cautions:
        console.print(f"  {caution}")


def deviation_table(deviations: Sequence[DeviationRecord]) -> Table:
    """What may deviate, by how much, and where the figure comes from."""
    table = _table("What may deviate, one standard deviation", ["what"], ["+-"], "how, and where the figure comes from")
    for item in deviations:
        table.add_row(item.kind, f"{item.sd:g} {item.unit}", f"{item.varies}; {item.source}")
    return table


def _cells(band: Band) -> list[str]:
    return [f"{band.sd:.1f}", *map(_signed, (band.p05, band.p50, band.p95))]


def _signed(cents: float) -> str:
    """Cents with their sign, and no -0.0."""
    return f"{round(cents, 1) + 0.0:+.1f}"


def _note_cells(note: NoteTolerance) -> list[str]:
    name = f"{note.written} alternate" if note.alternate else note.written
    parts = (note.making_sd_cents, note.playing_sd_cents, note.model_sd_cents)
    return [
        name,
        str(note.register_number),
        _signed(note.cents),
        *(f"{part:.1f}" for part in parts),
        *_cells(note.linear),
        _signed(note.drawn.mean),
        *_cells(note.drawn),
    ]


def _show_notes(console: Console, record: ToleranceRecord) -> None:
    by = ["register", "cents", "making", "playing", "model"]
    linear, drawn = ["slopes: +-", "5 %", "50 %", "95 %"], ["drawn: mean", "+-", "5 %", "50 %", "95 %"]
    table = _table(f"Notes, cents; by slopes, and by {counted(record.samples, 'draw')}", ["note"], by + linear + drawn)
    for note in record.notes:
        table.add_row(*_note_cells(note))
    console.print(table)
    console.print(
        f"  draws: seed {record.seed}; each computed anew, shifts counted from the layout's own resonances; their +- "
        f"is good to {100 * record.sd_error:.1f} %, their 5 and 95 % values to {record.quantile_error:.2f} of +-",
        style="dim",
    )
    console.print("  model: the formulas' own standard deviation, in neither band", style="dim")
    if record.left_out:
        console.print(f"  left out, as they do not sound: {', '.join(record.left_out)}", style="yellow")


def _show_chance(console: Console, record: ToleranceRecord) -> None:
    chance = record.chance
    console.print(
        f"All {counted(chance.notes, 'main note')} within +-{chance.within_cents:g} cents: {100 * chance.share:.1f} % "
        f"of the draws, so between {100 * chance.low:.1f} and {100 * chance.high:.1f} % with 95 % confidence; "
        f"by the slopes {100 * chance.linear_share:.1f} %",
        style="bold",
    )
    console.print(f"robustness: {record.robustness_cents:.2f} cents, root mean square of `making` over the main notes")


def _show_reaming(console: Console, record: ToleranceRecord) -> None:
    table = _table("Holes: cents for 0.1 mm more diameter", ["hole"], ["diameter", "most"], "notes it moves")
    for hole in record.holes:
        most = sorted(hole.moves.items(), key=lambda item: -abs(item[1]))
        cells = [f"{note} {cents:+.2f}" for note, cents in most[:NOTES_OF_A_HOLE]]
        more = [f"and {len(most) - NOTES_OF_A_HOLE} more"] if len(most) > NOTES_OF_A_HOLE else []
        table.add_row(hole.hole, f"{hole.diameter_mm:.2f}", f"{hole.cents_per_tenth:+.2f}", ", ".join(cells + more))
    console.print(table)
    worth = [hole for hole in record.holes if hole.under_mm]
    console.print(
        f"Print under size and ream, from the bell up: holes worth {record.worth_cents:g} cents for 0.1 mm",
        style="bold",
    )
    for hole in worth:
        console.print(f"  {_sentence(hole)}", soft_wrap=True)
    if not worth:
        console.print("  none")
    if worth:
        console.print(f"  {_printer_line(record)}", style="dim")


def _sentence(hole: HoleAdvice) -> str:
    """What to do with one hole."""
    drawn = ""
    if hole.drawn_mm is not None:
        sizes = dict.fromkeys(f"{size:.2f}" for size in hole.drawn_mm)
        drawn = f" (draw {' x '.join(sizes)})"
    return (
        f"{hole.hole}: print at {hole.finished_mm:.2f} mm{drawn}, {hole.under_mm:.2f} under; {hole.note} comes out "
        f"about {hole.flat_cents:.0f} cents flat, not sharp with {100 * (hole.certainty or 0.0):.0f} % certainty; "
        f"ream toward {hole.diameter_mm:.2f} mm until {hole.note} stands at {_signed(hole.reading_cents)}"
    )


def _printer_line(record: ToleranceRecord) -> str:
    if record.hole_undersize_mm is None:
        return "sizes are finished ones; where your printer makes holes too small, draw them wider by that much"
    return (
        f"`draw` has the printer's shrinkage and the {record.hole_undersize_mm:g} mm in it that its holes come out too "
        "small; measure at the layout's temperature, with the reed to be played"
    )
