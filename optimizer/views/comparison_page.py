"""A comparison as one page: both fronts, every note, bodies to one scale, and what changed, in tables."""

from collections.abc import Sequence

from optimizer.analysis.comparison import Candidate
from optimizer.project.objectives import ONLY_WHERE_SOUGHT, UNITS
from optimizer.records.comparison import Comparison, ComparisonRecord, Numbers
from optimizer.records.layout import LayoutRecord, NoteRecord
from optimizer.views import html as page
from optimizer.views.comparison_tables import hole_words, holes_sentence, mass_words, note_remark, threshold_words
from optimizer.views.drawings.body import body_drawing
from optimizer.views.drawings.front import Dot, front_panels
from optimizer.views.drawings.notes import Line, Mark, tuning_chart
from optimizer.views.html import Html, words
from optimizer.words import or_dash


def compare_page(record: ComparisonRecord, candidates: Sequence[Candidate]) -> str:
    """The page; candidates in the order of the record's layouts."""
    title = " and ".join(dict.fromkeys(each.instrument for each in record.layouts)) + ": side by side"
    layouts = {each.mark: candidate.record for each, candidate in zip(record.layouts, candidates, strict=True)}
    content = [
        page.heading(1, title),
        _compared(record),
        page.bullets([f"{each.mark}: {each.file}" for each in record.layouts], "soft"),
        page.paragraph(mass_words(record), "soft"),
        *_fronts(record, candidates),
        page.heading(2, "How far each note is off"),
        page.figure(tuning_chart(_lines(layouts), "cents of each note, a bar for each layout"), _legend(record)),
        page.heading(2, "Bodies to one scale"),
        *_bodies(layouts),
    ]
    for comparison in record.comparisons:
        content += _against(record, comparison)
    content += [page.heading(2, "Cautions"), page.bullets(record.cautions)]
    return page.page(title, content)


def _tag(mark: str) -> Html:
    return Html(f'<span class="tag mark-{mark.lower()}">{mark}</span>')


def _legend(record: ComparisonRecord) -> str:
    said = "; ".join(f"{each.mark}: {each.instrument}, {each.id}" for each in record.layouts)
    return f"{said}. Top to bottom on each line; predicted less wanted, in cents."


def _compared(record: ComparisonRecord) -> str:
    names = [name for name in UNITS if _told(record, name)]
    heads = [
        "mark",
        "instrument",
        "layout",
        "feasible",
        *(f"{name.replace('_', ' ')}, {UNITS[name]}" for name in names),
    ]
    rows = [
        [
            _tag(each.mark),
            words(each.instrument),
            words(each.id),
            "yes" if each.feasible else "NO",
            *(or_dash(each.objectives.get(name), ".2f") for name in names),
            str(each.holes),
            f"{each.body_length_mm:.2f}",
            f"{each.bell_diameter_mm:.2f}",
            f"{each.printed.mass_g:.1f}",
        ]
        for each in record.layouts
    ]
    return page.table("Compared", [*heads, "holes", "length, mm", "bell, mm", "mass, g"], rows)


def _told(record: ComparisonRecord, name: str) -> bool:
    """Whether an objective is worth a column: plates and robustness only where there are any."""
    return any(each.objectives.get(name, 0.0) > 0 or name not in ONLY_WHERE_SOUGHT for each in record.layouts)


def _fronts(record: ComparisonRecord, candidates: Sequence[Candidate]) -> list[str]:
    """All fronts of runs in the objectives that all of them have, and what is said of each pair."""
    fronts = [(each.mark, one.front) for each, one in zip(record.layouts, candidates, strict=True) if one.front]
    if len(fronts) < 2:
        return []
    names = [name for name in UNITS if all(name in front.objectives for _, front in fronts)]
    dots = [
        Dot(mark, f"{mark}, {entry.id}", entry.objectives)
        for mark, front in fronts
        for entry in front.layouts
        if front.feasible
    ]
    panels = "".join(page.figure(panel) for panel in front_panels(dots, names))
    legend = ", ".join(f"{mark} {shape}" for (mark, _), shape in zip(fronts, SHAPES * 2, strict=False))
    sentences = [sentence for each in record.comparisons if each.fronts for sentence in each.fronts.sentences]
    shares = [
        [words(f"{each.first} and {each.other}"), *(f"{value:.4f}" for value in each.fronts.hypervolume)]
        + [f"{100 * value:.0f} %" for value in each.fronts.beaten_share]
        for each in record.comparisons
        if each.fronts and each.fronts.objectives
    ]
    box = ", ".join(f"{v:g} {UNITS[n]} {n}" for n, v in _reference(record).items())
    heads = ["fronts", "hypervolume of the first", "of the other", "first beaten", "other beaten"]
    return [
        page.heading(2, "Front against front"),
        page.paragraph(f"Each dot is a layout: {legend}. Lower and further left is better.", "soft"),
        f'<div class="panels">{panels}</div>',
        page.bullets(sentences),
        page.table(
            f"Hypervolume: share of the box below {box}; beaten: some layout of the other is better", heads, shares
        ),
    ]


SHAPES = ("circles", "squares", "triangles", "diamonds")


def _reference(record: ComparisonRecord) -> dict[str, float]:
    return next((each.fronts.reference_point for each in record.comparisons if each.fronts), {})


def _lines(layouts: dict[str, LayoutRecord]) -> list[Line]:
    """A line for each written note, register and main or alternate of any layout, first of its kind in each."""
    found: dict[tuple[bool, int, str], dict[str, NoteRecord]] = {}
    for mark, record in layouts.items():
        for note in record.notes:
            line = found.setdefault((note.alternate, note.register_number, note.written), {})
            line.setdefault(mark, note)
    order = sorted(found, key=lambda key: (key[0], key[1], next(iter(found[key].values())).target_hz))
    return [
        Line(
            key[2],
            key[1],
            key[0],
            [Mark(mark, found[key][mark].cents if mark in found[key] else None, None) for mark in layouts],
        )
        for key in order
    ]


def _bodies(layouts: dict[str, LayoutRecord]) -> list[str]:
    span = max(record.bore.points_mm[-1][0] for record in layouts.values())
    return [
        page.figure(
            body_drawing(record, span, detail=False),
            f"{mark}: {record.instrument}, layout {record.id}. Holes above, fingers below; dashed: behind.",
            wide=True,
        )
        for mark, record in layouts.items()
    ]


def _against(record: ComparisonRecord, found: Comparison) -> list[str]:
    a, b = found.first, found.other
    return [
        page.heading(2, f"{b} against {a}"),
        page.bullets(found.remarks, "warn"),
        page.heading(3, "Notes"),
        _notes(found),
        page.heading(3, f"Holes: {holes_sentence(found.holes)}"),
        _holes(record, found),
        *_others(found),
        page.heading(3, "What binds"),
        page.table(
            "",
            ["binds", "limits and ranges"],
            [
                [words(where), words(", ".join(names) or "nothing")]
                for where, names in (
                    (f"only in {a}", found.binds.only_first),
                    (f"only in {b}", found.binds.only_other),
                    ("both", found.binds.both),
                )
            ],
            long=["limits and ranges"],
        ),
    ]


def _pair(pair: Numbers, pattern: str) -> list[str]:
    return [or_dash(value, pattern) for value in pair]


def _notes(found: Comparison) -> str:
    a, b = found.first, found.other
    heads = [
        "written",
        "register",
        f"cents {a}",
        b,
        f"{b} - {a}",
        f"peak / lower {a}",
        f"{b} ",
        f"{b} - {a} ",
        "remark",
    ]
    rows = [
        [
            words(note.written),
            str(note.register_number),
            *_pair(note.cents, "+z.1f"),
            or_dash(note.difference_cents, "+z.1f"),
            *_pair(note.height_over_lower, ".2f"),
            or_dash(note.height_difference, "+z.2f"),
            words(note_remark(note, a, b)),
        ]
        for note in found.notes
    ]
    return page.table("By the real resonances; peak / lower: how far the register stands out", heads, rows)


def _holes(record: ComparisonRecord, found: Comparison) -> str:
    a, b = found.first, found.other
    rows = [
        [
            words(hole.id),
            *_pair(hole.position_mm, ".2f"),
            or_dash(hole.moved_mm, "+z.2f"),
            *_pair(hole.diameter_mm, ".2f"),
            or_dash(hole.resized_mm, "+z.2f"),
            words(hole_words(hole)),
        ]
        for hole in found.holes
    ]
    heads = ["hole", f"position {a}", b, "moved", f"diameter {a}", f"{b} ", "resized", "state"]
    return page.table(f"mm; {threshold_words(record)}", heads, rows)


def _others(found: Comparison) -> list[str]:
    """Reach, keys and pieces, as far as there are any."""
    a, b = found.first, found.other
    said = []
    if found.reach:
        rows = [
            [
                pair.pair,
                *_pair(pair.spacing_mm, ".2f"),
                or_dash(pair.difference_mm, "+z.2f"),
                *_pair(pair.working_mm, ".1f"),
                " / ".join(verdict or "-" for verdict in pair.verdict),
            ]
            for pair in found.reach
        ]
        heads = ["pair", a, b, f"{b} - {a}", f"limit {a}", f"limit {b}", "verdict"]
        said += [page.heading(3, "Reach"), page.table("Between touch centres, mm", heads, rows)]
    if found.keys:
        rows = [
            [
                words(key.id),
                or_dash(key.moved_mm, "+z.2f"),
                or_dash(key.turned_deg, "+z.0f"),
                words("; ".join(f"{one.hole} {' / '.join(_pair(one.length_mm, '.1f'))}" for one in key.levers)),
                words(", ".join(key.changes) if key.state == "changed" else key.state),
            ]
            for key in found.keys
        ]
        heads = ["key", "touch moved", "turned", f"levers to, {a} / {b}", "state"]
        said += [page.heading(3, "Keys"), page.table("mm and degrees", heads, rows)]
    if found.pieces:
        rows = [
            [str(piece.number), *_pair(piece.length_mm, ".2f"), *_pair(piece.joint_at_mm, ".2f")]
            for piece in found.pieces
        ]
        heads = ["piece", f"length {a}", b, f"joint at {a}", f"{b} "]
        said += [page.heading(3, "Pieces of the body"), page.table("mm, from the reed", heads, rows)]
    return said
