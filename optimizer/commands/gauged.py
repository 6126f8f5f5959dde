"""`gauged`: what gauges say of an instrument that is made."""

from pathlib import Path
from typing import Annotated

from optimizer.commands.options import Json, Layout, RunOrLayout, file, given
from optimizer.project.faults import Fault


def gauged(
    path: RunOrLayout,
    readings: Annotated[Path | None, given("READINGS", "table of readings (.csv)")] = None,
    layout: Layout = None,
    sheet: Annotated[Path | None, file("--sheet", "write a table to fill in there")] = None,
    json: Json = None,
) -> int:
    """Real sizes of holes, bore and length, by gauge readings.

    Raises
    ------
    Fault
        where neither readings nor a sheet are asked for
    """
    from optimizer.commands.console import console, write_if_asked
    from optimizer.prototype.gauged_layout import gauged as read
    from optimizer.prototype.gauged_layout import sheet as sheet_of
    from optimizer.records.files import write_record, write_text
    from optimizer.records.named_layouts import chosen_layout
    from optimizer.views.gauged_tables import gauged_table
    from optimizer.views.terminal import show_table

    record = chosen_layout(path, layout, feasible=True)
    if readings is None and sheet is None:
        raise Fault("name a table of readings, or --sheet FILE for one to fill in")
    write_if_asked(sheet, lambda place: write_text(place, sheet_of(record)))
    if readings is not None:
        found = read(record, readings)
        show_table(console(), gauged_table(found))
        write_if_asked(json, lambda place: write_record(place, found))
    return 0
