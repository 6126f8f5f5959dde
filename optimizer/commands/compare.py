"""`compare`: layouts side by side."""

from pathlib import Path
from typing import Annotated

from optimizer.commands.options import Json, file, given, measure
from optimizer.project.allowed_ranges import Bounds

DENSITY = Bounds(least=0.1, most=25, unit="g/cm3")


def compare(
    paths: Annotated[
        list[Path],
        given("PATH...", "run folders (of each its best-tuned layout, and its front) or layout files (.json)"),
    ],
    json: Json = None,
    html: Annotated[Path | None, file("--html", "write the comparison there, as one page with figures")] = None,
    density: Annotated[
        float | None, measure("--density", float, DENSITY, "of every print, g/cm3 (default: what each project states)")
    ] = None,
) -> int:
    """Layouts or runs side by side, each against the first."""
    from optimizer.analysis.comparison import candidate, compared
    from optimizer.commands.console import console, write_if_asked
    from optimizer.records.files import write_record, write_text
    from optimizer.views.comparison_page import compare_page
    from optimizer.views.comparison_tables import show_comparison

    candidates = [candidate(path) for path in paths]
    record = compared(candidates, density)
    show_comparison(console(), record)
    write_if_asked(json, lambda place: write_record(place, record))
    write_if_asked(html, lambda place: write_text(place, compare_page(record, candidates)))
    return 0
