"""What is done in the workshop: plain functions of plain values, for a process that may be ended."""

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from optimizer.analysis import prediction
from optimizer.analysis.bore_tolerance import bore_told
from optimizer.analysis.comparison import Candidate, ComparisonError, compared
from optimizer.analysis.recommendation import recommendation_of
from optimizer.analysis.sound import heard, sound_of
from optimizer.cautions import of_all
from optimizer.project.faults import Fault
from optimizer.project.loading import LoadedProject, likely_mistakes
from optimizer.records.files import Folder, RecordError
from optimizer.records.layout import LayoutRecord
from optimizer.records.prediction import PredictionRecord
from optimizer.records.run import FrontRecord, RunRecord
from optimizer.records.sound import SoundRecord
from optimizer.service.offered import hand_of, project_of
from optimizer.service.opening import bytes_of, record_of
from optimizer.service.refusals import Finding, RefusedError
from optimizer.service.refusals import told as as_told
from optimizer.views.comparison_page import compare_page
from optimizer.views.drawings.front import Dot, front_panels
from optimizer.views.layout_section import layout_section
from optimizer.views.objectives import ordered
from optimizer.views.report import fingering_table, report_page, shown_in_full


class Submitted(NamedTuple):
    """A project as it came: its text, and a hand by name or text."""

    text: str
    hand: str | None = None
    hand_text: str | None = None


def checked(projects: Path, submitted: Submitted, room: bool) -> LoadedProject:
    """A submitted project; room: also look for limits that conflict.

    Raises
    ------
    RefusedError
        422 with every problem found
    """
    loaded = project_of(projects, submitted.text, hand_of(projects, submitted.hand, submitted.hand_text))
    if room:
        from optimizer.limits.conflicts import conflict_lines

        conflicts = conflict_lines(loaded)
        if conflicts:
            said = [Finding(path="", message=line) for line in conflicts]
            raise RefusedError(422, "limits of the project conflict", said)
    return loaded


def questioned(projects: Path, submitted: Submitted, room: bool) -> tuple[LoadedProject, list[Finding]]:
    """A submitted project, as `checked`, and its likely mistakes."""
    loaded = checked(projects, submitted, room)
    return loaded, as_told(likely_mistakes(loaded))


def told(projects: Path, submitted: Submitted, room: bool) -> tuple[str, str, list[Finding], tuple[str, ...]]:
    """Instrument and summary of a submitted project, as `checked`, its likely mistakes, and cautions."""
    from optimizer.views.project_overview import overview

    loaded, questions = questioned(projects, submitted, room)
    return loaded.project.instrument.name, overview(loaded), questions, of_all(loaded.project.hand.adult)


class Asked(NamedTuple):
    """What a prediction is asked for; None: as the layout was designed."""

    reed_degC: float | None
    bell_degC: float | None
    a4_hz: float | None
    hand: str | None
    hand_text: str | None


def predicted(projects: Path, layout: Path, asked: Asked) -> PredictionRecord:
    """The prediction for a layout file.

    Raises
    ------
    RefusedError
        404 when the layout went, 422 for a hand that cannot be used or a layout without a playable geometry
    """
    record, hand = layout_read(layout), hand_of(projects, asked.hand, asked.hand_text)
    try:
        return prediction.predicted(
            record, reed_degC=asked.reed_degC, bell_degC=asked.bell_degC, a4_hz=asked.a4_hz,
            hand=None if hand is None else hand.model,
        )  # fmt: skip
    except Fault as fault:
        raise RefusedError(422, str(fault)) from None


def sound(layout: Path) -> SoundRecord:
    """What a layout's notes sound like.

    Raises
    ------
    RefusedError
        404 when the layout went, 422 for one without a playable geometry
    """
    try:
        return sound_of(layout_read(layout))
    except Fault as fault:
        raise RefusedError(422, str(fault)) from None


class Named(NamedTuple):
    """A layout to compare: what it is called, its file, and its run's folder where its front counts too."""

    name: str
    layout: Path
    run: Path | None


def comparison(named: Sequence[Named]) -> tuple[str, str]:
    """The comparison as JSON and as a page.

    Raises
    ------
    RefusedError
        404 when a layout went, 422 when they cannot be compared
    """
    candidates = []
    for each in named:
        front = None if each.run is None else record_of(each.run / "pareto.json", FrontRecord)
        run = None if each.run is None else each.run.name
        candidates.append(Candidate(layout_read(each.layout), each.name, run, front))
    try:
        record = compared(candidates)
    except ComparisonError as error:
        raise RefusedError(422, str(error)) from None
    return record.model_dump_json(), compare_page(record, candidates)


def report(folder: Path) -> str:
    """The report of a run, as a page.

    Raises
    ------
    RefusedError
        404 when it has no layout yet, or is just writing one
    """
    read = Folder(folder, bytes_of)
    with _whole():
        front, run = read("pareto.json", FrontRecord), read("run.json", RunRecord)
        found = recommendation_of(front, read)
        layouts = [read(name, LayoutRecord) for name in shown_in_full(front, found)]
    return report_page(run, front, found, layouts, list(map(heard, layouts)), list(map(bore_told, layouts)))


def recommendation(folder: Path) -> str:
    """What a run recommends of its front as it is, as JSON; refuses as `report` does."""
    read = Folder(folder, bytes_of)
    with _whole():
        return recommendation_of(read("pareto.json", FrontRecord), read).model_dump_json()


@contextmanager
def _whole() -> Iterator[None]:
    """Refuse where a file of a run is not there yet, or not whole."""
    try:
        yield
    except RecordError:
        raise RefusedError(404, "the run has no layout yet, or is just writing one; try again in a moment") from None


def sheet(layout: Path) -> str:
    """A layout drawn and tabled, as a part of a page."""
    record = layout_read(layout)
    return layout_section(record, sound=heard(record), bore=bore_told(record)) + fingering_table(
        record, f"Fingering chart of layout {record.id}"
    )


def front_figure(folder: Path) -> str:
    """The front as drawings to pick from, as a part of a page; nothing before there is one."""
    try:
        front = record_of(folder / "pareto.json", FrontRecord)
    except RecordError:
        return ""
    dots = [Dot("A", f"layout {each.id}", each.objectives, each.id) for each in front.layouts]
    return "".join(panel.to_html() for panel in front_panels(dots, ordered(front.objectives)))


def layout_read(path: Path) -> LayoutRecord:
    """A layout, read.

    Raises
    ------
    RefusedError
        404 when it went, or is damaged
    """
    try:
        return record_of(path, LayoutRecord)
    except RecordError as error:
        gone = not os.path.lexists(path)
        said = "that layout is gone; the front has moved on" if gone else str(error).replace(f"{path.parent}/", "")
        raise RefusedError(404, said) from None
