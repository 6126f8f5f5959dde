"""An extension as one page: what it costs the notes that were there, bodies to one scale, what to print and drill."""

from collections.abc import Mapping

from optimizer.records.extension import ExtensionRecord
from optimizer.records.layout import LayoutRecord
from optimizer.views.drawings.bodies import bodies, bodies_drawing
from optimizer.views.drawings.canvas import picture
from optimizer.views.drawings.notes_of_ways import chart_lines, notes_drawing, series
from optimizer.views.extension_tables import drilling_table, notes_table, way_words, ways_table, work_lines
from optimizer.views.html import asset, rendered
from optimizer.words import counted


def extension_page(record: ExtensionRecord, present: LayoutRecord, ways: Mapping[str, LayoutRecord]) -> str:
    """The page; ways: the layout of each way by its name."""
    found = series(record, present, ways)
    lines = chart_lines(next(iter(ways.values())))
    return rendered(
        "extension.html",
        title=_title(record),
        begun=_begun(record),
        ways=ways_table(record),
        bodies=bodies_drawing(bodies(record, present, ways)),
        work=[(way_words(way), work_lines(way, record)) for way in record.ways],
        drilling=drilling_table(record),
        drawn=notes_drawing(found, lines),
        notes=notes_table(found, lines),
        cautions=record.cautions,
    )


def extension_picture(record: ExtensionRecord, present: LayoutRecord, ways: Mapping[str, LayoutRecord]) -> str:
    """The bodies, and every note below them, as an SVG file of its own."""
    lines = chart_lines(next(iter(ways.values())))
    notes = notes_drawing(series(record, present, ways), lines)
    drawn = bodies_drawing(bodies(record, present, ways))
    return picture(_title(record), [drawn, notes], asset("drawings.css"))


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
