"""`fingerings`: every way that hands can finger a note on a layout."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from optimizer.commands.options import RESULTS, AnyLayout, Json, Layout, Runs, file, measure, text
from optimizer.project.allowed_ranges import Bounds

if TYPE_CHECKING:
    from optimizer.project.loading import LoadedProject

OFF = Bounds(least=-100, most=100, unit="cents")
WITHIN = Bounds(least=1, most=50, unit="cents")
MOST = Bounds(least=1, most=100)


def fingerings(
    path: AnyLayout,
    layout: Layout = None,
    note: Annotated[
        list[str] | None, text("--note", "NOTE", "written notes to find ways to (default: all of the chart)")
    ] = None,
    off: Annotated[
        float, measure("--off", float, OFF, "how far beside the note, cents, as 50 for a quarter tone above it")
    ] = 0.0,
    within: Annotated[float, measure("--within", float, WITHIN, "how far off a way may be, cents")] = 15.0,
    most: Annotated[int, measure("--most", int, MOST, "how many ways of each note are shown")] = 6,
    project: Annotated[
        Path | None, file("--project", "the project of a layout that lies in no run: its keys say what hands can hold")
    ] = None,
    into: Annotated[
        Path | None,
        file("--into", "write the project there, with the best way to each note that is not in its chart yet"),
    ] = None,
    json: Json = None,
    results: Runs = RESULTS,
) -> int:
    """All ways to finger notes on a layout, by tuning, ease and strength; each as a line for the chart.

    Raises
    ------
    Fault
        for a note beyond the chart, and a layout of no known project
    """
    from optimizer.analysis.fingerings import Finder, best_new, fingerings_of, wanted_notes, with_lines
    from optimizer.analysis.written_layout import layout_meant
    from optimizer.commands.console import console, write_if_asked
    from optimizer.records.files import write_record, write_text
    from optimizer.views.fingering_tables import show_fingerings

    record = layout_meant(path, results, layout, feasible=True)
    loaded = _project(path, project)
    wanted = wanted_notes(loaded, record, note or (), off)
    found = fingerings_of(Finder(loaded, record), wanted, within, most)
    show_fingerings(console(), found)
    if into is not None:
        more = with_lines(loaded, [way.line for way in best_new(found)])
        write_if_asked(into, lambda place: write_text(place, more))
    write_if_asked(json, lambda place: write_record(place, found))
    return 0


def _project(path: Path, named: Path | None) -> "LoadedProject":
    """The project that says what hands can hold: the one named, or that of the layout's run."""
    from optimizer.project.faults import Fault
    from optimizer.project.loading import load_project
    from optimizer.records.named_layouts import is_project, project_of_run, run_of

    if named is not None or is_project(path):
        return load_project(named or path, rule_out=False)
    if not (run_of(path) / "run.json").exists():
        raise Fault(f"{path} lies in no run; name its project, whose keys say what hands can hold: --project FILE")
    return project_of_run(run_of(path), None)
