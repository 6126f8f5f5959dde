"""What `extend` does, once parsed."""

import argparse
import os
import time
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from optimizer import cautions
from optimizer.analysis.axle_sides import settled_sides
from optimizer.analysis.extension_ways import Task, Way, changes, common, extended_by, new_notes
from optimizer.analysis.locking import Extended, LockError, with_locked, with_sides
from optimizer.analysis.reliefs import Task as PlainTask
from optimizer.analysis.reliefs import solved
from optimizer.commands.progress import FitProgress, option_problems
from optimizer.commands.search import Complain, console
from optimizer.project.loading import LoadedProject, ProjectError, count_line, load_project
from optimizer.records.chosen import chosen_layout
from optimizer.records.extension import ExtensionRecord
from optimizer.records.layout import LayoutRecord, RecordError, write_record, write_text
from optimizer.solving.processes import Processes, WorkLostError, processes
from optimizer.views.extension_page import extension_page, extension_picture
from optimizer.views.extension_tables import show_extension

FILES = {"free": "free.json", "kept": "kept.json", "redrilled": "redrilled.json"}
PRESENT_SHARE = 0.25
"""Share of the time for a present instrument that is given as a project and solved first."""

PRESENT_LEAST, PRESENT_MOST = 6, 30


def run_extend(options: argparse.Namespace, complain: Complain) -> int:
    """`extend`: exit code 0 when some way meets everything, 1 when none does, 2 for something to mend."""
    problems = _option_problems(options)
    if problems:
        return complain("options to mend", problems)
    out = options.out or Path("results") / f"{options.extended.stem}-extension"
    try:
        loaded = load_project(options.extended)
        out.mkdir(parents=True, exist_ok=True)
        record, layouts = _extended(loaded, options)
    except ProjectError as error:
        return complain(count_line(error.problems, error.source), error.problems)
    except LockError as error:
        return complain(count_line(error.problems, options.present), error.problems)
    except (RecordError, WorkLostError) as error:
        return complain("the instrument could not be extended", [str(error)])
    except OSError as error:
        return complain("cannot write", [f"{out}: {error.strerror or error}"])
    show_extension(console(), record)
    try:
        _write(out, record, *layouts)
    except OSError as error:
        return complain("cannot write", [f"{out}: {error.strerror or error}"])
    console().print(f"written: {out}/extension.html (a page), .svg (a picture) and .json", soft_wrap=True)
    console().print(f"beside them: {', '.join(['present.json', *(way.fit.file for way in record.ways)])}")
    return 0 if any(way.feasible for way in record.ways) else 1


def _option_problems(options: argparse.Namespace) -> list[str]:
    problems = option_problems(options)
    if not 0 <= options.redrill <= 100:
        problems.append(f"--redrill must be between 0 and 100, but got {options.redrill}")
    if options.keep is not None and options.keep < 1:
        problems.append(f"--keep must be at least 1, but got {options.keep}")
    return problems


def _write(out: Path, record: ExtensionRecord, present: LayoutRecord, ways: Mapping[str, LayoutRecord]) -> None:
    """Everything into the folder: the record, the layouts, the page and the picture."""
    write_record(out / "present.json", present)
    for way, layout in ways.items():
        write_record(out / FILES[way], layout)
    write_record(out / "extension.json", record)
    write_text(out / "extension.html", extension_page(record, present, ways))
    write_text(out / "extension.svg", extension_picture(record, present, ways))


def _extended(
    loaded: LoadedProject, options: argparse.Namespace
) -> tuple[ExtensionRecord, tuple[LayoutRecord, dict[str, LayoutRecord]]]:
    """Solve the three ways, a project given as the present instrument first; and the layouts: present, each way's."""
    begun, seconds = time.monotonic(), 60.0 * options.minutes
    project_given = options.present.suffix == ".toml"
    told, of = FitProgress("steps", seconds), 3 + project_given
    with processes(options.workers, min(2, options.workers or os.cpu_count() or 1)) as pool:
        told(0, of)
        present = _present(options.present, pool, begun + PRESENT_SHARE * seconds)
        kept = _kept_pieces(present, options.keep)
        sides = settled_sides(with_locked(loaded, present, kept, Extended()).project)
        told(int(project_given), of)
        task = Task(with_sides(loaded, sides), present, (), options.redrill, begun + seconds)
        ways: list[Way] = []
        for _, found in pool.each(extended_by, [replace(task, kept=kept), task]):
            ways += found
            told(project_given + len({one.entry.way == "free" for one in ways}), of)
        ways = _settled(task, sorted(ways, key=lambda one: list(FILES).index(one.entry.way)), pool)
        told(of, of)
    record = _record(loaded, present, kept, [_filed(one) for one in ways], round(time.monotonic() - begun, 1))
    return record, (present, {one.entry.way: one.record for one in ways})


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
        task = PlainTask(load_project(path), None, PRESENT_LEAST, PRESENT_MOST, deadline, {}, spare=False)
        ((_, record),) = pool.each(solved, [task])
        assert record is not None
        return record.model_copy(update={"id": "present"})
    return chosen_layout(path)


def _kept_pieces(present: LayoutRecord, keep: int | None) -> tuple[int, ...]:
    """The upper pieces that stay: all but the last, or as many as asked for."""
    count = len(present.pieces)
    if count < 2 or (keep is not None and keep >= count):
        has = f"has {count} pieces" if count else "has no pieces; it was made without a [sections] table"
        raise LockError([f"layout {present.id} {has}; some must stay and at least the last be made anew"])
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
        cautions=list(cautions.ALL),
    )
