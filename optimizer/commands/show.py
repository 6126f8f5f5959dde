"""`show`, `predict` and `resonances`: what a run or a layout holds, and what it sounds."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from optimizer.commands.options import RESULTS, AnyLayout, Hand, Json, Layout, Learned, Runs, flag, measure, text
from optimizer.project.allowed_ranges import A4_HZ, AIR_DEGC
from optimizer.project.faults import Fault
from optimizer.words import typed

if TYPE_CHECKING:
    from optimizer.records.run import FrontRecord, RunRecord


def show(
    path: AnyLayout,
    layout: Annotated[str | None, text("--layout", "ID", "show one layout of the run, by its id")] = None,
    hand: Hand = None,
    all: Annotated[bool, flag("--all", "show every layout of a run's front, not the recommended ones alone")] = False,
    results: Runs = RESULTS,
) -> int:
    """Show what a run recommends, or one layout in full."""
    from optimizer.records.named_layouts import front_of

    if path.is_dir() and layout is None and not front_of(path).made:
        return show_run(path, all)
    from optimizer.analysis.hand_fit import fit
    from optimizer.analysis.written_layout import layout_meant
    from optimizer.commands.console import console
    from optimizer.project.hand import Hand
    from optimizer.project.included import read_included
    from optimizer.views.layout_screen import show_fit, show_layout

    record = layout_meant(path, results, layout)
    other = None if hand is None else fit(record, read_included(hand, Hand, "hand").model)
    screen = console()
    show_layout(screen, record)
    if other is not None:
        show_fit(screen, other)
    return 0


def predict(
    path: AnyLayout,
    layout: Layout = None,
    reed_degc: Annotated[float | None, measure("--reed-degc", float, AIR_DEGC, "air at the reed end, degC")] = None,
    bell_degc: Annotated[float | None, measure("--bell-degc", float, AIR_DEGC, "air at the bell end, degC")] = None,
    a4: Annotated[float | None, measure("--a4", float, A4_HZ, "reference pitch, Hz")] = None,
    hand: Hand = None,
    learned: Learned = None,
    json: Json = None,
    results: Runs = RESULTS,
) -> int:
    """A layout's notes at another temperature or pitch."""
    from optimizer.analysis.hand_fit import HandFit
    from optimizer.analysis.prediction import predicted
    from optimizer.analysis.written_layout import layout_meant
    from optimizer.commands.console import console, write_if_asked
    from optimizer.commands.taught import taught
    from optimizer.project.hand import Hand
    from optimizer.project.included import read_included
    from optimizer.records.files import write_record
    from optimizer.views.layout_screen import show_fit, show_notes
    from optimizer.views.terminal import show_lines

    record, said = taught(layout_meant(path, results, layout, feasible=True), learned)
    player = None if hand is None else read_included(hand, Hand, "hand").model
    found = predicted(record, reed_degC=reed_degc, bell_degC=bell_degc, a4_hz=a4, hand=player)
    screen, designed = console(), record.reference
    screen.print(
        f"{found.instrument}, layout {found.layout}: A4 = {found.a4_hz:g} Hz, "
        f"{found.air.reed_degC:g} degC at the reed, {found.air.bell_degC:g} at the bell "
        f"(designed for {designed.a4_hz:g} Hz, {designed.air.reed_degC:g} and {designed.air.bell_degC:g} degC)"
    )
    if found.mean_cents is not None:
        screen.print(
            f"on average {found.mean_cents:+.1f} cents, from {found.least_cents:+.1f} to {found.most_cents:+.1f}"
        )
    show_notes(screen, found.notes, found.doubt)
    show_lines(screen, said, whole=True)
    if found.hand is not None:
        show_fit(screen, HandFit(**dict(found.hand), adult=player is not None and player.adult))
    write_if_asked(json, lambda place: write_record(place, found))
    return 0


def resonances(
    path: AnyLayout,
    layout: Layout = None,
    note: Annotated[str | None, text("--note", "NOTE", "one written note (default: all)")] = None,
    results: Runs = RESULTS,
) -> int:
    """Every resonance of a layout's fingerings up to 4 kHz.

    Raises
    ------
    Fault
        when the layout has no such note
    """
    from optimizer.analysis.written_layout import layout_meant
    from optimizer.commands.console import console
    from optimizer.solving.real_resonances import all_resonances
    from optimizer.views.layout_screen import show_resonances

    record = layout_meant(path, results, layout, feasible=True)
    notes = [each for each in record.notes if note in (None, each.written)]
    if not notes:
        written = ", ".join(dict.fromkeys(each.written for each in record.notes))
        raise Fault(f"the layout has no note {note!r}; it has {written}")
    show_resonances(console(), notes, all_resonances(record, notes))
    return 0


def run_records(folder: Path) -> "tuple[FrontRecord, RunRecord]":
    """A run's front and what it was started with."""
    from optimizer.records.files import read_record
    from optimizer.records.run import FrontRecord, RunRecord

    return read_record(folder / "pareto.json", FrontRecord), read_record(folder / "run.json", RunRecord)


def show_run(folder: Path, whole: bool = False, said: Sequence[str] = ()) -> int:
    """Show what a run recommends.

    Parameters
    ----------
    folder : of the run
    whole : whether all of its front is shown, too
    said : lines to stand where it is told what lies where

    Returns
    -------
    the exit code: 1 where no layout is feasible
    """
    from optimizer.analysis.recommendation import recommendation_of
    from optimizer.commands.console import console
    from optimizer.records.files import Folder, read_record
    from optimizer.records.run import ProgressRecord
    from optimizer.views.front_tables import show_front

    front, run = run_records(folder)
    found = recommendation_of(front, Folder(folder))
    progress = folder / "progress.json"
    screen = console()
    show_front(
        screen, front, run, found, read_record(progress, ProgressRecord) if progress.exists() else None, whole
    )  # fmt: skip
    if front.layouts:
        first = found.picks[0] if found.picks else front.layouts[0]
        screen.print(f"\nlook at one:      holewright show {typed(folder / first.file)}", soft_wrap=True)
    if len(front.layouts) > len(found.picks) and not whole:
        screen.print(f"the whole front:  holewright show {typed(folder)} --all", soft_wrap=True)
    for line in said:
        screen.print(line, soft_wrap=True)
    screen.print(f"everything:       {folder}", soft_wrap=True)
    screen.print("Cautions", style="bold")
    for caution in run.cautions:
        screen.print(f"  {caution}")
    return 0 if front.feasible else 1
