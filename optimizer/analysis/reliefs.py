"""What each single way out of a binding reach costs: the project is solved anew with it, and compared.

The project as it is comes first, from several starts; then every relief (`relief_candidates`) from the layout so
found and from the same textbook starts. Costs are differences of tuning, computed and not guessed; as each is the
best of a few solves, differences below some tenths of a cent mean little.
"""

import os
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from optimizer import cautions
from optimizer.analysis.relief_candidates import Relief, reliefs_of
from optimizer.limits.catalogue import of_the_hand
from optimizer.project.loading import LoadedProject
from optimizer.project.marks import mark_of
from optimizer.project.source_mark import SOURCE_MARK
from optimizer.records.fits import ReliefEntry, ReliefsRecord, summary_of
from optimizer.records.layout import LayoutRecord, saved_numbers
from optimizer.solving.fitting import JUDGING_SECONDS, Fitting, solved_until
from optimizer.solving.processes import Processes, processes

FIRST_MOST = 8
STARTS = 3
"""Textbook starts of a relief, besides the layout found without it, where there is time for them."""

FIRST_SHARE = 0.25
"""Share of the time for the project as it is."""

Told = Callable[[int, int], None]


@dataclass(frozen=True)
class Task:
    """One project to solve: from the numbers of a layout, if any, and from textbook starts until a deadline."""

    loaded: LoadedProject
    numbers: Mapping[str, Any] | None
    most: int
    deadline: float
    offset_mm: Mapping[str, float]
    spare: bool = True


def solved(task: Task) -> LayoutRecord | None:
    """The best layout of a task; None when its deadline passed before it began and it can be spared."""
    if task.spare and time.monotonic() > task.deadline:
        return None
    fitting = Fitting(task.loaded, task.offset_mm)
    solves = [fitting.beside(task.numbers)] if task.numbers else []
    return fitting.judged(solved_until(fitting.solve, task.deadline, task.most, solves), "fit")


def looked_for(
    loaded: LoadedProject,
    numbers: Mapping[str, Any] | None,
    seconds: float,
    workers: int | None,
    told: Told,
    kinds: Sequence[str] = (),
) -> ReliefsRecord:
    """Ways out of a project's reach as `relieved` finds them, in processes of their own.

    Parameters
    ----------
    loaded : the project as it is
    numbers : those of a layout to start from; None to start anew
    seconds : how long it may take [s]
    workers : processes; None for one a core
    told : called with how many solves are done, and of how many
    kinds : of ways out to try; all where empty

    Raises
    ------
    WorkLostError
        when a process dies with its work
    """
    told(0, 1)
    with processes(workers, workers or os.cpu_count() or 1) as pool:
        return relieved(loaded, numbers, pool, seconds, told, kinds)


def relieved(
    loaded: LoadedProject,
    numbers: Mapping[str, Any] | None,
    pool: Processes,
    seconds: float,
    told: Told,
    kinds: Sequence[str] = (),
) -> ReliefsRecord:
    """A project's ways out of the limits of the hand that bind.

    Parameters
    ----------
    loaded : the project
    numbers : of a layout to start from too; see `saved.saved_numbers`
    pool : processes to solve in
    seconds : how long it may take [s]
    told : is given how many of how many solves are done; what there was no time for is not
    kinds : first words of the reliefs to try, such as `plate`; default all

    Raises
    ------
    WorkLostError
        when a process dies with its work
    """
    begun = time.monotonic()
    first = Task(loaded, numbers, FIRST_MOST, begun + FIRST_SHARE * seconds, {}, spare=False)
    ((_, base),) = pool.each(solved, [first])
    assert base is not None
    named = of_the_hand([found.name for found in base.binds])
    ways = [way for way in reliefs_of(named, loaded.project) if not kinds or way.name.split(".")[0] in kinds]
    told(1, 1 + len(ways))
    start = saved_numbers(base, loaded.project)
    deadline = begun + seconds - JUDGING_SECONDS
    tasks = [_task(loaded, way, start, deadline) for way in ways]
    found: dict[int, LayoutRecord | None] = {}
    for number, record in pool.each(solved, tasks):
        found[number] = record
        told(1 + sum(each is not None for each in found.values()), 1 + len(ways))
    entries = [_entry(way, found[number], base, named) for number, way in enumerate(ways)]
    return ReliefsRecord(
        instrument=loaded.project.instrument.name,
        project_file=loaded.source,
        hand=loaded.project.hand.name,
        made_for=mark_of(loaded.project, SOURCE_MARK),
        kinds=list(kinds),
        as_it_is=summary_of(base),
        hand_limits=named,
        reliefs=sorted(entries, key=_order),
        seconds=round(time.monotonic() - begun, 1),
        cautions=list(cautions.of_hands(loaded.project.hand.adult)),
    )


def _task(loaded: LoadedProject, way: Relief, numbers: Mapping[str, Any], deadline: float) -> Task:
    changed = replace(loaded, project=way.project)
    scale = numbers["bore_scale"]
    low, high = way.project.bore.diameter_scale
    return Task(changed, {**numbers, "bore_scale": min(max(scale, low), high)}, STARTS, deadline, way.offset_mm)


def _entry(way: Relief, record: LayoutRecord | None, base: LayoutRecord, named: list[str]) -> ReliefEntry:
    if record is None:
        return ReliefEntry(name=way.name, sentence=way.sentence, tried=False)
    binding = {found.name for found in record.binds}
    return ReliefEntry(
        name=way.name,
        sentence=way.sentence,
        tried=True,
        fit=summary_of(record),
        cost_cents=round(record.objectives["tuning"] - base.objectives["tuning"], 3),
        relieved=[name for name in named if name not in binding],
    )


def _order(entry: ReliefEntry) -> tuple[bool, bool, float, float]:
    """Tried before untried, what works before what does not, by cost; then by what is still broken."""
    cost = 0.0 if entry.cost_cents is None else entry.cost_cents
    broken = 0.0 if entry.fit is None else entry.fit.violation_mm
    return not entry.tried, not entry.feasible, 0.0 if entry.feasible else broken, cost
