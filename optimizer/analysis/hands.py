"""One project under one hand after another: what each can have, and what a small one costs.

For each hand the project is solved for tuning with every finger hole under a plate, with every one bare, and with as
few plates as leave a layout that meets everything; then from more starts while time lasts. What a hand cannot span or
seal bare takes a plate that way, and the table says what it costs.
"""

import itertools
import os
import re
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from optimizer import cautions
from optimizer.geometry.choices import Choices, open_covers
from optimizer.limits.conflicts import conflict_lines
from optimizer.project.loading import LoadedProject, ProjectError, parse_project
from optimizer.project.model import Project
from optimizer.records.fits import HandEntry, HandsRecord, summary_of
from optimizer.records.layout import LayoutRecord
from optimizer.solving.fitting import JUDGING_SECONDS, Fitting, Solved
from optimizer.solving.processes import processes
from optimizer.solving.time_left import TimeLeft

Told = Callable[[int, int], None]

STARTS = 4
"""So many starts for a way of choosing, where none before the last keeps all limits."""

LOOK_SHARE = 0.25
"""Share of a hand's time that a look for limits that conflict may take."""

MOST_SOLVES = 60


@dataclass(frozen=True)
class Task:
    """One hand: the project that has taken it in, the file it came from, and when to be done (time.monotonic) [s]."""

    loaded: LoadedProject
    file: str
    deadline: float


@dataclass(frozen=True)
class Fitted:
    """What a hand came to, with the records of its best fit and of that with the fewest plates."""

    entry: HandEntry
    records: tuple[LayoutRecord, ...] = ()


@dataclass(frozen=True)
class FoundHands:
    """What hands came to: the record, and the layouts by the names of their files beside it."""

    record: HandsRecord
    files: dict[str, LayoutRecord]


def each_hand(
    loaded: Mapping[Path, LoadedProject], *, as_written: bool, seconds: float, workers: int | None, told: Told
) -> FoundHands:
    """Fit one project to several hands, and hold them against each other.

    Parameters
    ----------
    loaded : the project under each hand, by the hand's file
    as_written : leave plates and bare holes as the project has them
    seconds : how long it may take, all in all [s]
    workers : processes; None for one a core
    told : called with how many hands are done, and of how many

    Raises
    ------
    WorkLostError
        when a process dies with its work
    """
    begun = time.monotonic()
    entries = {path: _ruled_out(one, path, said) for path, one in loaded.items() if (said := _proved(one))}
    files: dict[str, LayoutRecord] = {}
    left = [path for path in loaded if path not in entries]
    workers = min(workers or os.cpu_count() or 1, max(len(left), 1))
    told(len(entries), len(loaded))
    with processes(workers, len(left)) as pool:
        ends = deadlines(begun, seconds, len(left), workers)
        tasks = [
            Task(loaded[path] if as_written else _opened(loaded[path]), path.name, end)
            for path, end in zip(left, ends, strict=True)
        ]
        for number, found in pool.each(fitted, tasks):
            named = dict(zip(("best", "fewest_plates"), found.records, strict=True))
            names = {fit: _file_of(left[number], fit) for fit in named}
            files |= {names[fit]: record for fit, record in named.items()}
            entries[left[number]] = found.entry.model_copy(
                update={fit: getattr(found.entry, fit).model_copy(update={"file": names[fit]}) for fit in named}
            )
            told(len(entries), len(loaded))
    first = next(iter(loaded.values()))
    record = HandsRecord(
        instrument=first.project.instrument.name,
        project_file=first.source,
        covers_open=not as_written,
        seconds=round(time.monotonic() - begun, 1),
        hands=compared([entries[path] for path in loaded]),
        cautions=list(cautions.of_hands(all(each.project.hand.adult for each in loaded.values()))),
    )
    return FoundHands(record, files)


def deadlines(begun: float, seconds: float, tasks: int, workers: int) -> list[float]:
    """When each of some tasks is to be done [s], as many at once as there are workers.

    They take turns of equal length, of which the last ends with the time that there is.
    """
    turns = -(-tasks // workers)
    return [begun + seconds * (number // workers + 1) / turns for number in range(tasks)]


def _proved(loaded: LoadedProject) -> list[str]:
    """Why a project is proved to have no layout; nothing where it is not."""
    try:
        parse_project(loaded.text, loaded.source)
    except ProjectError as error:
        return error.problems
    return []


def _ruled_out(loaded: LoadedProject, path: Path, problems: list[str]) -> HandEntry:
    return HandEntry(
        hand=loaded.project.hand.name,
        gauged_on=loaded.project.hand.gauged_on,
        file=path.name,
        proved_impossible=True,
        problems=problems,
        best=None,
        fewest_plates=None,
        solves=0,
    )


def _file_of(hand: Path, fit: str) -> str:
    """Name of the file of a fit."""
    return f"{re.sub('[^A-Za-z0-9_-]', '-', hand.stem)}-{fit.replace('_', '-')}.json"


def _opened(loaded: LoadedProject) -> LoadedProject:
    return replace(loaded, project=covers_opened(loaded.project))


def covers_opened(project: Project) -> Project:
    """The project with every finger hole free to take a plate or go bare, those already made aside."""
    holes = [
        hole.model_copy(update={"cover": "either"}) if hole.by != "key" and not hole.locked else hole
        for hole in project.holes
    ]
    return project.model_copy(update={"holes": holes})


def fitted(task: Task) -> Fitted:
    """Fit one hand."""
    left = TimeLeft(task.deadline - JUDGING_SECONDS)
    entry = HandEntry(
        hand=task.loaded.project.hand.name,
        gauged_on=task.loaded.project.hand.gauged_on,
        file=task.file,
        proved_impossible=False,
        problems=conflict_lines(task.loaded, LOOK_SHARE * (task.deadline - time.monotonic())),
        best=None,
        fewest_plates=None,
        solves=0,
    )
    fitting = Fitting(task.loaded)
    solves = list(_solves(fitting, task.loaded.project, left))
    best = fitting.judged([solved for solved, _ in solves], "best")
    fewest = _fewest(fitting, solves)
    found: dict[str, Any] = {"best": summary_of(best), "fewest_plates": summary_of(fewest), "solves": len(solves)}
    if best.feasible:
        found["problems"] = []  # the look found no room, a solve did
    return Fitted(entry.model_copy(update=found), (best, fewest))


def _fewest(fitting: Fitting, solves: Sequence[tuple[Solved, int]]) -> LayoutRecord:
    """The record with the fewest plates that meets everything; the one with fewest violations where none does."""
    kept = [pair for pair in solves if pair[0].outcome.violation_mm <= 0.0]
    kept = kept or [min(solves, key=lambda pair: pair[0].outcome.violation_mm)]
    record: LayoutRecord | None = None
    for count in sorted({count for _, count in kept}):
        found = fitting.judged([solved for solved, mine in kept if mine == count], "fewest-plates")
        if found.feasible:
            return found
        record = found
    assert record is not None
    return record


def _solves(fitting: Fitting, project: Project, left: TimeLeft) -> Iterator[tuple[Solved, int]]:
    """Solves, each with its number of plates, while there is time: all plates, none, fewer and fewer, then more starts
    of both ends."""
    covers, numbers = tuple(open_covers(project)), itertools.count()

    def tried(way: Choices) -> Iterator[tuple[Solved, int]]:
        """From new starts until one keeps all limits."""
        for _ in range(STARTS):
            solved = fitting.solve(next(numbers), way)
            left.done()
            yield solved, len(way.plates)
            if solved.outcome.violation_mm <= 0.0 or not left.for_more():
                return

    every, fewest = _with(fitting, covers), _with(fitting, covers)
    yield from tried(every)
    for gone in [covers, *((hole,) for hole in covers)] if covers else []:
        way = _with(fitting, tuple(plate for plate in fewest.plates if plate not in gone))
        if way == fewest or not left.for_more():
            continue
        for solved, count in tried(way):
            yield solved, count
            fewest = way if solved.outcome.violation_mm <= 0.0 else fewest
    for number in numbers:
        if number >= MOST_SOLVES or not left.for_more():
            return
        way = (every, fewest)[number % 2]
        solved = fitting.solve(number, way)
        left.done()
        yield solved, len(way.plates)


def _with(fitting: Fitting, plates: tuple[str, ...]) -> Choices:
    return fitting.plain._replace(plates=plates)


def compared(entries: Sequence[HandEntry]) -> list[HandEntry]:
    """The entries with how much further out of tune each is than the best of those that fit."""
    cents = [entry.best.objectives["tuning"] for entry in entries if entry.best is not None and entry.feasible]
    return [
        entry.model_copy(update={"dearer_cents": round(entry.best.objectives["tuning"] - min(cents), 3)})
        if entry.best is not None and entry.feasible
        else entry
        for entry in entries
    ]
