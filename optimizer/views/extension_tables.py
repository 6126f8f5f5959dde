"""An extension as tables for a terminal: the three ways, every note that was there before, what to print and drill."""

from rich.console import Console
from rich.table import Table

from optimizer.records.extension import TITLES, ExtensionRecord, Redrilled, WayEntry
from optimizer.records.fits import FitSummary
from optimizer.words import counted


def _table(title: str, left: str, figures: tuple[str, ...], last: tuple[str, ...] = ()) -> Table:
    table = Table(title=title, title_justify="left", header_style="bold", pad_edge=False, box=None)
    table.add_column(left, no_wrap=True)
    for name in figures:
        table.add_column(name, justify="right")
    for name in last:
        table.add_column(name)
    return table


def show_extension(console: Console, record: ExtensionRecord) -> None:
    """The ways side by side, then notes, then each way's work."""
    new = ", ".join(record.new_notes) or "no note"
    console.print(f"{record.present} (layout {record.present_layout}) carried on to {record.extended}", style="bold")
    pieces = ", ".join(map(str, record.kept_pieces))
    console.print(
        f"new notes: {new}; the {len(record.ways[0].notes)} notes of both: {record.before_rms_cents:.2f} cents RMS, "
        f"worst {record.before_worst_cents:.2f} as it is; upper pieces: {pieces}",
        soft_wrap=True,
    )
    console.print(_ways(record))
    for line in (
        "RMS and worst: all notes of the extended instrument; theirs: the notes of both; cost: their RMS more than now",
        "print: pieces counted from the reed; each way is the best of a few solves: some tenths of a cent mean little",
    ):
        console.print(f"  {line}", style="dim", soft_wrap=True)
    console.print(_notes(record))
    for way in record.ways:
        _show_work(console, way, record)
    console.print("Cautions", style="bold")
    for line in record.cautions:
        console.print(f"  {line}", style="dim")


def _ways(record: ExtensionRecord) -> Table:
    figures = ("feasible", "RMS cents", "worst", "theirs RMS", "theirs worst", "cost", "print", "drill")
    table = _table("Three ways", "way", figures, ("what binds",))
    for way in record.ways:
        table.add_row(
            TITLES[way.way],
            "yes" if way.feasible else "no",
            f"{way.fit.objectives['tuning']:.2f}",
            f"{way.fit.objectives['worst_note']:.2f}",
            f"{way.common_rms_cents:.2f}",
            f"{way.common_worst_cents:.2f}",
            f"{way.cost_cents:+.2f}",
            f"{len(way.print_pieces)} of {way.pieces}",
            str(len(way.redrill)) if way.redrill else "-",
            _binding(way.fit),
        )
    return table


def _binding(fit: FitSummary) -> str:
    limits = [name for name in fit.binds if not name.startswith("range.")]
    ranges = len(fit.binds) - len(limits)
    more = f" and {len(limits) - 3} more" if len(limits) > 3 else ""
    parts = [", ".join(limits[:3]) + more] if limits else []
    return "; ".join([*parts, *([f"{counted(ranges, 'range')} at an end"] if ranges else [])]) or "nothing"


def _notes(record: ExtensionRecord) -> Table:
    """Cents of each note of both, now and by each way."""
    titles = tuple(TITLES[way.way] for way in record.ways)
    table = _table("Notes of both, cents", "note", ("register", "now", *titles))
    for number, note in enumerate(record.ways[0].notes):
        after = [_cents(way.notes[number].after_cents) for way in record.ways]
        name = f"{note.written} alternate" if note.alternate else note.written
        table.add_row(name, str(note.register_number), _cents(note.before_cents), *after)
    return table


def _cents(value: float | None) -> str:
    return "silent" if value is None else f"{value:+.1f}"


def _show_work(console: Console, way: WayEntry, record: ExtensionRecord) -> None:
    """A way's name and what it asks for."""
    said = "" if way.way == "free" else f": {way.sentence}"
    console.print(f"{TITLES[way.way]}{said}", style="bold")
    for line in work_lines(way, record):
        console.print(f"  {line}", soft_wrap=True)


def work_lines(way: WayEntry, record: ExtensionRecord) -> list[str]:
    """What a way asks for, what is wrong and what binds, a sentence each."""
    lines = [f"print pieces {', '.join(map(str, way.print_pieces))} of {way.pieces}"]
    lines += [f"drill {_drilled(hole)}" for hole in way.redrill]
    if way.way == "redrilled" and not way.redrill:
        lines.append("drill nothing: no hole of the kept pieces would grow by 0.05 mm if all might")
    if way.passed_over:
        lines.append("may stay as made, though a free choice widens them: " + ", ".join(map(_passed, way.passed_over)))
    if way.touches_moved:
        lines.append(f"plates with their touch elsewhere, to be made anew: {', '.join(way.touches_moved)}")
    lines.append(f"reed volume {way.reed_volume_cm3:.3f} cm3, now {record.reed_volume_cm3:.3f}")
    if not way.feasible:
        lines.append(_wrong(way.fit))
    limits = [name for name in way.fit.binds if not name.startswith("range.")]
    return [*lines, f"binds: {', '.join(limits) or 'no limit'}"]


def _drilled(hole: Redrilled) -> str:
    worth = "" if hole.worth_cents is None else f" (worth {hole.worth_cents:.2f} cents RMS when all might grow)"
    return f"{hole.hole} from {hole.from_mm:.2f} to {hole.to_mm:.2f} mm{worth}"


def _passed(hole: Redrilled) -> str:
    return f"{hole.hole} ({hole.worth_cents or 0.0:.2f})"


def _wrong(fit: FitSummary) -> str:
    wrong = [f"a limit broken by {fit.violation_mm:.2f} mm"] if fit.violation_mm > 0 else []
    wrong += [f"{counted(fit.wrong_notes, 'note')} not sounding as wanted"] if fit.wrong_notes else []
    return "NOT feasible: " + ", ".join(wrong)
