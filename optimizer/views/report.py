"""A run as one page that opens without a network: the front, its layouts, how to finger them, where it comes from."""

import hashlib
import json
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from optimizer import cautions
from optimizer.records.layout import LayoutRecord, NoteRecord
from optimizer.records.run import FrontRecord, RunRecord
from optimizer.views import objectives
from optimizer.views.drawings.fingering import fingering_strip, named_holes, strip_words
from optimizer.views.drawings.front import Dot, front_panels
from optimizer.views.front_tables import front_table, front_words, run_words
from optimizer.views.html import rendered
from optimizer.views.layout_section import section
from optimizer.views.table import Cell, Column, Table, Value, tabled
from optimizer.words import counted

SOLVED_BY = {None: "", "local": ", processes of one machine", "ray": ", Ray's"}
PERSONAL = "The limits of reach on this page are those of a player's hand: personal data, a child's in particular."


def report_page(run: RunRecord, front: FrontRecord, layouts: Sequence[LayoutRecord]) -> str:
    """The page; layouts: those of the front, in its order."""
    best = best_few(front, layouts)
    names = objectives.shown(front.objectives)
    dots = [Dot("A", f"layout {record.id}", record.objectives, record.id) for record in layouts]
    return rendered(
        "report.html",
        title=f"{run.instrument}: report of a run",
        instrument=run.instrument,
        summary=_summary(run, front),
        heading="The front" if front.feasible else "The nearest layout",
        panels=front_panels(dots, objectives.ordered(front.objectives)),
        front=front_table(front.layouts, names, f"{counted(len(layouts), 'layout')} of the front", best),
        meanings=[objectives.in_words(line) for line in objectives.meanings(names)],
        choices=[Cell(f"{record.id}: {_figures(record)}", target=record.id) for record in layouts],
        layouts=[section(record, record.id in best, best.get(record.id, "")) for record in layouts],
        charts=_charts(layouts, best),
        cautions=list(dict.fromkeys([*(run.cautions or cautions.ALL), *cautions.HANDS, PERSONAL])),
        origin=_origin(run),
    )


def best_few(front: FrontRecord, layouts: Sequence[LayoutRecord]) -> dict[str, str]:
    """Ids of the layouts shown first, with why: the best of each objective, and the one nearest to them all at once."""
    if not front.feasible or len(layouts) < 2:
        return {record.id: "" for record in layouts[:1]}
    names = front.objectives
    lows = {name: min(record.objectives[name] for record in layouts) for name in names}
    spans = {name: max(record.objectives[name] for record in layouts) - lows[name] or 1.0 for name in names}

    def away(record: LayoutRecord) -> float:
        return math.hypot(*((record.objectives[name] - lows[name]) / spans[name] for name in names))

    found: dict[str, list[str]] = {}
    for name in names:
        best = min(layouts, key=lambda record: (record.objectives[name], away(record)))
        found.setdefault(best.id, []).append(f"best {name.replace('_', ' ')}")
    found.setdefault(min(layouts, key=away).id, []).append("the compromise")
    return {layout_id: ", ".join(why) for layout_id, why in found.items()}


def _summary(run: RunRecord, front: FrontRecord) -> str:
    said = f"{run_words(run)}. "
    if not front.layouts:
        return said + "It ended before its first layout was done: give it more time."
    if not front.feasible:
        return said + "No layout met everything; shown is the nearest one."
    return f"{said}{front_words(front)}."


def _figures(record: LayoutRecord) -> str:
    return f"{record.objectives['tuning']:.2f} cents, stretch {record.objectives['stretch']:.0f} %"


@dataclass(frozen=True)
class Chart:
    """A fingering chart, folded away where it is of no layout that is shown first."""

    table: Table
    folded: bool


def _charts(layouts: Sequence[LayoutRecord], best: dict[str, str]) -> list[Chart]:
    """Fingering charts, one for all layouts that are fingered alike."""
    groups: dict[str, list[LayoutRecord]] = {}
    for record in layouts:
        alike = [(note.written, note.register_number, note.touches, note.openness) for note in record.notes]
        groups.setdefault(json.dumps([alike, [hole.id for hole in record.holes]]), []).append(record)
    charts = []
    for found in groups.values():
        ids = ", ".join(record.id for record in found)
        chart = fingerings(found[0], "for every layout" if len(groups) == 1 else f"for {ids}")
        charts.append(Chart(chart, not any(record.id in best for record in found)))
    return charts


def fingering_table(record: LayoutRecord, caption: str) -> str:
    """The fingering chart of a layout as HTML."""
    return rendered("table.html", table=fingerings(record, caption))


def fingerings(record: LayoutRecord, title: str) -> Table:
    """The fingering chart: note, register, a strip of the holes, what is pressed; its first row names the holes."""
    holes = list(reversed(record.holes))

    def strip(note: NoteRecord) -> Value:
        return Cell(strip_words(note, holes), drawing=fingering_strip(note, holes))

    columns: list[Column[NoteRecord]] = [
        Column("written", lambda note: note.written),
        Column("sounding", lambda note: note.sounding),
        Column("register", lambda note: f"{note.register_number}" + (" alternate" if note.alternate else "")),
        Column("holes", strip, heading="holes, from the reed to the bell"),
        Column("pressed", lambda note: note.touches),
    ]
    names = Cell(" ".join(hole.id for hole in holes), drawing=named_holes(holes))
    chart = tabled(title, columns, record.notes)
    return replace(chart, rows=[["", "", "", names, ""], *chart.rows])


def _origin(run: RunRecord) -> Table:
    """Where a run comes from and what it was made with."""
    facts = {
        "project file": run.project_file,
        "its text, SHA-256": hashlib.sha256(run.project_text.encode()).hexdigest(),
        "seed": str(run.seed),
        "started": run.started,
        "resumed": ", ".join(run.resumed) or "never",
        "finished": run.finished or "not yet",
        "ended by": run.ended_by or "nothing yet",
        "trials": f"{run.trials_done} done, {run.trials_failed} failed",
        "limit of minutes": None if run.minutes is None else f"{run.minutes:g}",
        "workers": f"{run.workers}{SOLVED_BY[run.pool]}",
        "acoustics by": run.acoustics or "an array compiler",
        "made on": ", ".join(f"{name} {value}" for name, value in run.host.items()),
        "versions": ", ".join(f"{name} {value}" for name, value in run.versions.items()),
    }
    columns: list[Column[tuple[str, str | None]]] = [
        Column("what", lambda fact: fact[0]),
        Column("of this run", lambda fact: fact[1], wraps=True),
    ]
    return tabled("", columns, facts.items())
