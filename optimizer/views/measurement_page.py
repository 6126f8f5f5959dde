"""What was heard of an instrument, as a page: its notes, what was left out, and a picture of the takes."""

from optimizer.records.measurement import MeasurementRecord
from optimizer.views.drawings.canvas import Canvas
from optimizer.views.html import rendered
from optimizer.views.measurement_tables import measured_table, unassigned_table


def measurement_page(record: MeasurementRecord, takes: Canvas) -> str:
    """The page.

    Parameters
    ----------
    record : what was heard
    takes : the drawing of its takes
    """
    return rendered(
        "measurement.html",
        title=f"{record.instrument}, layout {record.layout}: {record.source}",
        remarks=record.remarks,
        takes=takes,
        notes=measured_table(record),
        left=unassigned_table(record.unassigned) if record.unassigned else None,
    )
