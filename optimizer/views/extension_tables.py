"""An extension as tables: the three ways, every note as it is and by each way, what to print and drill."""

from collections.abc import Sequence

from rich.console import Console

from optimizer.analysis.note_changes import Line
from optimizer.records.extension import TITLES, ExtensionRecord, Redrilled, WayEntry
from optimizer.records.fits import FitSummary
from optimizer.views.drawings.notes_of_ways import Series, series_of_both
from optimizer.views.front_tables import binding_words
from optimizer.views.objectives import figure
from optimizer.views.table import Cell, Column, Table, Value, tabled
from optimizer.views.terminal import show_lines, show_table
from optimizer.words import counted


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
    show_table(console, ways_table(record))
    show_table(console, notes_table(*series_of_both(record)))
    for way in record.ways:
        show_lines(console, work_lines(way, record), heading=way_words(way), whole=True)
    show_lines(console, record.cautions, "dim", heading="Cautions")


WAYS: Sequence[Column[WayEntry]] = [
    Column("way", lambda way: TITLES[way.way]),
    Column("feasible", lambda way: Cell("yes") if way.feasible else Cell("no", "bad"), right=True, wraps=True),
    Column("RMS", lambda way: way.fit.objectives["tuning"], ".2f", "cents", wraps=True),
    Column("worst", lambda way: figure("worst_note", way.fit.objectives["worst_note"]), ".2f", wraps=True),
    Column("theirs RMS", lambda way: way.common_rms_cents, ".2f", wraps=True),
    Column("theirs worst", lambda way: figure("worst_note", way.common_worst_cents), ".2f", wraps=True),
    Column("cost", lambda way: way.cost_cents, "+.2f"),
    Column("print", lambda way: f"{len(way.print_pieces)} of {counted(way.pieces, 'piece')}", right=True, wraps=True),
    Column("open up", lambda way: counted(len(way.redrill), "hole") if way.redrill else "none", right=True, wraps=True),
    Column("what binds", lambda way: binding_words(way.fit.binds) or "nothing", wraps=True),
]


def ways_table(record: ExtensionRecord) -> Table:
    """The ways side by side, and why one is left out."""
    notes: tuple[str, ...] = (
        "RMS and worst: all notes of the extended instrument; theirs: the notes of both; cost: their RMS more than now",
        "print: pieces counted from the reed; each way is the best of a few solves: some tenths of a cent mean little",
    )
    if record.kept_pieces and all(way.way != "redrilled" for way in record.ways):
        no_third = "no hole may grow, none was to be opened up, or the time was up"
        notes += (f"{TITLES['redrilled']}: left out, as {no_third}",)
    return tabled("Three ways", WAYS, record.ways, notes=notes)


def notes_table(found: Sequence[Series], lines: Sequence[Line]) -> Table:
    """Cents of every note, as it is and by each way, and how much farther off each way puts it."""
    now, *others = found
    columns: list[Column[Line]] = [
        Column("written", lambda line: line[0]),
        Column("register", lambda line: f"{line[1]} alternate" if line[2] else str(line[1]), right=True),
        _cents(now),
    ]
    for other in others:
        columns += [_cents(other), _cost(now, other)]
    said = "cost: how much farther off than now; silent: does not sound; -: not there"
    return tabled("Notes", columns, lines, "cents", [said])


def _cents(series: Series) -> Column[Line]:
    def value(line: Line) -> Value:
        cents = series.cents.get(line)
        return "silent" if cents is None and line in series.cents else cents

    return Column(series.name, value, "+z.1f", wraps=True)


def _cost(now: Series, other: Series) -> Column[Line]:
    def value(line: Line) -> Value:
        before, after = now.cents.get(line), other.cents.get(line)
        return None if before is None or after is None else abs(after) - abs(before)

    return Column(f"{other.name} cost", value, "+z.1f", heading="cost")


def drilling_table(record: ExtensionRecord) -> Table:
    """Holes of kept pieces to open up, and those that a free choice would widen too."""
    rows = [
        (hole, said)
        for way in record.ways
        for holes, said in ((way.redrill, "drill"), (way.passed_over, "may stay as made"))
        for hole in holes
    ]
    columns: list[Column[tuple[Redrilled, str]]] = [
        Column("hole", lambda row: row[0].hole),
        Column("from", lambda row: row[0].from_mm, ".2f", "mm"),
        Column("to", lambda row: row[0].to_mm, ".2f", "mm"),
        Column("worth", lambda row: row[0].worth_cents, ".2f", "cents RMS"),
        Column("do", lambda row: row[1]),
    ]
    return tabled("Holes of kept pieces that want to be opened up, when all may grow", columns, rows)


def way_words(way: WayEntry) -> str:
    """A way's name and what it asks for."""
    return TITLES[way.way] if way.way == "free" else f"{TITLES[way.way]}: {way.sentence}"


def work_lines(way: WayEntry, record: ExtensionRecord) -> list[str]:
    """What a way asks for, what is wrong and what binds, a sentence each."""
    lines = [f"print pieces {', '.join(map(str, way.print_pieces))} of {way.pieces}"]
    lines += [f"open up {_drilled(hole)}" for hole in way.redrill]
    if way.way == "redrilled" and not way.redrill:
        lines.append("open up nothing: no hole of the kept pieces would grow by 0.05 mm if all might")
    if way.passed_over:
        lines.append(
            "may stay as made, though a free choice opens them up: " + ", ".join(map(_passed, way.passed_over))
        )
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
