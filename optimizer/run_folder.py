"""A run folder: where a search keeps what it found, whole at every moment."""

import itertools
import os
import platform
import re
import sys
import time
from datetime import UTC, datetime
from importlib import metadata
from pathlib import Path

from optimizer import cautions
from optimizer.objective_names import UNITS
from optimizer.pareto import RESOLUTION, Front
from optimizer.project_file import LoadedProject
from optimizer.records import FrontEntry, FrontRecord, LayoutRecord, RunRecord, write_record, write_text

NOTE_SECONDS = 5.0
PACKAGES = ("holewright", "jax", "numpy", "optuna", "piqp", "pydantic", "ray", "scipy")


def now() -> str:
    """Time of day, UTC, ISO 8601."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def versions() -> dict[str, str]:
    """Versions of Python and of the packages that a result depends on."""
    found = {"python": platform.python_version()}
    for name in PACKAGES:
        try:
            found[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            found[name] = "not installed"
    return found


class RunFolder:
    """Writes run.json, pareto.json and layouts/; `fallback` is the nearest layout while none is feasible."""

    def __init__(self, path: Path, run: RunRecord, objective_names: tuple[str, ...]) -> None:
        self.path = path
        self.run = run
        self.front = Front(objective_names)
        self.entries: dict[str, FrontEntry] = {}
        self.fallback: FrontEntry | None = None
        self.noted_at = time.monotonic()
        write_record(path / "run.json", run)

    @property
    def journal(self) -> Path:
        """Path of the search's storage."""
        return self.path / "journal.log"

    def keep(self, record_json: str, feasible: bool, shortfall: tuple[int, float]) -> bool:
        """Take a finished layout; write it if it joins the front. Whether the front changed.

        shortfall : notes that do not sound as wanted, largest violation [mm]
        """
        record = LayoutRecord.model_validate_json(record_json)
        entry = FrontEntry(
            id=record.id,
            file=f"layouts/{record.id}.json",
            objectives=record.objectives,
            wrong_notes=shortfall[0],
            violation_mm=shortfall[1],
            binds=[binding.name for binding in record.binds],
        )
        if not feasible:
            return self._keep_fallback(entry, record_json)
        joins, leaving = self.front.offer(record.id, record.objectives)
        if not joins:
            return False
        if self.fallback is not None:
            leaving, self.fallback = [*leaving, self.fallback.id], None
        self._store(entry, record_json, leaving)
        return True

    def _keep_fallback(self, entry: FrontEntry, record_json: str) -> bool:
        before = self.fallback
        if self.front.members or (
            before and (before.wrong_notes, before.violation_mm) <= (entry.wrong_notes, entry.violation_mm)
        ):
            return False
        leaving = [self.fallback.id] if self.fallback else []
        self.fallback = entry
        self._store(entry, record_json, leaving)
        return True

    def _store(self, entry: FrontEntry, record_json: str, leaving: list[str]) -> None:
        write_text(self.path / entry.file, record_json + "\n")
        self.entries[entry.id] = entry
        self.write_front()
        for layout_id in leaving:
            gone = self.entries.pop(layout_id)
            (self.path / gone.file).unlink(missing_ok=True)

    def write_front(self) -> None:
        """Write pareto.json."""
        shown = self.front.ordered() if self.front.members else [self.fallback.id] if self.fallback else []
        names = self.front.names
        write_record(
            self.path / "pareto.json",
            FrontRecord(
                instrument=self.run.instrument,
                objectives=list(names),
                units={name: UNITS[name] for name in names},
                thinned_to={name: RESOLUTION[name] for name in names},
                feasible=bool(self.front.members),
                layouts=[self.entries[layout_id] for layout_id in shown],
            ),
        )

    def note_progress(self, done: int, failed: int) -> None:
        """Keep the counts in run.json, at most every `NOTE_SECONDS`."""
        if time.monotonic() - self.noted_at >= NOTE_SECONDS:
            self.noted_at = time.monotonic()
            self.run = self.run.model_copy(update={"trials_done": done, "trials_failed": failed})
            write_record(self.path / "run.json", self.run)

    def close(self, ended_by: str, done: int, failed: int) -> None:
        """Write the final run.json and pareto.json."""
        self.run = self.run.model_copy(
            update={"finished": now(), "ended_by": ended_by, "trials_done": done, "trials_failed": failed}
        )
        self.write_front()
        write_record(self.path / "run.json", self.run)


def _new_folder(results: Path, name: str) -> Path:
    """A folder that no other search has, even one starting at the same moment."""
    for number in itertools.count(1):
        path = results / (name if number == 1 else f"{name}-{number}")
        try:
            path.mkdir(parents=True)
        except FileExistsError:
            continue
        return path
    raise AssertionError("unreachable")


def create_run(
    results: Path, loaded: LoadedProject, seed: int, minutes: float | None, trials: int | None, workers: int
) -> RunFolder:
    """A new folder under results, named after the instrument and the time, with its run.json."""
    name = loaded.project.instrument.name
    slug = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "run"
    stamp = datetime.now(UTC).strftime("%Y%m%d-%H%M%S")
    path = _new_folder(results, f"{slug}-{stamp}")
    run = RunRecord(
        instrument=name,
        project_file=Path(loaded.source).name,
        project_text=loaded.text,
        seed=seed,
        minutes=minutes,
        trials_wanted=trials,
        workers=workers,
        started=now(),
        finished=None,
        ended_by=None,
        trials_done=0,
        trials_failed=0,
        versions=versions(),
        host={
            "system": platform.system(),
            "machine": platform.machine(),
            "cores": os.cpu_count() or 1,
            "byte_order": sys.byteorder,
        },
        cautions=list(cautions.ALL),
    )
    return RunFolder(path, run, loaded.project.search.objectives.names)
