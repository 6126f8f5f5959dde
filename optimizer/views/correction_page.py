"""A correction as a page to print for the bench, and its history as a picture."""

from optimizer.records.correction import CorrectionRecord
from optimizer.views.correction_tables import curve_table, effects_table, notes_table, reprint_lines, steps_table
from optimizer.views.drawings.canvas import picture
from optimizer.views.drawings.corrections import curve_drawing, history_drawing
from optimizer.views.html import asset, rendered


def correction_page(record: CorrectionRecord) -> str:
    """The page."""
    return rendered(
        "correction.html",
        title=_title(record),
        steps=steps_table(record, afterwards=True) if record.steps else None,
        effects=effects_table(record) if record.steps else None,
        remarks=[*record.remarks, *reprint_lines(record)],
        curve=curve_drawing(record),
        points=curve_table(record),
        history=history_drawing(record),
        notes=notes_table(record),
        cautions=record.cautions,
    )


def history_picture(record: CorrectionRecord) -> str:
    """The notes from the first design on, as an SVG file of its own."""
    return picture(_title(record), [history_drawing(record)], asset("drawings.css"))


def _title(record: CorrectionRecord) -> str:
    return f"{record.instrument}, layout {record.layout}: correction, pass {record.number}"
