"""Commands that show what a run or a layout holds."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.analysis.hand_fit import fit
from optimizer.commands.console import Complain, console
from optimizer.project.hand import Hand
from optimizer.project.included import IncludedError, read_included
from optimizer.project.model import AirState
from optimizer.records.files import RecordError, read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.run import FrontRecord, ProgressRecord, RunRecord
from optimizer.views.front_tables import show_front
from optimizer.views.layout_screen import show_fit, show_layout, show_notes, show_resonances

if TYPE_CHECKING:
    pass


def read_run(folder: Path) -> tuple[FrontRecord, RunRecord, Path]:
    return read_record(folder / "pareto.json", FrontRecord), read_record(folder / "run.json", RunRecord), folder


def run_show(path: Path, complain: Complain, hand: Path | None = None) -> int:
    """`show`: a run folder's front, or one layout in full; hand: a hand file to lay one layout under."""
    screen = console()
    try:
        if not path.is_dir():
            record = read_record(path, LayoutRecord)
            other = None if hand is None else fit(record, read_included(hand, Hand, "hand").model)
            show_layout(screen, record)
            if other is not None:
                show_fit(screen, other)
            return 0
        front, run, folder = read_run(path)
        shown = folder / "progress.json"
        progress = read_record(shown, ProgressRecord) if shown.exists() else None
        show_front(screen, front, run, str(folder), progress)
    except IncludedError as error:
        return complain("hand file to mend", error.problems)
    except RecordError as error:
        return complain("cannot show this", [str(error)])
    if front.layouts:
        screen.print(f"\nlook at one:  holewright show {folder / front.layouts[0].file}")
    screen.print(f"everything:   {folder}")
    screen.print("Cautions", style="bold")
    for caution in run.cautions:
        screen.print(f"  {caution}")
    return 0 if front.feasible else 1


def run_predict(options: argparse.Namespace, complain: Complain) -> int:
    """`predict`: note table of a layout in other air or against another pitch."""
    from optimizer.solving.verify import predict

    try:
        record = read_record(options.layout, LayoutRecord)
        air = _other_air(record.reference.air, options)
        other = None if options.hand is None else fit(record, read_included(options.hand, Hand, "hand").model)
    except IncludedError as error:
        return complain("hand file to mend", error.problems)
    except (RecordError, ValueError) as error:
        return complain("cannot predict", [str(error)])
    a4 = record.reference.a4_hz if options.a4 is None else options.a4
    if not 380.0 <= a4 <= 480.0:
        return complain("cannot predict", [f"--a4 must lie between 380 and 480 Hz, but got {a4:g}"])
    try:
        notes = predict(record, air, a4 / record.reference.a4_hz)
    except ValueError as error:
        return complain("cannot predict", [f"{options.layout} holds no playable geometry: {error}"])
    screen = console()
    screen.print(
        f"{record.instrument}, layout {record.id}: A4 = {a4:g} Hz, {air.reed_degC:g} degC at the reed, "
        f"{air.bell_degC:g} at the bell (designed for {record.reference.a4_hz:g} Hz, "
        f"{record.reference.air.reed_degC:g} and {record.reference.air.bell_degC:g} degC)"
    )
    errors = [note.cents for note in notes if note.cents is not None]
    if errors:
        mean = sum(errors) / len(errors)
        screen.print(f"on average {mean:+.1f} cents, from {min(errors):+.1f} to {max(errors):+.1f}")
    show_notes(screen, notes)
    if other is not None:
        show_fit(screen, other)
    return 0


def run_resonances(options: argparse.Namespace, complain: Complain) -> int:
    """`resonances`: all resonances to 4 kHz of one note's fingerings or of all."""
    from optimizer.solving.verify import all_resonances

    try:
        record = read_record(options.layout, LayoutRecord)
    except RecordError as error:
        return complain("cannot show resonances", [str(error)])
    notes = [note for note in record.notes if options.note in (None, note.written)]
    if not notes:
        written = ", ".join(dict.fromkeys(note.written for note in record.notes))
        return complain("cannot show resonances", [f"the layout has no note {options.note!r}; it has {written}"])
    show_resonances(console(), notes, all_resonances(record, notes))
    return 0


def _other_air(air: AirState, options: argparse.Namespace) -> AirState:
    changed = {"reed_degC": options.reed_degc, "bell_degC": options.bell_degc}
    for name, value in changed.items():
        if value is not None and not 0.0 <= value <= 40.0:
            raise ValueError(f"--{name.lower().replace('_', '-')} must lie between 0 and 40 degC, but got {value:g}")
    return air.model_copy(update={name: value for name, value in changed.items() if value is not None})
