"""The queue: tickets wait in run folders, searches run as processes of their own and outlive the service."""

import fcntl
import os
import subprocess
import sys
import threading
from dataclasses import replace
from pathlib import Path

import psutil

from optimizer.project_file import LoadedProject
from optimizer.records import RecordError
from optimizer.run_folder import create_run
from optimizer.run_records import RunRecord
from service.refusals import RefusedError
from service.settings import Settings
from service.shelf import Shelf, State, state_of, writer
from service.tickets import Ticket, new_ticket, read_ticket, write_ticket

LOG = "search.log"
EVERY_SECONDS = 1.0
AT_REST: tuple[State, ...] = ("ended", "stopped", "failed")
COMMAND = "from optimizer.cli import main; raise SystemExit(main())"
SECRET = ("HOLEWRIGHT_TOKEN",)
"""Of the environment, what searches are not told."""


class ServiceInUseError(Exception):
    """Another service has the same results folder."""


class Queue:
    """Starts searches in the order they were asked for, no more at once than `running_most`.

    What it knows is in the run folders alone: a service that starts anew finds its queue, and its searches, there.
    """

    def __init__(self, settings: Settings, shelf: Shelf) -> None:
        self.settings = settings
        self.shelf = shelf
        self._lock = threading.RLock()
        self._children: list[subprocess.Popen[bytes]] = []
        self._stopped = threading.Event()
        self._held: int | None = None
        self._thread = threading.Thread(target=self._keep_going, name="queue", daemon=True)

    def open(self) -> None:
        """Take the results folder and begin.

        Raises
        ------
        ServiceInUseError
            when another service has it
        OSError
            when it cannot be written to
        """
        self.settings.kept.mkdir(parents=True, exist_ok=True)
        self._held = os.open(self.settings.kept / "lock", os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
        try:
            fcntl.flock(self._held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise ServiceInUseError(f"{self.settings.results} is served by another process already") from None
        self._thread.start()

    def close(self) -> None:
        """Stop starting searches; those that run go on."""
        self._stopped.set()
        self._thread.join(timeout=10)
        if self._held is not None:
            os.close(self._held)

    def submit(self, loaded: LoadedProject, seed: int, ticket: Ticket) -> str:
        """A new run that waits for its turn; its name.

        Raises
        ------
        RefusedError
            503 when the queue is full
        """
        with self._lock:
            self._room()
            workers = ticket.workers or os.cpu_count() or 1
            folder = create_run(self.settings.results, loaded, seed, ticket.minutes, ticket.trials, workers)
            write_ticket(folder.path, ticket)
        return folder.path.name

    def resume(self, run: str, ticket: Ticket) -> None:
        """Let a run at rest go on, when its turn comes."""
        with self._lock:
            self._room()
            folder = self._at_rest(run, "resumed")
            write_ticket(folder, ticket)

    def _room(self) -> None:
        if len(self.waiting()) >= self.settings.waiting_most:
            raise RefusedError(503, f"{self.settings.waiting_most} runs are waiting already; cancel one, or try later")

    def _at_rest(self, run: str, what: str) -> Path:
        folder = self.shelf.folder(run)
        state = self.shelf.summary(run).state
        if state not in AT_REST:
            raise RefusedError(409, f"run {run} is {state}; it cannot be {what} now")
        return folder

    def waiting(self) -> list[str]:
        """Names of the runs that wait, the next one first."""
        found = {}
        for name in self.shelf.names():
            ticket = read_ticket(self.settings.results / name)
            if ticket is not None and ticket.state == "waiting":
                found[name] = ticket.order
        return sorted(found, key=found.__getitem__)

    def cancel(self, run: str) -> State:
        """Take a run out of the queue, or ask its search to end in order; the state it was in.

        Raises
        ------
        RefusedError
            409 when it neither waits nor runs, or runs where this service cannot reach it
        """
        with self._lock:
            folder = self.shelf.folder(run)
            state = self.shelf.summary(run).state
            ticket = read_ticket(folder)
            if state == "waiting" and ticket is not None:
                write_ticket(folder, ticket.model_copy(update={"state": "done"}))
                return state
            process = writer(folder) if state == "running" else _process_of(ticket) if state == "starting" else None
            if process is None:
                raise RefusedError(409, f"run {run} is {state}; there is nothing here to cancel")
            try:
                process.terminate()
            except psutil.NoSuchProcess:
                pass
            except psutil.AccessDenied:
                raise RefusedError(409, f"run {run} belongs to another user of this machine") from None
            if ticket is not None:
                write_ticket(folder, ticket.model_copy(update={"state": "done"}))
            return state

    def remove(self, run: str) -> str:
        """Move a run at rest to the removed ones; the name it has there."""
        with self._lock:
            if self.shelf.summary(run).state == "waiting":
                self.cancel(run)
            folder = self._at_rest(run, "deleted")
            self.settings.removed.mkdir(exist_ok=True)
            place = _free(self.settings.removed, folder.name)
            folder.rename(place)
            return place.name

    def restore(self, name: str) -> str:
        """Bring a removed run back; the name it has again."""
        with self._lock:
            folder = Shelf(_moved(self.settings)).folder(name)
            place = _free(self.settings.results, folder.name)
            folder.rename(place)
            return place.name

    def removed(self) -> list[str]:
        """Names of the removed runs."""
        return Shelf(_moved(self.settings)).names() if self.settings.removed.is_dir() else []

    def _keep_going(self) -> None:
        while not self._stopped.wait(EVERY_SECONDS):
            try:
                self.look()
            except OSError as error:
                print(f"the queue waits: {error.strerror or error}", file=sys.stderr)

    def look(self) -> None:
        """See which searches have ended, and start what there is room for."""
        with self._lock:
            self._children = [child for child in self._children if child.poll() is None]
            busy = 0
            for name in self.shelf.names():
                folder = self.settings.results / name
                ticket = read_ticket(folder)
                if ticket is not None and ticket.state == "started" and not ticket.alive:
                    self._settle(folder, ticket)
                busy += self.shelf.summary(name).state in ("running", "starting")
            for name in self.waiting()[: max(0, self.settings.running_most - busy)]:
                self._start(self.settings.results / name)

    def _settle(self, folder: Path, ticket: Ticket) -> None:
        """Note how a search ended."""
        try:
            run = self.shelf.files.record(folder / "run.json", RunRecord)
        except RecordError as error:
            write_ticket(folder, ticket.model_copy(update={"state": "failed", "message": str(error)}))
            return
        ended = run.finished is not None and run.finished > ticket.asked
        going_on = not ended and state_of(folder, run, None) == "running"
        message = "" if ended or going_on else _last_words(folder)
        write_ticket(folder, ticket.model_copy(update={"state": "failed" if message else "done", "message": message}))

    def _start(self, folder: Path) -> None:
        ticket = read_ticket(folder)
        if ticket is None:
            return
        given = {
            "--minutes": ticket.minutes,
            "--trials": ticket.trials,
            "--idle-minutes": ticket.idle_minutes,
            "--workers": ticket.workers,
        }
        options = [f"{name}={value}" for name, value in given.items() if value is not None]
        environment = {name: value for name, value in os.environ.items() if name not in SECRET}
        with (folder / LOG).open("wb") as log:
            child = subprocess.Popen(
                [sys.executable, "-c", COMMAND, "resume", str(folder), *options],
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=subprocess.STDOUT,
                env=environment,
                start_new_session=True,
            )
        self._children.append(child)
        begun = psutil.Process(child.pid).create_time()
        write_ticket(folder, ticket.model_copy(update={"state": "started", "process": child.pid, "begun": begun}))


def _process_of(ticket: Ticket | None) -> psutil.Process | None:
    return psutil.Process(ticket.process) if ticket is not None and ticket.alive else None


def _last_words(folder: Path) -> str:
    """What a search said last, without the paths of this machine."""
    try:
        said = (folder / LOG).read_text(encoding="utf-8", errors="replace")
    except OSError:
        said = ""
    lines = [line.strip() for line in said.replace(f"{folder}", folder.name).splitlines() if line.strip()]
    return " ".join(lines[-3:])[-1000:] or "the search ended before it had begun"


def _moved(settings: Settings) -> Settings:
    return replace(settings, results=settings.removed)


def _free(parent: Path, name: str) -> Path:
    """A path under parent that nothing has yet."""
    path, number = parent / name, 1
    while path.exists():
        number += 1
        path = parent / f"{name}-{number}"
    return path


def asked(minutes: float | None, trials: int | None, idle_minutes: float | None, workers: int | None) -> Ticket:
    """A ticket for one start of a search."""
    return new_ticket(minutes=minutes, trials=trials, idle_minutes=idle_minutes, workers=workers)
