"""An instrument carried on to lower notes, three ways."""

import os
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from optimizer import cautions
from optimizer.analysis.axle_sides import settled_sides
from optimizer.analysis.extension_ways import Task, Way, changes, common, extended_by, new_notes
from optimizer.analysis.note_changes import respelled
from optimizer.analysis.printed_pieces import Extended, KeptPiecesError, with_locked, with_sides
from optimizer.analysis.reliefs import Task as PlainTask
from optimizer.analysis.reliefs import solved
from optimizer.project.loading import LoadedProject, load_project
from optimizer.records.extension import ExtensionRecord
from optimizer.records.layout import LayoutRecord
from optimizer.records.named_layouts import chosen_layout
from optimizer.solving.fitting import JUDGING_SECONDS
from optimizer.solving.processes import Processes, processes

Told = Callable[[int, int], None]

FILES = {"free": "free.json", "kept": "kept.json", "redrilled": "redrilled.json"}


PRESENT_SHARE = 0.25
"""Share of the time for a present instrument that is given as a project and solved first."""


PRESENT_MOST = 30


@dataclass(frozen=True)
class Found:
    """An extension's record, the layout it began with, and each way's layout by the way's name."""

    record: ExtensionRecord
    present: LayoutRecord
    ways: Mapping[str, LayoutRecord]

    @property
    def files(self) -> dict[str, LayoutRecord]:
        """The layouts by the names of their files beside the record."""
        return {"present.json": self.present, **{FILES[way]: layout for way, layout in self.ways.items()}}


def extended(
    present_path: Path,
    loaded: LoadedProject,
    *,
    keep: int | None,
    redrill: int,
    seconds: float,
    workers: int | None,
    told: Told,
) -> Found:
    """Solve the three ways, a project given as the present instrument first.

    Parameters
    ----------
    present_path : a run folder, a layout file, or a project file, which is then solved first
    loaded : the project with lower notes
    keep : upper pieces that stay; None for all but the last
    redrill : most holes of the kept pieces that may be opened up
    seconds : how long it may take [s]
    workers : processes; None for one a core
    told : called with how many steps are done, and of how many

    Raises
    ------
    KeptPiecesError
        where the kept pieces do not fit the project with lower notes
    RecordError, ProjectError
        for a present instrument that cannot be read
    WorkLostError
        when a process dies with its work
    """
    begun = time.monotonic()
    project_given = present_path.suffix == ".toml"
    of = 3 + project_given
    with processes(workers, min(2, workers or os.cpu_count() or 1)) as pool:
        told(0, of)
        present = _present(present_path, pool, begun + PRESENT_SHARE * seconds)
        names = {note.midi: note.written for note in loaded.notes}
        present = present.model_copy(update={"notes": respelled(present.notes, names)})
        kept = _kept_pieces(present, keep)
        sides = settled_sides(with_locked(loaded, present, kept, Extended()).project)
        told(int(project_given), of)
        task = Task(with_sides(loaded, sides), present, (), redrill, begun + seconds - JUDGING_SECONDS)
        ways: list[Way] = []
        for _, found in pool.each(extended_by, [replace(task, kept=kept), task]):
            ways += found
            told(project_given + len({one.entry.way == "free" for one in ways}), of)
        ways = _settled(task, sorted(ways, key=lambda one: list(FILES).index(one.entry.way)), pool)
        told(of, of)
    record = _record(loaded, present, kept, [_filed(one) for one in ways], round(time.monotonic() - begun, 1))
    return Found(record, present, {one.entry.way: one.record for one in ways})


def _settled(task: Task, ways: list[Way], pool: Processes) -> list[Way]:
    """The ways, everything new solved once more from the best that keeps pieces where that came out better."""
    free, others = ways[0], ways[1:]
    best = min((one for one in others if one.entry.feasible), key=_cents, default=None)
    if best is None or (free.entry.feasible and _cents(free) <= _cents(best)):
        return ways
    ((_, found),) = pool.each(extended_by, [replace(task, beside=best.record)])
    again = found[0]
    better = again.entry.feasible and (not free.entry.feasible or _cents(again) < _cents(free))
    return [again, *others] if better else ways


def _cents(way: Way) -> float:
    return way.record.objectives["tuning"]


def _present(path: Path, pool: Processes, deadline: float) -> LayoutRecord:
    """The present instrument: the best tuned of a run, a layout file, or a project solved."""
    if path.suffix == ".toml":
        task = PlainTask(load_project(path), None, PRESENT_MOST, deadline, {}, spare=False)
        ((_, record),) = pool.each(solved, [task])
        assert record is not None
        return record.model_copy(update={"id": "present"})
    return chosen_layout(path)


def _kept_pieces(present: LayoutRecord, keep: int | None) -> tuple[int, ...]:
    """The upper pieces that stay: all but the last, or as many as asked for."""
    count = len(present.pieces)
    if count < 2 or (keep is not None and keep >= count):
        has = f"has {count} pieces" if count else "has no pieces; it was made without a [sections] table"
        raise KeptPiecesError(f"layout {present.id} {has}; some must stay and at least the last be made anew")
    return tuple(range(1, (keep or count - 1) + 1))


def _filed(way: Way) -> Way:
    """The way with the name of its layout's file."""
    fit = way.entry.fit.model_copy(update={"file": FILES[way.entry.way]})
    return replace(way, entry=way.entry.model_copy(update={"fit": fit}))


def _record(
    loaded: LoadedProject, present: LayoutRecord, kept: tuple[int, ...], ways: list[Way], seconds: float
) -> ExtensionRecord:
    rms, worst = common(changes(present, ways[0].record), "before_cents")
    return ExtensionRecord(
        present=present.instrument,
        present_layout=present.id,
        extended=loaded.project.instrument.name,
        project_file=loaded.source,
        kept_pieces=list(kept),
        new_notes=new_notes(present, ways[0].record),
        before_rms_cents=round(rms, 4),
        before_worst_cents=round(worst, 4),
        reed_volume_cm3=present.reed.volume_cm3,
        ways=[one.entry for one in ways],
        seconds=seconds,
        cautions=list(cautions.of_all(loaded.project.hand.adult)),
    )
