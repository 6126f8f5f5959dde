"""`correct`: the few changes that bring a measured instrument into tune."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from optimizer.commands.options import Json, Layout, RunOrLayout, file, given, measure
from optimizer.project.allowed_ranges import Bounds

if TYPE_CHECKING:
    from optimizer.project.loading import LoadedProject

SECONDS = Bounds(above=0, most=600, unit="s")

Fitted = Annotated[Path, given("FIT", "what `fit` found, as it wrote it with --json")]


def correct(
    path: RunOrLayout,
    fit: Fitted,
    layout: Layout = None,
    project: Annotated[
        Path | None, file("--project", "project file, whose limits count (default: the run's, where it is one)")
    ] = None,
    after: Annotated[Path | None, file("--after", "what the pass before wrote with --json, to go on from")] = None,
    seconds: Annotated[float, measure("--seconds", float, SECONDS, "how long each choice may take, in s")] = 5.0,
    json: Json = None,
    corrected: Annotated[
        Path | None, file("--corrected", "write the layout once this pass is done there, to measure against next")
    ] = None,
    html: Annotated[Path | None, file("--html", "write the list there, as a page to print for the bench")] = None,
    svg: Annotated[Path | None, file("--svg", "draw the history of the notes there")] = None,
) -> int:
    """The few changes that bring a measured instrument into tune, in bench order.

    Raises
    ------
    Fault
        for a fit of another layout
    """
    from optimizer.commands.console import console, write_if_asked
    from optimizer.prototype.correction import corrected as worked_out
    from optimizer.records.calibration import CalibrationRecord
    from optimizer.records.correction import CorrectionRecord
    from optimizer.records.files import read_record, write_record, write_text
    from optimizer.records.named_layouts import chosen_layout
    from optimizer.views.correction_page import correction_page, history_picture
    from optimizer.views.correction_tables import show_correction

    record = chosen_layout(path, layout)
    earlier = None if after is None else read_record(after, CorrectionRecord)
    found, made = worked_out(
        record, read_record(fit, CalibrationRecord), _project(path, project), earlier, seconds=seconds
    )
    show_correction(console(), found)
    write_if_asked(json, lambda place: write_record(place, found))
    write_if_asked(corrected, lambda place: write_record(place, made))
    write_if_asked(html, lambda place: write_text(place, correction_page(found)))
    write_if_asked(svg, lambda place: write_text(place, history_picture(found)))
    return 0


def _project(path: Path, named: Path | None) -> "LoadedProject | None":
    """The project named, else the run's; none of a layout by itself."""
    from optimizer.project.loading import load_project
    from optimizer.records.named_layouts import project_of_run, run_of

    if named is not None:
        return load_project(named, None, rule_out=False)
    return project_of_run(run_of(path), None) if (run_of(path) / "run.json").exists() else None
