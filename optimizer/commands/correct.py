"""`correct`: the few changes that bring a measured instrument into tune."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from optimizer.commands.options import Json, Layout, RunOrLayout, file, given, measure
from optimizer.commands.prototype import tuner_or_measurement
from optimizer.project.allowed_ranges import MINUTES, Bounds
from optimizer.project.faults import Fault, headed

if TYPE_CHECKING:
    from optimizer.project.loading import LoadedProject
    from optimizer.prototype.passes import Passes, Standing
    from optimizer.prototype.reprint_search import Drawn
    from optimizer.records.calibration import CalibrationRecord
    from optimizer.records.correction import CorrectionRecord
    from optimizer.records.layout import LayoutRecord

SECONDS = Bounds(above=0, most=600, unit="s")

Measured = Annotated[
    Path,
    given("MEASURED", "what `fit` found, as it wrote it with --json; or a tuner table or measurement to fit first"),
]


def correct(
    path: RunOrLayout,
    measured: Measured,
    layout: Layout = None,
    project: Annotated[
        Path | None, file("--project", "project file, whose limits count (default: the run's, where it is one)")
    ] = None,
    after: Annotated[
        Path | None, file("--after", "what the pass before wrote with --json (default: the last one of the run)")
    ] = None,
    done: Annotated[
        Path | None, file("--done", "table of what was done of the list before (default: as told, or the run's)")
    ] = None,
    seconds: Annotated[float, measure("--seconds", float, SECONDS, "how long each choice may take, in s")] = 5.0,
    minutes: Annotated[
        float | None,
        measure("--minutes", float, MINUTES, "draw each piece anew, the others locked, in so long all in all"),
    ] = None,
    reprinted: Annotated[Path | None, file("--reprinted", "write the layout with the best such piece there")] = None,
    json: Json = None,
    corrected: Annotated[
        Path | None, file("--corrected", "write the layout once this pass is done there, to measure against next")
    ] = None,
    html: Annotated[Path | None, file("--html", "write the list there, as a page to print for the bench")] = None,
    svg: Annotated[Path | None, file("--svg", "draw the history of the notes there")] = None,
) -> int:
    """The few changes that bring a measured instrument into tune, in bench order, pass after pass.

    Raises
    ------
    Fault
        for a fit of another layout, and where no piece can be drawn anew
    """
    from optimizer.commands.console import console, write_if_asked
    from optimizer.prototype.correction import corrected as worked_out
    from optimizer.prototype.passes import Passes
    from optimizer.records.files import write_record, write_text
    from optimizer.records.named_layouts import chosen_layout, run_of
    from optimizer.views.correction_tables import show_correction

    printed = chosen_layout(path, layout)
    kept = Passes(run_of(path), printed, _drawn) if path.is_dir() else None
    if done is not None and after is None and kept is None:
        raise Fault("--done goes with a run folder, or with --after, the list that it was done of")
    at = _begin(printed, kept, measured, after, done)
    record, fit, loaded = at.layout, _fitted(measured, at.layout), _project(path, project)
    found, made = worked_out(record, fit, loaded, at.earlier, seconds=seconds)
    if minutes is not None:
        drawn = _drawn_anew(record, fit, loaded, found, minutes)
        found = found.model_copy(update={"reprint": drawn.reprint})
        write_if_asked(reprinted, lambda place: write_record(place, drawn.layout))
    show_correction(console(), found)
    for remark in kept.remarks if kept else ():
        console().print(remark, soft_wrap=True)
    for place in kept.keep(found, at, made, fit, measured.name) if kept else ():
        console().print(f"written: {place}", soft_wrap=True)
    write_if_asked(json, lambda place: write_record(place, found))
    write_if_asked(corrected, lambda place: write_record(place, made))
    write_if_asked(html, lambda place: write_text(place, _drawn(found)[0]))
    write_if_asked(svg, lambda place: write_text(place, _drawn(found)[1]))
    return 0


def _drawn(found: "CorrectionRecord") -> tuple[str, str]:
    from optimizer.views.correction_page import correction_page, history_picture

    return correction_page(found), history_picture(found)


def _drawn_anew(
    record: "LayoutRecord",
    fit: "CalibrationRecord",
    loaded: "LoadedProject | None",
    found: "CorrectionRecord",
    minutes: float,
) -> "Drawn":
    """The piece that is best drawn anew, in place of the list."""
    from optimizer.prototype.reprint_search import drawn_anew

    if loaded is None:
        raise Fault("drawing a piece anew takes the project's limits; name it by --project")
    after = [note.after_cents for note in found.notes if not note.alternate]
    rms = (sum(cents**2 for cents in after) / len(after)) ** 0.5
    with headed("no piece can be drawn anew"):
        return drawn_anew(record, fit, loaded, rms, 60.0 * minutes)


def _begin(
    printed: "LayoutRecord", kept: "Passes | None", measured: Path, after: Path | None, done: Path | None
) -> "Standing":
    """Where the instrument stood when it was measured."""
    from optimizer.prototype.bench_done import as_done, read_done
    from optimizer.prototype.passes import Standing
    from optimizer.records.correction import CorrectionRecord
    from optimizer.records.files import read_record

    if after is not None:
        earlier = read_record(after, CorrectionRecord)
        return Standing(*(as_done(printed, earlier, read_done(done, earlier)) if done else (printed, earlier)))
    if kept is None:
        return Standing(printed)
    kept.take_in(done)
    fit = _as_fit(measured)
    return kept.latest() if fit is None else kept.of_mark(fit.layout_mark)


def _fitted(measured: Path, record: "LayoutRecord") -> "CalibrationRecord":
    from optimizer.prototype.calibration import calibrated
    from optimizer.prototype.tuner_table import Tuner

    return _as_fit(measured) or calibrated(record, tuner_or_measurement(measured, record, Tuner(None, None, None)))


def _as_fit(path: Path) -> "CalibrationRecord | None":
    """What a file says, where it is what `fit` writes."""
    from optimizer.records.calibration import CalibrationRecord
    from optimizer.records.files import read_record

    if path.suffix.lower() != ".json" or b"holewright-measurement" in path.read_bytes()[:400]:
        return None
    return read_record(path, CalibrationRecord)


def _project(path: Path, named: Path | None) -> "LoadedProject | None":
    """The project named, else the run's; none of a layout by itself."""
    from optimizer.project.loading import load_project
    from optimizer.records.named_layouts import project_of_run, run_of

    if named is not None:
        return load_project(named, None, rule_out=False)
    return project_of_run(run_of(path), None) if (run_of(path) / "run.json").exists() else None
