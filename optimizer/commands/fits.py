"""What `hands` and `relieve` do, once parsed."""

import argparse
import os
import re
import time
from dataclasses import replace
from pathlib import Path

from optimizer import cautions
from optimizer.analysis.hands import Fitted, Task, compared, covers_opened, fitted
from optimizer.analysis.relief_files import reliefs_file
from optimizer.commands.console import Complain, console
from optimizer.commands.progress import FitProgress, looked_for, option_problems
from optimizer.project.hand import Hand
from optimizer.project.included import IncludedError, read_included
from optimizer.project.loading import LoadedProject, ProjectError, count_line, load_project, parse_project
from optimizer.records.files import RecordError, write_record
from optimizer.records.fits import HandEntry, HandsRecord
from optimizer.records.named_layouts import project_or_run
from optimizer.solving.processes import WorkLostError, processes
from optimizer.views.fit_tables import show_hands, show_reliefs


def run_hands(options: argparse.Namespace, complain: Complain) -> int:
    """`hands`: one project under several hands; exit code 0 when it fits them all, 1 when not, 2 to mend."""
    problems = option_problems(options)
    if problems:
        return complain("options to mend", problems)
    files = options.hand or sorted(options.project.parent.glob("hands/*.toml"))
    if not files:
        where = options.project.parent / "hands"
        return complain("no hands to compare", [f"there is no hand file in {where}; name some with --hand"])
    out = options.out or Path("results") / f"{options.project.stem}-hands"
    try:
        for path in files:
            read_included(path, Hand, "hand")
        load_project(options.project, rule_out=False)
        loaded = {path: load_project(options.project, path, rule_out=False) for path in files}
        record = _hands(loaded, options, out)
        write_record(out / "hands.json", record)
    except IncludedError as error:
        return complain("hand file to mend", error.problems)
    except ProjectError as error:
        return complain(count_line(error.problems, options.project), error.problems)
    except (OSError, WorkLostError) as error:
        return complain("the hands could not be compared", [str(error)])
    show_hands(console(), record)
    console().print(f"written: {out}/hands.json and a layout of each fit beside it", soft_wrap=True)
    return 0 if all(entry.feasible for entry in record.hands) else 1


def _hands(loaded: dict[Path, LoadedProject], options: argparse.Namespace, out: Path) -> HandsRecord:
    begun = time.monotonic()
    entries: dict[Path, HandEntry] = {}
    for path, project in loaded.items():
        try:
            parse_project(project.text, project.source)
        except ProjectError as error:
            entries[path] = _ruled_out(project, path, error.problems)
    left = [path for path in loaded if path not in entries]
    workers = min(options.workers or os.cpu_count() or 1, max(len(left), 1))
    share = 60.0 * options.minutes * workers / max(len(left), 1)
    projects = {path: _opened(loaded[path]) if not options.as_written else loaded[path] for path in left}
    told = FitProgress("hands", 60.0 * options.minutes)
    told(len(entries), len(loaded))
    with processes(workers, len(left)) as pool:
        for number, found in pool.each(fitted, [Task(projects[path], path.name, share) for path in left]):
            entries[left[number]] = _written(found, left[number], out)
            told(len(entries), len(loaded))
    project = next(iter(loaded.values()))
    return HandsRecord(
        instrument=project.project.instrument.name,
        project_file=project.source,
        covers_open=not options.as_written,
        seconds=round(time.monotonic() - begun, 1),
        hands=compared([entries[path] for path in loaded]),
        cautions=list(cautions.HANDS),
    )


def _opened(loaded: LoadedProject) -> LoadedProject:
    return replace(loaded, project=covers_opened(loaded.project))


def _ruled_out(loaded: LoadedProject, path: Path, problems: list[str]) -> HandEntry:
    return HandEntry(
        hand=loaded.project.hand.name,
        file=path.name,
        proved_impossible=True,
        problems=problems,
        best=None,
        fewest_plates=None,
        solves=0,
    )


def _written(found: Fitted, path: Path, out: Path) -> HandEntry:
    """Write a hand's layouts; its entry with their files."""
    changes = {}
    for name, record in zip(("best", "fewest_plates"), found.records, strict=False):
        file = f"{re.sub('[^A-Za-z0-9_-]', '-', path.stem)}-{name.replace('_', '-')}.json"
        write_record(out / file, record)
        changes[name] = getattr(found.entry, name).model_copy(update={"file": file})
    return found.entry.model_copy(update=changes)


def run_relieve(options: argparse.Namespace, complain: Complain) -> int:
    """`relieve`: ways out of a reach that binds; exit code 0 when one works or none is needed, 1 when not, 2: mend."""
    problems = option_problems(options)
    if problems:
        return complain("options to mend", problems)
    out = options.out or reliefs_file(options.path, options.hand)
    try:
        loaded, numbers = project_or_run(options.path, options.hand)
        record = looked_for(loaded, numbers, options)
    except IncludedError as error:
        return complain("hand file to mend", error.problems)
    except ProjectError as error:
        return complain(count_line(error.problems, options.path), error.problems)
    except (RecordError, OSError, WorkLostError) as error:
        return complain("cannot look for ways out", [str(error)])
    show_reliefs(console(), record)
    try:
        write_record(out, record)
    except OSError as error:
        return complain("cannot write the ways out", [str(error)])
    console().print(f"written: {out}", soft_wrap=True)
    works = record.as_it_is.feasible or any(entry.feasible for entry in record.reliefs)
    return 0 if works else 1
