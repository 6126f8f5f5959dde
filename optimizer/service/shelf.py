"""The runs there are, whoever started them, and the only way from a name in a request to a file."""

import re
from collections.abc import Iterator
from os.path import isfile
from pathlib import Path
from typing import Literal

from pydantic import BaseModel

from optimizer.records.files import RecordError
from optimizer.records.layout import LayoutRecord
from optimizer.records.parentage import FOLDER as BY_HAND
from optimizer.records.parentage import NAME
from optimizer.records.run import FrontRecord, ProgressRecord, RunRecord
from optimizer.service.kept_files import KeptFiles
from optimizer.service.launching import EXTENDED, LOG
from optimizer.service.refusals import RefusedError
from optimizer.service.settings import Settings
from optimizer.service.tickets import NAME as TICKET
from optimizer.service.tickets import Ticket, read_ticket
from optimizer.service.writers import writer, written_elsewhere
from optimizer.views.front_tables import ON_THE_PAGE, in_the_way_lines
from optimizer.views.objectives import same_words

RUN_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,126}")
LAYOUT_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,31}")
EXTENSION = "extension.json"
PRIVATE = frozenset({"lock", TICKET, LOG})
"""Files of a run folder that are no result."""

State = Literal["waiting", "starting", "running", "ended", "stopped", "failed"]


class RunSummary(BaseModel):
    """A run at a glance.

    state : waiting for its turn; starting; running; ended in order; stopped without having ended (killed, or never
        begun); failed, as `message` says
    message : why it failed; of one that stopped, why its end cannot be noted, as on a disk that takes nothing in
    started, finished : times of day, ISO 8601; best : best of each objective among feasible layouts
    same : below which difference in tuning two layouts are the same, and why; empty where nothing tells
    in_the_way : while nothing met everything, sentences on what was in the way most often, and on what may help
    """

    id: str
    instrument: str
    state: State
    ended_by: str | None
    message: str
    started: str
    finished: str | None
    minutes: float | None
    trials_wanted: int | None
    trials_done: int
    trials_failed: int
    layouts: int
    feasible: bool
    best: dict[str, float]
    units: dict[str, str]
    same: str
    in_the_way: list[str] = []
    waiting_before: int | None = None


class Shelf:
    """Run folders under one results folder.

    unnoted : of runs and extensions whose end could not be noted in their folder, what the system said
    """

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.files = KeptFiles()
        self.unnoted: dict[str, str] = {}

    def folder(self, run: str) -> Path:
        """The folder of a run.

        Raises
        ------
        RefusedError
            404 when there is no such run
        """
        path = self.settings.results / run
        if not RUN_NAME.fullmatch(run) or path.is_symlink() or not isfile(path / "run.json"):
            raise RefusedError(404, "there is no run of that name")
        return path

    def extension(self, name: str) -> Path:
        """The folder of an extension; raises as `folder`.

        Raises
        ------
        RefusedError
            404 when there is no such extension
        """
        path = self.settings.results / name
        if not RUN_NAME.fullmatch(name) or path.is_symlink() or not is_extension(path):
            raise RefusedError(404, "there is no extension of that name")
        return path

    def place(self, name: str) -> Path:
        """The folder of a run or an extension; raises as `folder`."""
        path = self.settings.results / name
        return self.extension(name) if RUN_NAME.fullmatch(name) and is_extension(path) else self.folder(name)

    def all_names(self) -> list[str]:
        """Names of all runs and extensions."""
        return [*self.names(), *self.extension_names()]

    def extension_names(self) -> list[str]:
        """Names of all extensions, the latest first."""
        found = [each for each in self._folders() if is_extension(each)]
        return [each.name for each in sorted(found, key=lambda each: each.stat().st_mtime, reverse=True)]

    def _folders(self) -> list[Path]:
        results = self.settings.results
        return [each for each in results.iterdir() if RUN_NAME.fullmatch(each.name) and not each.is_symlink()]

    def names(self) -> list[str]:
        """Names of all runs, the latest begun first."""
        runs_there = [each for each in self._folders() if isfile(each / "run.json")]
        return [each.name for each in sorted(runs_there, key=self._begun, reverse=True)]

    def _begun(self, folder: Path) -> str:
        try:
            return self.files.record(folder / "run.json", RunRecord).started
        except RecordError:
            return ""

    def state(self, name: str) -> State:
        """How a run or an extension stands."""
        folder = self.place(name)
        try:
            ticket = read_ticket(folder)
            if is_extension(folder):
                return extension_state(folder, ticket)
            return state_of(folder, self.files.record(folder / "run.json", RunRecord), ticket)
        except RecordError:
            return "failed"

    def ended_well(self, folder: Path, ticket: Ticket) -> bool:
        """Whether what a ticket started came to its end, or goes on in a process of another start."""
        if is_extension(folder):
            return has_extension(folder)
        try:
            run = self.files.record(folder / "run.json", RunRecord)
        except RecordError:
            return False
        return has_ended(run, ticket) or state_of(folder, run, None) == "running"

    def summary(self, run: str) -> RunSummary:
        """A run at a glance; one that cannot be read counts as failed, with the reason."""
        folder = self.folder(run)
        try:
            record = self.files.record(folder / "run.json", RunRecord)
            front, ticket = self.front(folder), read_ticket(folder)
        except RecordError as error:
            return _unreadable(run, str(error).replace(f"{folder}/", ""))
        state, feasible = state_of(folder, record, ticket), front is not None and front.feasible
        layouts = front.layouts if front is not None else []
        names = front.objectives if front is not None else []
        return RunSummary(
            id=run,
            instrument=record.instrument,
            state=state,
            ended_by=record.ended_by,
            message=self.message(run, state, ticket),
            started=record.started,
            finished=record.finished,
            minutes=record.minutes,
            trials_wanted=record.trials_wanted,
            trials_done=record.trials_done,
            trials_failed=record.trials_failed,
            layouts=len(layouts) if feasible else 0,
            feasible=feasible,
            best={name: min(each.objectives[name] for each in layouts) for name in names} if feasible else {},
            units=front.units if front is not None else {},
            same=same_words(record.sameness),
            in_the_way=[] if feasible else in_the_way_lines(record, ON_THE_PAGE),
        )

    def message(self, name: str, state: State, ticket: Ticket | None) -> str:
        """Why a run or an extension failed; of one that stopped, why its end cannot be noted."""
        if state == "stopped" and name in self.unnoted:
            return f"Its end cannot be noted: {self.unnoted[name]}. See to the disk, then go on."
        return ticket.message if ticket is not None and ticket.state == "failed" else ""

    def front(self, folder: Path) -> FrontRecord | None:
        """The front of a run folder; None before there is one."""
        path = folder / "pareto.json"
        return self.files.record(path, FrontRecord) if isfile(path) else None

    def progress(self, folder: Path) -> ProgressRecord | None:
        """The progress of a run folder; None before there is any."""
        path = folder / "progress.json"
        return self.files.record(path, ProgressRecord) if isfile(path) else None

    def layout(self, run: str, layout: str) -> Path:
        """The file of a layout.

        Raises
        ------
        RefusedError
            404 when there is no such run or layout
        """
        by_hand = NAME.fullmatch(layout) is not None
        path = self.folder(run) / (BY_HAND if by_hand else "layouts") / f"{layout}.json"
        if not LAYOUT_NAME.fullmatch(layout) or path.is_symlink() or not isfile(path):
            raise RefusedError(404, f"run {run} has no layout of that name; the front may have moved on")
        return path

    def layout_record(self, run: str, layout: str) -> LayoutRecord:
        """A layout, read."""
        return self.files.record(self.layout(run, layout), LayoutRecord)

    def results(self, folder: Path) -> dict[str, Path]:
        """Every file of a run that may be taken away, by its name within the folder."""
        return {str(path.relative_to(folder)): path for path in sorted(_plain_files(folder))}


def _plain_files(folder: Path) -> Iterator[Path]:
    for path in folder.iterdir():
        if path.is_symlink() or path.name.startswith(".") or path.suffix == ".part":
            continue
        if path.is_dir():
            yield from _plain_files(path)
        elif isfile(path) and path.name not in PRIVATE:
            yield path


def _unreadable(run: str, why: str) -> RunSummary:
    return RunSummary(
        id=run,
        instrument="",
        state="failed",
        ended_by=None,
        message=why,
        started="",
        finished=None,
        minutes=None,
        trials_wanted=None,
        trials_done=0,
        trials_failed=0,
        layouts=0,
        feasible=False,
        best={},
        units={},
        same="",
    )


def state_of(folder: Path, run: RunRecord, ticket: Ticket | None) -> State:
    """How a run stands."""
    if run.finished is None and (writer(folder) is not None or written_elsewhere(folder)):
        return "running"
    if ticket is not None and ticket.state == "waiting":
        return "waiting"
    if ticket is not None and ticket.state == "started" and ticket.alive:
        return "ended" if has_ended(run, ticket) else "starting"
    if ticket is not None and ticket.state == "failed":
        return "failed"
    return "stopped" if run.finished is None else "ended"


def has_ended(run: RunRecord, ticket: Ticket) -> bool:
    """Whether a run came to another end than it had when its ticket's process started."""
    return run.end not in (None, ticket.earlier_end)


def is_extension(folder: Path) -> bool:
    """Whether a folder is an extension's, asked for or done."""
    return not isfile(folder / "run.json") and (isfile(folder / EXTENDED) or has_extension(folder))


def has_extension(folder: Path) -> bool:
    """Whether an extension is done."""
    return isfile(folder / EXTENSION)


def extension_state(folder: Path, ticket: Ticket | None) -> State:
    """How an extension stands."""
    if ticket is not None and ticket.state in ("waiting", "failed"):
        return ticket.state
    if ticket is not None and ticket.state == "started" and ticket.alive:
        return "running"
    return "ended" if has_extension(folder) else "stopped"
