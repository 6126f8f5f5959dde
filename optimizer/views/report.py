"""A run as one page that opens without a network: what it recommends, drawn and told in full, how to finger that, the
front that it was chosen from, and where all of it comes from."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import replace

from optimizer import cautions
from optimizer.records.layout import LayoutRecord, NoteRecord
from optimizer.records.recommendation import RecommendationRecord
from optimizer.records.run import FrontEntry, FrontRecord, RunRecord
from optimizer.records.sound import SoundRecord
from optimizer.records.tolerance import BoreTolerance
from optimizer.views import objectives
from optimizer.views.drawings.fingering import fingering_strip, named_holes, strip_words
from optimizer.views.drawings.front import Dot, front_panels
from optimizer.views.front_tables import front_table, front_words, in_the_way_lines, run_words, spread
from optimizer.views.html import rendered
from optimizer.views.layout_section import section
from optimizer.views.recommendation import left_out_lines, none_words, picks_table, roles_words, rule_lines
from optimizer.views.table import Cell, Column, Table, Value, tabled
from optimizer.words import counted

SOLVED_BY = {None: "", "local": ", processes of one machine", "ray": ", Ray's"}
ROWS = 200
"""Layouts of a front's table and drawings, so that a page stays light to open and to send."""

PERSONAL = "The limits of reach on this page are those of a player's hand: personal data."


def report_page(
    run: RunRecord,
    front: FrontRecord,
    found: RecommendationRecord,
    layouts: Sequence[LayoutRecord],
    sounds: Sequence[SoundRecord | None],
    bores: Sequence[Sequence[BoreTolerance]],
) -> str:
    """The page.

    Parameters
    ----------
    run, front : what ran, and what came of it
    found : what it recommends
    layouts : those of `shown_in_full`, in its order
    sounds : what each of them sounds like
    bores : what errors of the bore of each of them do
    """
    roles = {pick.id: roles_words(pick) for pick in found.picks}
    names, said = objectives.shown(front.objectives), run.cautions or list(cautions.of_all(adult=False))
    entries = _listed(front, roles)
    nearest = "as it is made" if front.made else "nearest"
    dots = [
        Dot("A", f"layout {entry.id}", entry.objectives, entry.id if entry.id in roles else "") for entry in entries
    ]
    return rendered(
        "report.html",
        title=f"{run.instrument}: report of a run",
        instrument=run.instrument,
        summary=_summary(run, front),
        heading=MADE if front.made else "Recommended" if found.picks else "The nearest layout",
        picks=picks_table(found, front.objectives) if found.picks else None,
        recommended=found.picks,
        left_out=[*left_out_lines(found), *rule_lines(found), none_words(found)] if found.picks else [],
        choices=[Cell(f"{record.id}: {roles.get(record.id, nearest)}", target=record.id) for record in layouts],
        layouts=[
            section(record, roles.get(record.id, ""), sound, bore)
            for record, sound, bore in zip(layouts, sounds, bores, strict=True)
        ],
        panels=front_panels(dots, objectives.ordered(front.objectives)) if front.feasible else [],
        front=front_table(entries, names, _caption(front, entries), roles),
        meanings=[
            *filter(None, [objectives.same_words(run.sameness)]),
            *map(objectives.in_words, objectives.meanings(names)),
        ],
        charts=_charts(layouts),
        cautions=list(dict.fromkeys([*said, *cautions.of_hands(cautions.for_adult(said)), PERSONAL])),
        origin=_origin(run),
    )


MADE = "The instrument"
"""Heading of one that is made."""


def shown_in_full(front: FrontRecord, found: RecommendationRecord) -> list[str]:
    """Files of the layouts that a report shows in full: the recommended ones, else the one nearest to feasible."""
    return [pick.file for pick in found.picks] or [entry.file for entry in front.layouts[:1]]


def _listed(front: FrontRecord, roles: Mapping[str, str]) -> list[FrontEntry]:
    """The layouts of the front's table: of many `ROWS` evenly spread, and those with a role."""
    kept = {entry.id for entry in spread(front.layouts, ROWS)} | roles.keys()
    return [entry for entry in front.layouts if entry.id in kept]


def _caption(front: FrontRecord, entries: Sequence[FrontEntry]) -> str:
    """How many layouts the front's table has, and where the others are."""
    if len(entries) == len(front.layouts):
        return f"{counted(len(entries), 'layout')} of the front"
    return f"{len(entries)} of the front's {len(front.layouts)} layouts; pareto.json in the run folder has all"


def _summary(run: RunRecord, front: FrontRecord) -> str:
    if front.made:
        return "Shown as it is made, without a search."
    said = f"{run_words(run)}. "
    if not front.layouts:
        return said + "It ended before its first layout was done: give it more time."
    if not front.feasible:
        return " ".join([f"{said}No layout met everything; shown is the nearest one.", *in_the_way_lines(run)])
    return f"{said}{front_words(front)}."


def _charts(layouts: Sequence[LayoutRecord]) -> list[Table]:
    """Fingering charts, one for all layouts that are fingered alike."""
    groups: dict[str, list[LayoutRecord]] = {}
    for record in layouts:
        alike = [(note.written, note.register_number, note.touches, note.openness) for note in record.notes]
        groups.setdefault(json.dumps([alike, [hole.id for hole in record.holes]]), []).append(record)
    return [fingerings(found[0], f"for {', '.join(record.id for record in found)}") for found in groups.values()]


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
