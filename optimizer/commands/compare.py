"""`compare` and `report`: layouts side by side, and a run on one page."""

from pathlib import Path
from typing import Annotated

from optimizer.commands.options import Json, RunFolder, file, given, measure
from optimizer.project.allowed_ranges import Bounds
from optimizer.project.faults import Fault, writing

DENSITY = Bounds(least=0.1, most=25, unit="g/cm3")


def compare(
    paths: Annotated[
        list[Path],
        given("PATH...", "run folders (of each its best-tuned layout, and its front) or layout files (.json)"),
    ],
    json: Json = None,
    html: Annotated[Path | None, file("--html", "write the comparison there, as one page with figures")] = None,
    density: Annotated[
        float | None, measure("--density", float, DENSITY, "of the print, g/cm3 (default: 1.24, PLA, from memory)")
    ] = None,
) -> int:
    """Layouts or runs side by side, each against the first."""
    from optimizer.analysis.comparison import candidate, compared
    from optimizer.commands.console import console, write_if_asked
    from optimizer.project.printer import DENSITY_G_PER_CM3
    from optimizer.records.files import write_record, write_text
    from optimizer.views.comparison_page import compare_page
    from optimizer.views.comparison_tables import show_comparison

    candidates = [candidate(path) for path in paths]
    record = compared(candidates, density or DENSITY_G_PER_CM3)
    show_comparison(console(), record)
    write_if_asked(json, lambda place: write_record(place, record))
    write_if_asked(html, lambda place: write_text(place, compare_page(record, candidates)))
    return 0


def report(
    run: RunFolder,
    out: Annotated[Path | None, file("--out", "the page (default: report.html in the run folder)")] = None,
) -> int:
    """Write one page of a run, to read offline or to print.

    Raises
    ------
    Fault
        when there is no such folder, or the page cannot be written
    """
    from optimizer.commands.console import console
    from optimizer.records.files import read_record, write_text
    from optimizer.records.layout import LayoutRecord
    from optimizer.records.named_layouts import front_of
    from optimizer.records.run import RunRecord
    from optimizer.views.report import report_page

    if not run.is_dir():
        raise Fault(f"{run} is no run folder")
    front, begun = front_of(run), read_record(run / "run.json", RunRecord)
    layouts = [read_record(run / entry.file, LayoutRecord) for entry in front.layouts]
    place = out or run / "report.html"
    page = report_page(begun, front, layouts)
    with writing(place, "the report could not be written"):
        write_text(place, page)
    console().print(f"written: {place}", soft_wrap=True)
    return 0
