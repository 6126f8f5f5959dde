"""What `prices` does, once parsed."""

import argparse
import time
from collections.abc import Iterator

import numpy as np

from optimizer.analysis.multipliers import (
    BROKEN_MM,
    LEAST_CENTS,
    STEPS,
    TOLERANCE,
    TUNING,
    Price,
    Rest,
    priced,
    settled,
)
from optimizer.commands.progress import FitProgress, option_problems, project_of_run
from optimizer.commands.search import Complain, Files, show_and_write
from optimizer.geometry.choices import Choices, open_covers, optional_notes
from optimizer.project.loading import LoadedProject, ProjectError, count_line
from optimizer.records.chosen import chosen_layout, run_of
from optimizer.records.layout import LayoutRecord, RecordError, write_record
from optimizer.records.prices import LimitPrice, MostMoved, PlateOff, PricesRecord, TriedStep
from optimizer.records.saved import saved_numbers
from optimizer.solving.fitting import Fitting
from optimizer.solving.problem import Problem
from optimizer.solving.refine import refine
from optimizer.views.price_tables import show_prices
from optimizer.views.price_words import remark, worded


def run_prices(options: argparse.Namespace, complain: Complain) -> int:
    """`prices`: what each limit of a layout costs; exit code 0, or 2 for something to mend."""
    problems = option_problems(options)
    if problems:
        return complain("options to mend", problems)
    try:
        record = chosen_layout(options.path, options.layout)
        loaded = project_of_run(run_of(options.path), None)
    except ProjectError as error:
        return complain(count_line(error.problems, options.path), error.problems)
    except (RecordError, OSError) as error:
        return complain("cannot price this", [str(error)])
    if not record.feasible:
        return complain(
            "cannot price this", [f"layout {record.id} does not keep its limits, so they have no price yet"]
        )
    found = _priced(loaded, record, 60.0 * options.minutes)
    files: Files = ((options.json, lambda path: write_record(path, found)),)
    return show_and_write(lambda screen: show_prices(screen, found), files, complain)


def choices_of(loaded: LoadedProject, record: LayoutRecord) -> Choices:
    """The choices that a layout was made with."""
    plates = {hole.id for hole in record.holes if hole.cover == "plate"}
    played = {(note.written, note.register_number, note.touches) for note in record.notes}
    lines = [
        next((n for n in found if _key(loaded, n) in played), found[0])
        for found in optional_notes(loaded.notes).values()
    ]
    open_ones = tuple(hole for hole in open_covers(loaded.project) if hole in plates)
    return Choices(open_ones, tuple(lines), (0.5,) * max(len(record.pieces) - 1, 0))


def _key(loaded: LoadedProject, line: int) -> tuple[str, int, str]:
    note = loaded.notes[line]
    return note.written, note.register, note.touches


def _priced(loaded: LoadedProject, record: LayoutRecord, seconds: float) -> PricesRecord:
    """Settle the layout for tuning, then price limits until the time is up; the dearest come first."""
    told, begun = FitProgress("limits", seconds), time.monotonic()
    told(0, 1)
    fitting, choices, numbers = Fitting(loaded), choices_of(loaded, record), saved_numbers(record, loaded.project)
    start = fitting.starts.beside(numbers, 0.0, 0)
    problem, x = fitting.problem.chosen(choices, start, record_joints(record))
    names = tuple(item.name for item in problem.constraints.items)
    rest = settled(problem, x, names)
    prices: list[Price] = []
    for price in priced(problem, rest, names):
        prices.append(price)
        told(len(prices), len(rest.prices))
        if time.monotonic() - begun > seconds:
            break
    prices += [Price(limit, rest.prices[limit]) for limit in list(rest.prices)[len(prices) :]]
    return PricesRecord(
        instrument=record.instrument,
        layout=record.id,
        project_file=loaded.source,
        saved_cents=record.objectives["tuning"],
        cents=rest.cents,
        kept=rest.kept,
        least_cents=LEAST_CENTS,
        prices=[recorded(price, rest, problem) for price in prices],
        free=_free(problem, rest),
        plates_off=list(_plates_off(problem, rest, choices, record)),
        seconds=round(time.monotonic() - begun, 1),
    )


def recorded(price: Price, rest: Rest, problem: Problem) -> LimitPrice:
    """A price as it is written down."""
    limit = price.limit
    return LimitPrice(
        limit=limit.name,
        side=limit.side,
        sentence=worded(limit),
        unit=limit.unit.name,
        step_unit=limit.unit.own,
        by_multiplier=price.by_multiplier,
        by_solving=price.by_solving,
        ratio=price.ratio,
        tried=[
            TriedStep(
                step=one.step,
                dearer_cents=one.dearer_cents if one.kept else None,
                came_in=list(one.came_in),
                still_binds=one.still_binds,
            )
            for one in price.tried
        ],
        most_moved=_most_moved(price, rest, problem),
        remark=remark(price),
    )


def _most_moved(price: Price, rest: Rest, problem: Problem) -> MostMoved | None:
    """The note whose error grows or shrinks most by the longest step that found room."""
    kept = [one for one in price.tried if one.kept]
    if not kept:
        return None
    change = np.abs(kept[-1].errors) - np.abs(rest.errors)
    line = int(np.argmax(np.abs(change)))
    note = problem.notes[line]
    return MostMoved(written=note.written, register_number=note.register, grows_cents=float(change[line]))


def record_joints(record: LayoutRecord) -> list[float]:
    """Middles of a layout's joints [mm]."""
    return [piece.to_mm for piece in record.pieces[:-1]]


def _free(problem: Problem, rest: Rest) -> list[str]:
    """Limits that bind where the layout rests and yet cost nothing."""
    margins = -np.asarray(problem.evaluate(rest.x)[0].constraint)
    priced_ones = {limit.name for limit in rest.prices}
    items = zip(problem.constraints.items, margins, strict=True)
    return [item.name for item, margin in items if margin <= 0.03 and item.name not in priced_ones]


def _plates_off(problem: Problem, rest: Rest, choices: Choices, record: LayoutRecord) -> Iterator[PlateOff]:
    """The layout solved again with one plate less, for each hole that may go bare."""
    for hole in choices.plates:
        fewer = choices._replace(plates=tuple(name for name in choices.plates if name != hole))
        other, x = problem.chosen(fewer, rest.x, record_joints(record))
        outcome = refine(other, x, TUNING, STEPS, TOLERANCE)
        errors = np.asarray(other.evaluate(outcome.x)[0].errors)
        cents = float(np.sqrt(other.weight @ errors**2 / np.sum(other.weight)))
        dearer = cents - rest.cents if outcome.violation_mm <= BROKEN_MM else None
        yield PlateOff(hole=hole, dearer_cents=dearer)
