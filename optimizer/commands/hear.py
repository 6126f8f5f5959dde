"""`hear`: recordings of an instrument that was built to cents per note."""

from pathlib import Path
from typing import Annotated

from optimizer.commands.options import Json, Layout, RunOrLayout, file, given, measure
from optimizer.project.allowed_ranges import A4_HZ, AIR_DEGC, Bounds

WITHIN_K = Bounds(least=0, most=10, unit="K")


def hear(
    path: RunOrLayout,
    recordings: Annotated[
        list[Path],
        given("RECORDING...", "WAV, FLAC or OGG: takes of several notes, or files named after their note (C#4-2.wav)"),
    ],
    layout: Layout = None,
    notes: Annotated[
        Path | None, file("--notes", "the notes of a take in the order they were played, a text, one a line")
    ] = None,
    a4: Annotated[
        float | None, measure("--a4", float, A4_HZ, "pitch that was played to, Hz (default: the layout's)")
    ] = None,
    bell_degc: Annotated[
        float | None, measure("--bell-degc", float, AIR_DEGC, "air at the bell end while it was played, degC")
    ] = None,
    bell_within: Annotated[
        float, measure("--bell-within", float, WITHIN_K, "one standard deviation of --bell-degc, K")
    ] = 1.0,
    json: Json = None,
    html: Annotated[Path | None, file("--html", "write the notes and that picture there, as a page")] = None,
    svg: Annotated[
        Path | None, file("--svg", "draw the takes there, with the notes found and what was left out")
    ] = None,
) -> int:
    """How far an instrument's notes are off, from recordings of it.

    Raises
    ------
    Fault
        for a recording that cannot be heard, and a list with notes that the chart does not have
    """
    from optimizer.commands.console import console, write_if_asked
    from optimizer.hearing.session import measured
    from optimizer.hearing.wanted import lines_of, read_order
    from optimizer.records.files import write_record, write_text
    from optimizer.records.named_layouts import chosen_layout
    from optimizer.views.drawings.takes import takes_drawing
    from optimizer.views.measurement_page import measurement_page
    from optimizer.views.measurement_tables import show_measurement

    record = chosen_layout(path, layout)
    order = read_order(notes, lines_of(record, a4 or record.reference.a4_hz)) if notes else ()
    session = measured(record, recordings, order, a4, bell_degc, bell_within)
    show_measurement(console(), session.measurement)
    write_if_asked(json, lambda place: write_record(place, session.measurement))
    drawing = takes_drawing(session)
    write_if_asked(svg, lambda place: write_text(place, drawing.to_svg()))
    write_if_asked(html, lambda place: write_text(place, measurement_page(session.measurement, drawing)))
    return 0
