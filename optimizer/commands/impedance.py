"""`impedance`: a measured input impedance against the duct without reed and player."""

from pathlib import Path
from typing import Annotated

from optimizer.commands.options import Json, Layout, RunOrLayout, file, given, measure, text
from optimizer.project.allowed_ranges import AIR_DEGC, AIR_HUMIDITY, PLANE_MM


def impedance(
    path: RunOrLayout,
    measured: Annotated[
        Path | None, given("MEASURED", "measured impedance (.csv with units in its headers, or .s1p)")
    ] = None,
    layout: Layout = None,
    note: Annotated[
        str | None, text("--note", "NOTE", "the note that was fingered (default: the file's remark)")
    ] = None,
    temperature_degc: Annotated[
        float | None, measure("--temperature-degc", float, AIR_DEGC, "of the air (default: the file's remark)")
    ] = None,
    humidity_percent: Annotated[
        float | None,
        measure("--humidity-percent", float, AIR_HUMIDITY, "of the air (default: the file's remark, or 50)"),
    ] = None,
    plane_mm: Annotated[
        float | None, measure("--plane-mm", float, PLANE_MM, "where it was measured, from the reed end (default: 0)")
    ] = None,
    example: Annotated[
        Path | None,
        file("--example", "write the form of such a file there, with the layout's own figures (.csv or .s1p)"),
    ] = None,
    svg: Annotated[Path | None, file("--svg", "draw both there")] = None,
    json: Json = None,
) -> int:
    """A measured input impedance against a layout without reed.

    Raises
    ------
    Fault
        where neither a measurement nor an example is asked for
    """
    from optimizer.commands.console import console, write_if_asked
    from optimizer.project.faults import Fault
    from optimizer.prototype.impedance_example import EXAMPLE, impedance_example
    from optimizer.prototype.impedance_file import read_impedance
    from optimizer.prototype.impedance_match import matched
    from optimizer.prototype.impedance_told import conditions
    from optimizer.records.files import write_record, write_text
    from optimizer.records.named_layouts import chosen_layout
    from optimizer.views.drawings.impedance import impedance_svg
    from optimizer.views.impedance_tables import impedance_table
    from optimizer.views.terminal import show_table

    if measured is None and example is None:
        raise Fault("name a measured impedance, or --example FILE for the form of one")
    record = chosen_layout(path, layout, feasible=True)
    if example is not None:
        at = conditions(
            record, EXAMPLE | {"note": record.notes[0].written}, note, temperature_degc, humidity_percent, plane_mm
        )
        network = example.suffix.lower() == ".s1p"
        write_if_asked(example, lambda place: write_text(place, impedance_example(record, at, network)))
    if measured is None:
        return 0
    read = read_impedance(measured)
    how = conditions(record, read.remarks, note, temperature_degc, humidity_percent, plane_mm)
    found = matched(record, read, measured.name, how)
    show_table(console(), impedance_table(found))
    write_if_asked(svg, lambda place: write_text(place, impedance_svg(found)))
    write_if_asked(json, lambda place: write_record(place, found))
    return 0
