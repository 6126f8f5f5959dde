"""An instrument carried on to lower notes, three ways: all new, its upper pieces kept, or kept with a few holes wider.

The present instrument is a finished layout. The extended project has the same holes and more of them at the bell; where
its upper pieces stay, their numbers go into its text as those of printed pieces do (`printed_pieces`).

The record of a way is judged by the project in which all but the chosen holes are locked. Sides of axles follow from
where ranges lie, so that locked holes would settle them otherwise: they are settled with the pieces kept and written
into the project of every way.
"""

import time
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from optimizer.analysis.note_changes import line_of
from optimizer.analysis.printed_pieces import Extended, with_locked
from optimizer.analysis.redrilling import Found, Redrilling, started
from optimizer.geometry.choices import Choices
from optimizer.project.loading import LoadedProject
from optimizer.project.objectives import SILENT_CENTS
from optimizer.records.extension import NoteChange, Redrilled, WayEntry
from optimizer.records.fits import summary_of
from optimizer.records.layout import LayoutRecord, saved_numbers
from optimizer.solving.fitting import Fitting, Solved, solved_until

FREE_MOST = 40


@dataclass(frozen=True)
class Task:
    """One extension to solve: everything new, or the upper pieces kept.

    Attributes
    ----------
    loaded : the extended project
    present : the layout to extend
    kept : pieces of the present layout that stay, from the reed; none for everything new
    holes : at most so many of their holes are opened up
    deadline : when to be done (time.monotonic) [s]
    beside : a layout of the extended project to start from too
    """

    loaded: LoadedProject
    present: LayoutRecord
    kept: tuple[int, ...]
    holes: int
    deadline: float
    beside: LayoutRecord | None = None


@dataclass(frozen=True)
class Way:
    """A way's layout and what was found of holes that might grow."""

    entry: WayEntry
    record: LayoutRecord


def extended_by(task: Task) -> list[Way]:
    """Solve a task: one way when everything is new, else the pieces kept, and kept with holes opened up."""
    return _kept(task) if task.kept else [_free(task)]


def _free(task: Task) -> Way:
    fitting = Fitting(task.loaded)
    if task.beside is not None:
        solves = [fitting.beside(saved_numbers(task.beside, task.loaded.project), _joined(fitting, task.beside))]
    else:
        first = [_from_present(fitting, task.present)]
        solves = solved_until(
            lambda number: fitting.settled(*started(fitting, number)), task.deadline, FREE_MOST, first
        )
    record = fitting.judged(solves, "free")
    return Way(_entry("free", "everything new", task, record, len(solves)), record)


def _joined(fitting: Fitting, record: LayoutRecord) -> Choices:
    """The plain choices, with as many joints as a layout has."""
    return fitting.plain._replace(joints=(0.5,) * max(len(record.pieces) - 1, 0))


def _from_present(fitting: Fitting, present: LayoutRecord) -> Solved:
    """A solve from the textbook's start with the present instrument's holes where they are."""
    problem, x = started(fitting, 0)
    layout = problem.layout(x)
    made = {hole.id: hole for hole in present.holes}
    fields: dict[str, Any] = {}
    for name in ("position_mm", "diameter_mm", "chimney_mm"):
        values = np.array(getattr(layout, name))
        for number, hole in enumerate(problem.project.holes):
            values[number] = getattr(made[hole.id], name) if hole.id in made else values[number]
        fields[name] = values
    start = problem.parametrisation.encode(layout._replace(**fields))
    return fitting.settled(*problem.chosen(fitting.plain, start))


def growing_holes(loaded: LoadedProject, present: LayoutRecord, kept: Sequence[int]) -> list[str]:
    """Ids of the holes on kept pieces that the project lets grow; those on the crook, and vents, stay."""
    most = {hole.id: hole.diameter_mm[1] for hole in loaded.project.holes if hole.role == "tone"}
    made = {hole.id: hole.diameter_mm for hole in present.holes if hole.position_mm >= present.bore.crook_end_mm}
    on = [name for number in kept for name in present.pieces[number - 1].holes]
    return [name for name in on if name in made and most.get(name, 0.0) > made[name]]


def _kept(task: Task) -> list[Way]:
    begun = time.monotonic()
    candidates = growing_holes(task.loaded, task.present, task.kept) if task.holes else []
    growing = with_locked(task.loaded, task.present, task.kept, Extended(tuple(candidates)))
    fitting = Fitting(growing)
    found = Redrilling(fitting, candidates, task.deadline).found(task.holes, begun)
    kept = "pieces " + ", ".join(map(str, task.kept)) + " as printed"
    ways = [_judged(task, fitting, found, found.kept, (), "kept", f"{kept}, the rest new")]
    if found.redrilled:
        low, x = fitting.problem.parametrisation.low, found.redrilled[0].outcome.x
        names = fitting.problem.parametrisation.names
        holes = tuple(hole for hole in candidates if x[n := names.index(f"diameter_mm.{hole}")] > low[n] + 1e-3)
        said = f"{kept} but for at most {task.holes} holes opened up, the rest new"
        solves = [one for one in found.redrilled if _same_holes(one, fitting, candidates, holes)]
        ways.append(_judged(task, fitting, found, solves, holes, "redrilled", said))
    return ways


def _same_holes(solved: Solved, fitting: Fitting, candidates: Sequence[str], holes: Sequence[str]) -> bool:
    """Whether nothing but the chosen holes grew."""
    coding = fitting.problem.parametrisation
    others = [coding.names.index(f"diameter_mm.{hole}") for hole in candidates if hole not in holes]
    return bool(np.all(solved.outcome.x[others] <= coding.low[others] + 1e-3))


def _judged(
    task: Task,
    fitting: Fitting,
    found: Found,
    solves: list[Solved],
    holes: tuple[str, ...],
    way: Literal["kept", "redrilled"],
    said: str,
) -> Way:
    """The best of some solves as a layout of the project with only some holes free to grow."""
    locked = with_locked(task.loaded, task.present, task.kept, Extended(holes))
    own = [one._replace(problem=one.problem.judged_as(locked)) for one in solves]
    record = fitting.judged(own, way)
    worth = {one.hole: one for one in found.worth}
    made = {hole.id: hole.diameter_mm for hole in task.present.holes}
    drilled = [
        Redrilled(
            hole=hole.id,
            from_mm=made[hole.id],
            to_mm=hole.diameter_mm,
            worth_cents=round(worth[hole.id].worth_cents, 4) if hole.id in worth else None,
        )
        for hole in record.holes
        if hole.id in holes and hole.diameter_mm > made[hole.id]
    ]
    passed = [
        Redrilled(hole=one.hole, from_mm=one.from_mm, to_mm=one.to_mm, worth_cents=round(one.worth_cents, 4))
        for one in found.worth
        if way == "redrilled" and one.hole not in {hole.hole for hole in drilled}
    ]
    entry = _entry(way, said, task, record, found.solves)
    return Way(entry.model_copy(update={"redrill": drilled, "passed_over": passed}), record)


def _entry(
    way: Literal["free", "kept", "redrilled"], said: str, task: Task, record: LayoutRecord, solves: int
) -> WayEntry:
    notes = changes(task.present, record)
    before, after = (common(notes, side) for side in ("before_cents", "after_cents"))
    new = [number + 1 for number, piece in enumerate(record.pieces) if not piece.locked]
    return WayEntry(
        way=way,
        sentence=said,
        fit=summary_of(record),
        common_rms_cents=round(after[0], 4),
        common_worst_cents=round(after[1], 4),
        cost_cents=round(after[0] - before[0], 4),
        notes=notes,
        pieces=len(record.pieces),
        print_pieces=new,
        redrill=[],
        passed_over=[],
        touches_moved=_touches_moved(task, record) if task.kept else [],
        reed_volume_cm3=record.reed.volume_cm3,
        solves=solves,
    )


def _touches_moved(task: Task, record: LayoutRecord) -> list[str]:
    """Holes on kept pieces whose plate has its touch elsewhere than before."""
    kept = {name for number in task.kept for name in task.present.pieces[number - 1].holes}
    before = {hole.id: hole.touch_position_mm for hole in task.present.holes}
    return [
        hole.id
        for hole in record.holes
        if hole.id in kept
        and hole.cover == "plate"
        and abs((hole.touch_position_mm or 0.0) - (before[hole.id] or 0.0)) > 0.05
    ]


def changes(present: LayoutRecord, extended: LayoutRecord) -> list[NoteChange]:
    """The notes of both, in the extended instrument's order: same written note, register and standing."""
    before = {line_of(note): note for note in reversed(present.notes)}
    return [
        NoteChange(
            written=note.written,
            register_number=note.register_number,
            alternate=note.alternate,
            weight=note.weight,
            before_cents=before[line_of(note)].cents,
            after_cents=note.cents,
        )
        for note in extended.notes
        if line_of(note) in before
    ]


def new_notes(present: LayoutRecord, extended: LayoutRecord) -> list[str]:
    """Written names of the notes, by name and register, that only the extended instrument has, each once."""
    before = {(note.written, note.register_number) for note in present.notes}
    return list(
        dict.fromkeys(note.written for note in extended.notes if (note.written, note.register_number) not in before)
    )


def common(notes: Sequence[NoteChange], side: str) -> tuple[float, float]:
    """RMS by weight, and worst error of main fingerings with weight [cents]."""
    cents = np.array([SILENT_CENTS if getattr(note, side) is None else getattr(note, side) for note in notes])
    weight = np.array([note.weight for note in notes])
    judged = cents[np.array([not note.alternate and note.weight > 0 for note in notes], bool)]
    if not np.sum(weight):
        return 0.0, 0.0
    return float(np.sqrt(weight @ cents**2 / np.sum(weight))), float(np.max(np.abs(judged), initial=0.0))
