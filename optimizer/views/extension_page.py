"""An extension as one page: what it costs the notes that were there, bodies to one scale, what to print and drill."""

from collections.abc import Mapping, Sequence

from optimizer.analysis.note_changes import Line
from optimizer.records.extension import TITLES, ExtensionRecord
from optimizer.records.layout import LayoutRecord
from optimizer.views import html as page
from optimizer.views.drawings.bodies import bodies, bodies_drawing
from optimizer.views.drawings.canvas import picture
from optimizer.views.drawings.notes_of_ways import Series, chart_lines, notes_drawing, series
from optimizer.views.extension_tables import work_lines
from optimizer.views.html import words
from optimizer.views.page_style import COLOURS, DRAWINGS
from optimizer.words import counted

BODIES = (
    "To one scale, reed ends in line, seen from the front; the crook is drawn straight. Ring: a hole as it was; ring "
    "around a ring: drilled wider; ring with a dot: made anew; full disk: was not there. Dashed: behind. Thick bar: "
    "piece to print; thin bar: piece that stays."
)

NOTES = "Predicted less wanted, by the real resonances at soft playing; no mark where a note does not sound."


def extension_page(record: ExtensionRecord, present: LayoutRecord, ways: Mapping[str, LayoutRecord]) -> str:
    """The page; ways: the layout of each way by its name."""
    found = series(record, present, ways)
    lines = chart_lines(next(iter(ways.values())))
    content = [
        page.heading(1, _title(record)),
        page.paragraph(_begun(record)),
        page.heading(2, "What it costs the notes that were there before"),
        _ways(record),
        page.paragraph(
            "Each way is the best of a few solves: some tenths of a cent between them mean little. Worst: of main "
            "fingerings.",
            "soft",
        ),
        page.heading(2, "Bodies to one scale"),
        page.figure(bodies_drawing(bodies(record, present, ways)), BODIES, wide=True),
        page.heading(2, "What to print and what to drill"),
        *_work(record),
        *_drilled(record),
        page.heading(2, "How far each note is off"),
        page.figure(notes_drawing(found, lines), NOTES, wide=True),
        _notes(found, lines),
        page.heading(2, "Cautions"),
        page.bullets(record.cautions),
    ]
    return page.page(_title(record), content)


def extension_picture(record: ExtensionRecord, present: LayoutRecord, ways: Mapping[str, LayoutRecord]) -> str:
    """The bodies, and every note below them, as an SVG file of its own."""
    lines = chart_lines(next(iter(ways.values())))
    notes = notes_drawing(series(record, present, ways), lines)
    drawn = bodies_drawing(bodies(record, present, ways))
    return picture(_title(record), [drawn, notes], COLOURS + DRAWINGS)


def _title(record: ExtensionRecord) -> str:
    return f"{record.present} carried on to {record.extended}"


def _begun(record: ExtensionRecord) -> str:
    new = ", ".join(record.new_notes) or "none"
    kept = ", ".join(map(str, record.kept_pieces))
    return (
        f"New notes: {new}. The {counted(len(record.ways[0].notes), 'note')} of both, as it is (layout "
        f"{record.present_layout}): {record.before_rms_cents:.2f} cents RMS, worst {record.before_worst_cents:.2f}. "
        f"Upper pieces, from the reed: {kept}."
    )


def _ways(record: ExtensionRecord) -> str:
    """The three ways side by side; figures of the notes of both first."""
    heads = ["way", "cost", "RMS before", "after", "worst before", "after", "all notes", "print", "drill", "feasible"]
    rows = [
        [
            words(TITLES[way.way]),
            f"{way.cost_cents:+.2f}",
            f"{record.before_rms_cents:.2f}",
            f"{way.common_rms_cents:.2f}",
            f"{record.before_worst_cents:.2f}",
            f"{way.common_worst_cents:.2f}",
            f"{way.fit.objectives['tuning']:.2f}",
            words(f"{len(way.print_pieces)} of {counted(way.pieces, 'piece')}"),
            words(counted(len(way.redrill), "hole") if way.redrill else "none"),
            words("yes" if way.feasible else "NO"),
        ]
        for way in record.ways
    ]
    return page.table("Cents, over the notes of both; all notes: RMS with the new ones", heads, rows)


def _work(record: ExtensionRecord) -> list[str]:
    parts = []
    for way in record.ways:
        said = "" if way.way == "free" else f": {way.sentence}"
        parts += [page.heading(3, f"{TITLES[way.way]}{said}"), page.bullets(work_lines(way, record))]
    return parts


def _drilled(record: ExtensionRecord) -> list[str]:
    """Holes to drill wider, and those that a free choice would widen too."""
    rows = [
        [
            words(hole.hole),
            f"{hole.from_mm:.2f}",
            f"{hole.to_mm:.2f}",
            "-" if hole.worth_cents is None else f"{hole.worth_cents:.2f}",
            words(said),
        ]
        for way in record.ways
        for holes, said in ((way.redrill, "drill"), (way.passed_over, "may stay as made"))
        for hole in holes
    ]
    heads = ["hole", "from, mm", "to, mm", "worth, cents RMS", "do"]
    return [page.table("Holes of kept pieces that want to be wider, when all may grow", heads, rows)] if rows else []


def _notes(found: Sequence[Series], lines: Sequence[Line]) -> str:
    """Cents of every note, and what each way adds to or takes from its error."""
    now, *others = found
    heads = ["written", "register", now.name]
    for one in others:
        heads += [one.name, "cost"]
    rows = []
    for line in lines:
        before = now.cents.get(line)
        row = [words(line[0]), words(f"{line[1]} alternate" if line[2] else str(line[1])), _cents(before)]
        for one in others:
            after = one.cents.get(line)
            cost = None if before is None or after is None else abs(after) - abs(before)
            row += [_cents(after), _cents(cost)]
        rows.append(row)
    return page.table("Cents; cost: how much farther off than now", heads, rows)


def _cents(value: float | None) -> str:
    return "-" if value is None else f"{value:+z.1f}"
