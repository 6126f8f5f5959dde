"""A run folder: where a search keeps what it found, whole at every moment."""

import itertools
import os
import re
import time
from collections import Counter
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

from acoustics.tiers import in_use
from optimizer import cautions
from optimizer.project.loading import LoadedProject
from optimizer.project.objectives import OBJECTIVES
from optimizer.records.files import RecordError, make_private, once_free, read_record, write_record, write_text
from optimizer.records.layout import LayoutRecord
from optimizer.records.layout_ids import numbered, trial_number
from optimizer.records.recommendation import FILE as RECOMMENDATION
from optimizer.records.recommendation import REPORT
from optimizer.records.run import FrontEntry, FrontRecord, PoolKind, ProgressRecord, RunRecord, in_the_way
from optimizer.records.sameness import Sameness, widths
from optimizer.records.verdict import LayoutVerdict
from optimizer.search.circumstances import this_host, versions
from optimizer.search.pareto import Front

NOTE_SECONDS = 2.0
OF_THE_SEARCH = ("run.json", "pareto.json", "progress.json", "journal.mark")
"""Files of a run folder that none but its search writes, and only one search at a time."""


def now() -> str:
    """Time of day, UTC, ISO 8601."""
    return datetime.now(UTC).isoformat(timespec="seconds")


class RunFolder:
    """Writes run.json, pareto.json, progress.json and layouts/.

    fallback is the nearest layout while none is feasible; broken counts what is in the way of those that are not,
    broken_of these.
    """

    def __init__(self, path: Path, run: RunRecord, objective_names: tuple[str, ...]) -> None:
        self.path = path
        self.run = run
        self.front = Front(widths(objective_names, run.sameness))
        self.entries: dict[str, FrontEntry] = {}
        self.fallback: FrontEntry | None = None
        self.noted_at = float("-inf")
        self.broken, self.broken_of = Counter(run.broken), run.looked_at
        self.earlier = run.trials_done, run.trials_failed
        write_record(path / "run.json", run)

    @property
    def journal(self) -> Path:
        """Path of the search's storage."""
        return self.path / "journal.log"

    @property
    def best(self) -> dict[str, float]:
        """The best of each objective on the front; empty while it is."""
        figures = zip(*self.front.members.values(), strict=True)
        return {name: min(each) for name, each in zip(self.front.names, figures, strict=False)}

    def count_as_same(self, sameness: Sameness) -> None:
        """Thin the front to this from now on; to be said before there is a layout."""
        self.run = self.run.model_copy(update={"sameness": sameness})
        self.front = Front(widths(self.front.names, sameness))
        write_record(self.path / "run.json", self.run)

    def take_up(self, layouts: dict[str, LayoutRecord]) -> None:
        """Make the front anew from layouts that lie in the folder; those that are beaten leave it."""
        self.front, self.entries, self.fallback = Front(self.front.widths), {}, None
        for record in layouts.values():
            self.entries[record.id] = FrontEntry.of(record)
            if record.feasible:
                self.front.offer(record.id, record.objectives)
        if not self.front.members and layouts:
            self.fallback = min(self.entries.values(), key=_short_of)
        kept = {*self.front.members, *([self.fallback.id] if self.fallback else [])}
        self.write_front()
        for stale in set(layouts) - kept:
            self._drop(stale)

    def keep(self, record: LayoutRecord | LayoutVerdict, record_json: str) -> bool:
        """Take a finished layout; write it if it joins the front. Whether the front changed."""
        entry = FrontEntry.of(record)
        if not record.feasible:
            self.broken.update(in_the_way(record))
            self.broken_of += 1
            return self._keep_fallback(entry, record_json)
        self.entries[record.id] = entry
        joins, leaving = self.front.offer(record.id, record.objectives)
        if not joins:
            del self.entries[record.id]
            return False
        if self.fallback is not None:
            leaving, self.fallback = [*leaving, self.fallback.id], None
        self._store(entry, record_json, leaving)
        return True

    def _keep_fallback(self, entry: FrontEntry, record_json: str) -> bool:
        before = self.fallback
        if self.front.members or (before and _short_of(before) < _short_of(entry)):
            return False
        leaving = [self.fallback.id] if self.fallback else []
        self.fallback = entry
        self._store(entry, record_json, leaving)
        return True

    def _store(self, entry: FrontEntry, record_json: str, leaving: list[str]) -> None:
        self._see_it_is_there()
        write_text(self.path / entry.file, record_json + "\n")
        self.entries[entry.id] = entry
        self.write_front()
        for layout_id in set(leaving) - {entry.id}:
            self._drop(layout_id)

    def _drop(self, layout_id: str) -> None:
        file = self.path / self.entries.pop(layout_id).file
        once_free(partial(file.unlink, missing_ok=True))

    def _see_it_is_there(self) -> None:
        """Let no write make a folder anew that was removed."""
        os.stat(self.path / "run.json")

    def write_front(self) -> None:
        """Write pareto.json."""
        shown = self.front.ordered() if self.front.members else [self.fallback.id] if self.fallback else []
        names = self.front.names
        write_record(
            self.path / "pareto.json",
            FrontRecord(
                instrument=self.run.instrument,
                objectives=list(names),
                units={name: OBJECTIVES[name].unit for name in names},
                thinned_to=dict(self.front.widths),
                feasible=bool(self.front.members),
                layouts=[self.entries[layout_id] for layout_id in shown],
            ),
        )

    def note_progress(self, progress: ProgressRecord) -> bool:
        """Write progress.json and the counts in run.json, at most every `NOTE_SECONDS` while the run goes on; whether
        it was time."""
        if progress.state != "ended" and time.monotonic() - self.noted_at < NOTE_SECONDS:
            return False
        self.noted_at = time.monotonic()
        self._see_it_is_there()
        write_record(self.path / "progress.json", progress)
        done, failed = progress.trials_done, progress.trials_failed
        counts = {"trials_done": done, "trials_failed": failed, "workers": progress.workers}
        missed = {"broken": dict(self.broken.most_common()), "broken_of": self.broken_of}
        self.run = self.run.model_copy(update=counts | missed)
        write_record(self.path / "run.json", self.run)
        return True

    def close(self, progress: ProgressRecord) -> None:
        """Write the final run.json, pareto.json and progress.json."""
        self._see_it_is_there()
        self.run = self.run.model_copy(update={"finished": now(), "ended_by": progress.ended_by})
        self.write_front()
        self.note_progress(progress)


def _short_of(entry: FrontEntry) -> tuple[int, float, tuple[bool, int, str]]:
    """How far a layout is from feasible, less being better; no two are alike."""
    return entry.wrong_notes, entry.violation_mm, numbered(entry.id)


def stamped(name: str) -> str:
    """A folder's name from an instrument's, with the time."""
    slug = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "run"
    return f"{slug}-{datetime.now(UTC).strftime('%Y%m%d-%H%M%S')}"


def new_folder(results: Path, name: str) -> Path:
    """A folder that no other search has, even one starting at the same moment."""
    for number in itertools.count(1):
        path = results / (name if number == 1 else f"{name}-{number}")
        try:
            make_private(path)
        except FileExistsError:
            continue
        return path
    raise AssertionError("unreachable")


def create_run(
    results: Path,
    loaded: LoadedProject,
    seed: int,
    minutes: float | None,
    trials: int | None,
    workers: int,
    storage: str | None = None,
    pool: PoolKind | None = None,
) -> RunFolder:
    """A new folder under results, named after the instrument and the time, with its run.json.

    Parameters
    ----------
    results : folder of all runs
    loaded : the project
    seed : of the sampler
    minutes, trials : the limits of the search
    workers : how many solve at once
    storage : URL to show of the database that holds the run's study, named after the folder; default its journal
    pool : what the workers are
    """
    name = loaded.project.instrument.name
    path = new_folder(results, stamped(name))
    run = RunRecord(
        instrument=name,
        project_file=Path(loaded.source).name,
        project_text=loaded.text,
        seed=seed,
        minutes=minutes,
        trials_wanted=trials,
        workers=workers,
        pool=pool,
        started=now(),
        finished=None,
        ended_by=None,
        trials_done=0,
        trials_failed=0,
        versions=versions(),
        host=this_host(),
        cautions=list(cautions.of_all(loaded.project.hand.adult)),
        storage=storage,
        study=path.name if storage else None,
        acoustics=in_use(),
    )
    return RunFolder(path, run, loaded.project.objective_names)


def saved_layouts(path: Path) -> dict[str, LayoutRecord]:
    """Every whole layout in a run folder, in the order of their trials, for the one search that writes there; what
    a kill left of its files is removed, and half files of others are left to these.

    Raises
    ------
    RecordError
        for a layout that is damaged
    """
    for part in (*(path / f"{name}.part" for name in OF_THE_SEARCH), *(path / "layouts").glob("*.json.part")):
        if part.parent == path or trial_number(part.name.removesuffix(".json.part")) is not None:
            part.unlink(missing_ok=True)
    records = [_saved_layout(file) for file in (path / "layouts").glob("*.json")]
    return {record.id: record for record in sorted(records, key=lambda record: numbered(record.id))}


def _saved_layout(file: Path) -> LayoutRecord:
    try:
        return read_record(file, LayoutRecord)
    except RecordError as error:
        raise RecordError(f"{error}. Delete that file, and the run is taken up without that layout") from None


def has_begun(path: Path) -> bool:
    """Whether a run folder saw a first start, and does not just wait for it."""
    return (path / "progress.json").exists()


def reopen_run(
    path: Path, names: tuple[str, ...], layouts: dict[str, LayoutRecord], changes: Mapping[str, Any]
) -> RunFolder:
    """The folder of an earlier start, to go on with: its front made anew from the layouts on disk.

    Parameters
    ----------
    path : the folder
    names : of the objectives
    layouts : those on disk
    changes : what run.json says of this start and of the trials so far
    """
    run = read_record(path / "run.json", RunRecord)
    resumed = [*run.resumed, now()] if has_begun(path) else []
    again: dict[str, Any] = {"resumed": resumed, "finished": None, "ended_by": None}
    again |= {"versions": versions(), "host": this_host(), "acoustics": in_use()}
    for name in (RECOMMENDATION, REPORT):  # until the front is at rest again
        once_free(partial((path / name).unlink, missing_ok=True))
    folder = RunFolder(path, run.model_copy(update={**again, **changes}), names)
    folder.take_up(layouts)
    return folder
