"""A run as one page that opens without a network: the front, its layouts, how to finger them, where it comes from."""

import hashlib
import json
import math
from collections.abc import Sequence
from html import escape

from optimizer import cautions
from optimizer.project.objectives import MEANING, ONLY_WHERE_SOUGHT, UNITS
from optimizer.records.layout import LayoutRecord
from optimizer.records.run import FrontRecord, RunRecord
from optimizer.views import html as page
from optimizer.views.drawings.fingering import fingering_strip, named_holes
from optimizer.views.drawings.front import Dot, front_panels
from optimizer.views.html import Html, table, words
from optimizer.views.layout_section import layout_section
from optimizer.views.report_script import SCRIPT
from optimizer.words import counted

SOLVED_BY = {None: "", "local": ", processes of one machine", "ray": ", Ray's"}
PERSONAL = "The limits of reach on this page are those of a player's hand: personal data, a child's in particular."


def report_page(run: RunRecord, front: FrontRecord, layouts: Sequence[LayoutRecord]) -> str:
    """The page; layouts: those of the front, in its order."""
    best = best_few(front, layouts)
    content = [page.heading(1, run.instrument), page.paragraph(_summary(run, front))]
    if layouts:
        content += [
            page.heading(2, "The front" if front.feasible else "The nearest layout"),
            *_front(front, layouts, best),
            _picker(layouts),
            *(layout_section(record, record.id in best, best.get(record.id, "")) for record in layouts),
            *_charts(layouts, best),
        ]
    content += [page.heading(2, "Cautions"), page.bullets([*_cautions(run), PERSONAL]), *_provenance(run)]
    return page.page(f"{run.instrument}: report of a run", content, SCRIPT if layouts else "")


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
    said = f"{counted(run.trials_done, 'trial')}" + (f", {run.trials_failed} failed" if run.trials_failed else "")
    said += f"; ended by {run.ended_by or 'nothing yet'}. "
    if not front.layouts:
        return said + "It ended before its first layout was done: give it more time."
    if not front.feasible:
        return said + "No layout met everything; shown is the nearest one."
    found = counted(len(front.layouts), "layout")
    return said + f"{found}, none beaten by another in {', '.join(front.objectives)}."


def _front(front: FrontRecord, layouts: Sequence[LayoutRecord], best: dict[str, str]) -> list[str]:
    names = [name for name in UNITS if name in front.objectives]
    dots = [Dot("A", f"layout {record.id}", record.objectives, record.id) for record in layouts]
    panels = "".join(page.figure(panel) for panel in front_panels(dots, names))
    shown = [name for name in UNITS if name in front.objectives or name not in ONLY_WHERE_SOUGHT]
    rows = [
        [
            Html(f'<a href="#{escape(record.id)}">{escape(record.id)}</a>'),
            *(f"{record.objectives[name]:.2f}" if name in record.objectives else "-" for name in shown),
            page.words(best.get(record.id, "")),
        ]
        for record in layouts
    ]
    marks = [f' data-layout="{escape(record.id)}"' for record in layouts]
    heads = ["layout", *(f"{name.replace('_', ' ')}, {UNITS[name]}" for name in shown), "shown first as"]
    how = "Each dot is a layout; lower and further left is better. Point at one for its figures, press it to see it."
    meanings = [f"{name.replace('_', ' ')}: {MEANING[name]}" for name in shown]
    return [
        page.paragraph(how, "soft screen"),
        f'<div class="panels">{panels}</div>',
        page.table(f"{counted(len(layouts), 'layout')} of the front", heads, rows, marks),
        page.bullets(meanings, "soft"),
        page.paragraph("Shown in full below are those named in the last column; any other by its link.", "soft unlive"),
    ]


def _picker(layouts: Sequence[LayoutRecord]) -> str:
    options = "".join(
        f'<option value="{escape(record.id)}">{escape(record.id)}: {escape(_figures(record))}</option>'
        for record in layouts
    )
    return (
        '<nav class="picker" aria-label="choose a layout"><label for="choice">Layout</label>'
        f'<select id="choice">{options}</select>'
        '<button type="button" id="before">previous</button><button type="button" id="after">next</button></nav>'
    )


def _figures(record: LayoutRecord) -> str:
    return f"{record.objectives['tuning']:.2f} cents, reach {record.objectives['reach']:.0f} %"


def _charts(layouts: Sequence[LayoutRecord], best: dict[str, str]) -> list[str]:
    """Fingering charts, one for all layouts that are fingered alike; those of no layout shown first fold away."""
    groups: dict[str, list[LayoutRecord]] = {}
    for record in layouts:
        alike = [(note.written, note.register_number, note.touches, note.openness) for note in record.notes]
        groups.setdefault(json.dumps([alike, [hole.id for hole in record.holes]]), []).append(record)
    said = [
        page.heading(2, "Fingering chart"),
        page.paragraph(
            "Filled: closed; ring: open; half filled: half open. Large: under a finger; small: a key; least: a vent.",
            "soft",
        ),
    ]
    for found in groups.values():
        ids = ", ".join(record.id for record in found)
        chart = fingering_table(found[0], "for every layout" if len(groups) == 1 else f"for {ids}")
        folded = not any(record.id in best for record in found)
        said.append(f"<details><summary>for {escape(ids)}</summary>{chart}</details>" if folded else chart)
    return said


def _cautions(run: RunRecord) -> list[str]:
    return list(dict.fromkeys([*(run.cautions or cautions.ALL), *cautions.HANDS]))


def _provenance(run: RunRecord) -> list[str]:
    digest = hashlib.sha256(run.project_text.encode()).hexdigest()
    facts = {
        "project file": run.project_file,
        "its text, SHA-256": digest,
        "seed": str(run.seed),
        "started": run.started,
        "resumed": ", ".join(run.resumed) or "never",
        "finished": run.finished or "not yet",
        "ended by": run.ended_by or "nothing yet",
        "trials": f"{run.trials_done} done, {run.trials_failed} failed",
        "limit of minutes": "-" if run.minutes is None else f"{run.minutes:g}",
        "workers": f"{run.workers}{SOLVED_BY[run.pool]}",
        "acoustics by": run.acoustics or "an array compiler",
        "made on": ", ".join(f"{name} {value}" for name, value in run.host.items()),
        "versions": ", ".join(f"{name} {value}" for name, value in run.versions.items()),
    }
    rows = [[name, page.words(value)] for name, value in facts.items()]
    return [
        page.heading(2, "Where this comes from"),
        page.table("", ["what", "of this run"], rows, long=["of this run"]),
    ]


def fingering_table(record: LayoutRecord, caption: str) -> str:
    """The chart as a table: note, register, strip, what is pressed."""
    holes = list(reversed(record.holes))
    rows = [[Html(""), Html(""), Html(""), Html(named_holes(holes).to_html()), Html("")]]
    for note in record.notes:
        register = f"{note.register_number}" + (" alternate" if note.alternate else "")
        strip = Html(fingering_strip(note, holes).to_html())
        rows.append([words(note.written), words(note.sounding), words(register), strip, words(note.touches)])
    return table(caption, ["written", "sounding", "register", "holes, from the reed to the bell", "pressed"], rows)
