"""A correction of a measured instrument, as tables."""

from collections.abc import Sequence

from rich.console import Console

from optimizer.records.correction import CorrectedNote, CorrectionRecord, CorrectionStep, CurvePoint
from optimizer.views.table import Column, Table, tabled
from optimizer.views.terminal import show_lines, show_table

MOST_NOTES = 4
BOX = "☐"

NOTES: Sequence[Column[CorrectedNote]] = [
    Column("note", lambda note: f"{note.written} alternate" if note.alternate else note.written),
    Column("register", lambda note: note.register_number, "d"),
    Column("now", lambda note: note.cents, "+z.1f"),
    Column("+-", lambda note: note.sd_cents, ".1f", heading="now +-"),
    Column("after this pass", lambda note: note.after_pass_cents, "+z.1f"),
    Column("after all", lambda note: note.after_cents, "+z.1f"),
]


def show_correction(console: Console, record: CorrectionRecord) -> None:
    """The curve, the list, and what becomes of the notes."""
    console.print(f"{record.instrument}, layout {record.layout}: correction, pass {record.number}", style="bold")
    show_table(console, curve_table(record))
    if record.steps:
        show_table(console, steps_table(record))
    show_table(console, notes_table(record))
    show_lines(console, [*record.remarks, *reprint_lines(record)], whole=True)
    if record.cautions:
        show_lines(console, record.cautions, heading="Cautions")


def curve_table(record: CorrectionRecord) -> Table:
    """How many changes bring the worst note how near."""
    best = None if record.recommended is None else record.curve[record.recommended]
    columns: list[Column[CurvePoint]] = [
        Column("tolerance", lambda point: point.tolerance_cents, "g", heading="within, cents"),
        Column("changes", lambda point: point.changes, "d"),
        Column("worst", lambda point: point.worst_cents, ".1f", heading="worst note"),
        Column("rms", lambda point: point.rms_cents, ".1f", heading="RMS"),
        Column("said", lambda point: _said(point, point is best), heading=""),
    ]
    told = (
        "within: besides what each note is unsure by; not reached: no list that was found comes so near; noise: each "
        "further change gains less than half of what a note is sure to of the worst note, and of all notes less than "
        "two such deviations of one",
    )
    return tabled("Fewest changes for a tolerance", columns, record.curve, "main notes, cents", told)


def _said(point: CurvePoint, best: bool) -> str:
    words = ["recommended"] if best else ["noise"] if point.noise else []
    words += [] if point.reached else ["not reached"]
    return ", ".join(words if point.proved else [*words, "the fewest found in the time"])


def steps_table(record: CorrectionRecord, afterwards: bool = False) -> Table:
    """The changes in bench order; with a column to write in what was measured afterwards."""
    columns: list[Column[CorrectionStep]] = [
        Column("step", lambda step: f"{step.number} {BOX}"),
        Column("do now", lambda step: step.words, wraps=True),
        Column("whole", lambda step: f"{step.whole:+g} +- {step.sd:.2g} {step.unit}", heading="in the end"),
        Column("back", lambda step: "yes" if step.reversible else "no", heading="can be taken back"),
        Column("moves", lambda step: _moves(record, step), heading="the whole of it moves, cents", wraps=True),
    ]
    if afterwards:
        columns.append(Column("afterwards", lambda step: "________", heading="measured afterwards"))
    told = (
        "top to bottom: what can be taken back first, then measure again and look for leaks; what cannot stops short "
        "by 1.64 times what it is unsure by; holes from the bell up, each in two steps",
    )
    return tabled("At the bench", columns, record.steps, notes=told)


def _moves(record: CorrectionRecord, step: CorrectionStep) -> str:
    """Notes that a step moves most, both registers."""
    most = sorted(zip(record.notes, step.moves, strict=True), key=lambda each: -abs(each[1]))[:MOST_NOTES]
    return ", ".join(f"{note.written} {cents:+.1f}" for note, cents in most)


def effects_table(record: CorrectionRecord) -> Table:
    """What the whole of each step moves every note by."""
    rows = list(zip(record.notes, zip(*(step.moves for step in record.steps), strict=True), strict=True))
    columns: list[Column[tuple[CorrectedNote, tuple[float, ...]]]] = [
        Column("note", lambda row: f"{row[0].written} alternate" if row[0].alternate else row[0].written),
        Column("register", lambda row: row[0].register_number, "d"),
    ]
    columns += [_of_step(place, step) for place, step in enumerate(record.steps)]
    return tabled("What each step moves every note by", columns, rows, "cents, the whole of it")


def _of_step(place: int, step: CorrectionStep) -> Column[tuple[CorrectedNote, tuple[float, ...]]]:
    return Column(f"step {step.number}", lambda row: row[1][place], "+z.1f")


def notes_table(record: CorrectionRecord) -> Table:
    """What becomes of the notes."""
    return tabled("Notes", NOTES, record.notes, "cents, as measured and fitted, and as the list should leave them")


def reprint_lines(record: CorrectionRecord) -> list[str]:
    """Where a piece is better printed anew."""
    best = record.reprint
    if best is None:
        return []
    if best.searched:
        less = f"{best.gain_cents:.1f} less than" if best.gain_cents > 0.0 else f"{-best.gain_cents:.1f} more than"
        return [
            f"piece {best.piece} drawn anew under the fit would bring the notes to about {best.rms_cents:.1f} cents "
            f"RMS, {less} the list, with the printer's scatter ({best.words})"
        ]
    return [
        f"printing piece {best.piece} anew would bring the notes to about {best.rms_cents:.1f} cents RMS, "
        f"{best.gain_cents:.1f} less than the list, by slopes and with the printer's scatter; {best.words}"
    ]
