"""Found out about a layout or a run in the workshop: its tolerance, what its limits cost, ways out of a reach."""

from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any, NamedTuple

from optimizer.analysis.relief_files import kept_reliefs, reliefs_file
from optimizer.project.faults import Fault
from optimizer.project.hand import Hand
from optimizer.project.included import Included, IncludedError, taken_in
from optimizer.project.loading import LoadedProject, ProjectError, parse_project
from optimizer.records.files import RecordError, write_record
from optimizer.records.fingerings import FingeringsRecord
from optimizer.records.fits import ReliefsRecord
from optimizer.records.layout import LayoutRecord, saved_numbers
from optimizer.records.prices import PricesRecord
from optimizer.records.run import FrontRecord, RunRecord
from optimizer.records.tolerance import ToleranceRecord
from optimizer.service.offered import hand_of
from optimizer.service.opening import bytes_of, record_of
from optimizer.service.refusals import RefusedError, told
from optimizer.service.work import layout_read


class Draws(NamedTuple):
    """What a layout's tolerance is drawn with; see `optimizer.analysis.tolerance`."""

    samples: int
    seed: int
    within_cents: float
    worth_cents: float


def tolerance_of(layout: Path, draws: Draws) -> ToleranceRecord:
    """What making and playing do to a layout's notes.

    Raises
    ------
    RefusedError
        404 when the layout went, 422 when it does not sound or a deviation leaves a hole without size
    """
    from optimizer.analysis.tolerance import tolerance

    record = layout_read(layout)
    try:
        return tolerance(record, draws.samples, draws.seed, draws.within_cents, draws.worth_cents)
    except ValueError as error:
        raise RefusedError(422, f"what becomes of this layout cannot be told: {error}") from None


def prices(folder: Path, layout: Path, seconds: float) -> PricesRecord:
    """What each limit of a layout costs, the dearest first, as many as are priced within a time [s].

    Raises
    ------
    RefusedError
        404 when the layout went, 422 when it breaks a limit or its run's project cannot be read any more
    """
    from optimizer.analysis.prices import prices_of

    record = layout_read(layout)
    if not record.feasible:
        raise RefusedError(422, f"layout {record.id} does not keep its limits, so they have no price yet")
    return prices_of(project_of_run(folder, None), record, seconds, _untold)


class Sought(NamedTuple):
    """Which fingerings are looked for; see `optimizer.analysis.fingerings`."""

    notes: tuple[str, ...]
    off_cents: float
    within_cents: float
    most: int


def fingerings(folder: Path, layout: Path, sought: Sought) -> FingeringsRecord:
    """All ways to finger notes on a layout that hands can hold.

    Raises
    ------
    RefusedError
        404 when the layout went, 422 for a note beyond the chart, and when the run's project cannot be read any more
    """
    from optimizer.analysis.fingerings import Finder, fingerings_of, wanted_notes

    record, loaded = layout_read(layout), project_of_run(folder, None)
    try:
        wanted = wanted_notes(loaded, record, sought.notes, sought.off_cents)
        return fingerings_of(Finder(loaded, record), wanted, sought.within_cents, sought.most)
    except Fault as fault:
        raise RefusedError(422, str(fault)) from None


def with_added(folder: Path, lines: list[str]) -> str:
    """The text of a run's project with more lines in its chart.

    Raises
    ------
    RefusedError
        422 where the project cannot be read with them, or its text not be changed
    """
    from optimizer.analysis.fingerings import with_lines

    try:
        return with_lines(project_of_run(folder, None), lines)
    except ProjectError as error:
        raise RefusedError(422, "the chart cannot take these lines", told(error.findings)) from None
    except Fault as fault:
        raise RefusedError(422, str(fault)) from None


def ways_out(projects: Path, folder: Path, hand: str | None, hand_text: str | None, seconds: float) -> ReliefsRecord:
    """Ways out of the limits of a hand that bind, no solve begun after a time [s]; where ways out of this very project
    and hand are kept beside the run, those. What is worked out is kept there, but for a hand that came as a text.

    Raises
    ------
    RefusedError
        404 when the run cannot be read, 422 for a hand that cannot be used or a project that cannot be read any more
    """
    from optimizer.analysis.reliefs import relieved
    from optimizer.solving.processes import Processes

    loaded = project_of_run(folder, hand_of(projects, hand, hand_text))
    file = reliefs_file(folder, None if hand is None else Path(hand))
    kept = kept_reliefs(file, loaded.project, seconds, bytes_of)
    if kept is not None:
        return kept
    found = relieved(loaded, _best_numbers(folder, loaded), Processes(None), seconds, _untold)
    if hand_text is None and (folder / "run.json").is_file():  # not where the run was deleted meanwhile
        _keep(file, found)
    return found


def _untold(_done: int, _of: int) -> None:
    """Nobody is told how far it is."""


def project_of_run(folder: Path, hand: Included[Hand] | None) -> LoadedProject:
    """The project that a run keeps, under another hand where one is given.

    Raises
    ------
    RefusedError
        422 where it cannot be read any more, or not with that hand
    """
    run = record_of(folder / "run.json", RunRecord)
    try:
        text = run.project_text if hand is None else taken_in(run.project_text, hand)
        return parse_project(text, run.project_file, rule_out=False)
    except (ProjectError, IncludedError) as error:
        raise RefusedError(422, "the run's project cannot be used so", told(error.findings)) from None


def _best_numbers(folder: Path, loaded: LoadedProject) -> Mapping[str, Any] | None:
    """The numbers of a run's layout nearest in tune, to start from; None before there is one."""
    try:
        front = record_of(folder / "pareto.json", FrontRecord)
        if not front.layouts:
            return None
        return saved_numbers(record_of(folder / front.best_tuned.file, LayoutRecord), loaded.project)
    except RecordError:
        return None


def _keep(file: Path, found: ReliefsRecord) -> None:
    """Keep ways out for the next time; where they cannot be, they are answered all the same."""
    with suppress(OSError):
        write_record(file, found)
