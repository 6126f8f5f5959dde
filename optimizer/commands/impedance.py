"""`impedance`: a measured input impedance against the duct without reed and player."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from optimizer.commands.options import Json, Layout, RunOrLayout, file, given, measure, text
from optimizer.project.allowed_ranges import AIR_DEGC, Bounds
from optimizer.project.faults import Fault

if TYPE_CHECKING:
    from optimizer.records.layout import LayoutRecord, NoteRecord

PERCENT = Bounds(least=0, most=100)
PLACE = Bounds(least=0, most=10_000)


def impedance(
    path: RunOrLayout,
    measured: Annotated[Path, given("MEASURED", "measured impedance (.csv with units in its headers, or .s1p)")],
    layout: Layout = None,
    note: Annotated[
        str | None, text("--note", "NOTE", "the note that was fingered (default: the file's remark)")
    ] = None,
    temperature_degc: Annotated[
        float | None, measure("--temperature-degc", float, AIR_DEGC, "of the air (default: the file's remark)")
    ] = None,
    humidity_percent: Annotated[
        float | None, measure("--humidity-percent", float, PERCENT, "of the air (default: the file's remark, or 50)")
    ] = None,
    plane_mm: Annotated[
        float | None, measure("--plane-mm", float, PLACE, "where it was measured, from the reed end (default: 0)")
    ] = None,
    svg: Annotated[Path | None, file("--svg", "draw both there")] = None,
    json: Json = None,
) -> int:
    """A measured input impedance against a layout without reed.

    Raises
    ------
    Fault
        where note or temperature are not told, and for a measurement that cannot be one of this bore
    """
    from optimizer.commands.console import console, write_if_asked
    from optimizer.prototype.impedance_file import read_impedance
    from optimizer.prototype.impedance_match import Conditions, matched
    from optimizer.records.files import write_record, write_text
    from optimizer.records.named_layouts import chosen_layout
    from optimizer.views.drawings.impedance import impedance_svg
    from optimizer.views.impedance_tables import impedance_table
    from optimizer.views.terminal import show_table

    record = chosen_layout(path, layout, feasible=True)
    read = read_impedance(measured)
    degrees = _said(temperature_degc, read.remarks, "temperature_degc", AIR_DEGC)
    if degrees is None:
        raise Fault("say how warm the air was: --temperature-degc, or a remark `temperature_degC = 21.5` in the file")
    humidity = _said(humidity_percent, read.remarks, "humidity_percent", PERCENT)
    plane = _said(plane_mm, read.remarks, "plane_mm", PLACE)
    fingered = _note(record, note or read.remarks.get("note"))
    how = Conditions(fingered, degrees, 50.0 if humidity is None else humidity, plane or 0.0)
    found = matched(record, read, measured.name, how)
    show_table(console(), impedance_table(found))
    write_if_asked(svg, lambda place: write_text(place, impedance_svg(found)))
    write_if_asked(json, lambda place: write_record(place, found))
    return 0


def _said(value: float | None, remarks: Mapping[str, str], name: str, bounds: Bounds) -> float | None:
    """A figure by the option, or else by a remark in the file."""
    if value is not None or name not in remarks:
        return value
    try:
        found = float(remarks[name])
    except ValueError:
        raise Fault(f"the file's remark {name} must be a number, but is {remarks[name]!r}") from None
    if wrong := bounds.wrong(found):
        raise Fault(f"the file's remark {name} {wrong}")
    return found


def _note(record: "LayoutRecord", name: str | None) -> "NoteRecord":
    """The note that was fingered."""
    written = {note.written.lower(): note for note in reversed(record.notes)}
    known = ", ".join(dict.fromkeys(note.written for note in record.notes))
    if name is None:
        raise Fault(
            f"say which note was fingered: --note, or a remark `note = ...` in the file; the layout has {known}"
        )
    if name.lower() not in written:
        raise Fault(f"the layout has no note {name!r}; it has {known}")
    return written[name.lower()]
