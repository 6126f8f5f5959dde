"""The queue: tickets wait in run folders, searches run as processes of their own and outlive the service."""

import os
import subprocess
import sys
import threading
import time
import traceback
from contextlib import suppress
from pathlib import Path

import psutil

from optimizer.project.faults import Fault
from optimizer.project.loading import LoadedProject
from optimizer.records.files import RecordError
from optimizer.records.locks import file_to_lock, lock
from optimizer.records.run import RunRecord
from optimizer.search.run_folder import create_run
from optimizer.service.aside import Aside, moved
from optimizer.service.launching import last_words, launch
from optimizer.service.refusals import RefusedError
from optimizer.service.settings import Settings
from optimizer.service.shelf import Shelf, State, is_extension
from optimizer.service.tickets import Ticket, read_ticket, write_ticket
from optimizer.service.writers import writer

EVERY_SECONDS = 1.0
BEHIND_SECONDS = 1e-3
"""By so much a place in the queue is behind the one before it, at the least."""

AT_REST: tuple[State, ...] = ("ended", "stopped", "failed")
UNDER_WAY: tuple[State, ...] = ("running", "starting")


class Queue:
    """Starts searches in the order they were asked for, no more at once than `running_most`.

    What it knows is in the run folders alone: a service that starts anew finds its queue, and its searches, there.
    """

    def __init__(self, settings: Settings, shelf: Shelf) -> None:
        self.settings = settings
        self.shelf = shelf
        self._aside = Aside(settings)
        self._lock = threading.RLock()
        self._children: list[subprocess.Popen[bytes]] = []
        self._unstartable: set[tuple[str, float]] = set()
        self._stopped = threading.Event()
        self._held: int | None = None
        self._thread = threading.Thread(target=self._keep_going, name="queue", daemon=True)

    def take(self) -> None:
        """Take the results folder for this process.

        Raises
        ------
        Fault
            when another service has it
        OSError
            when it cannot be written to
        """
        self.settings.kept.mkdir(parents=True, exist_ok=True)
        self._held = file_to_lock(self.settings.kept / "lock")
        try:
            lock(self._held, str(self.settings.results))
        except BlockingIOError:
            raise Fault(f"{self.settings.results} is served by another process already") from None

    def open(self) -> None:
        """Begin, in a folder that was taken; raises as `take` where it was not."""
        if self._held is None:
            self.take()
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
            self.room()
            workers = ticket.workers or os.cpu_count() or 1
            folder = create_run(self.settings.results, loaded, seed, ticket.minutes, ticket.trials, workers)
            write_ticket(folder.path, self._behind(ticket))
        return folder.path.name

    def take_over(self, folder: Path) -> str:
        """Put a finished run folder on the shelf; its name there."""
        with self._lock:
            return moved(folder, self.settings.results)

    def extend(self, folder: Path, ticket: Ticket) -> None:
        """Let a prepared folder of an extension wait for its turn."""
        with self._lock:
            self.room()
            write_ticket(folder, self._behind(ticket))

    def resume(self, run: str, ticket: Ticket) -> None:
        """Let a run at rest go on, when its turn comes."""
        with self._lock:
            self.room()
            folder = self._at_rest(run, "resumed")
            former = self._ticket(run)
            write_ticket(folder, self._behind(ticket.after(former) if former else ticket))

    def room(self) -> None:
        """Refuse what has no room in the queue.

        Raises
        ------
        RefusedError
            503 when the queue is full
        """
        if len(self.waiting()) >= self.settings.waiting_most:
            raise RefusedError(503, f"{self.settings.waiting_most} runs are waiting already; cancel one, or try later")

    def _at_rest(self, name: str, what: str) -> Path:
        folder, state = self.shelf.place(name), self.shelf.state(name)
        if state not in AT_REST:
            raise RefusedError(409, f"{name} is {state}; it cannot be {what} now")
        return folder

    def _ticket(self, name: str) -> Ticket | None:
        """A folder's ticket; None also where it cannot be read, for then nothing is known to be asked for."""
        try:
            return read_ticket(self.settings.results / name)
        except RecordError:
            return None

    def waiting(self) -> list[str]:
        """Names of the runs and extensions that wait, the next one first."""
        found = self._orders()
        return sorted(found, key=found.__getitem__)

    def _orders(self) -> dict[str, float]:
        """Places in the queue by name."""
        found = {name: self._ticket(name) for name in self.shelf.all_names()}
        return {name: ticket.order for name, ticket in found.items() if ticket and ticket.state == "waiting"}

    def _behind(self, ticket: Ticket) -> Ticket:
        """A ticket behind all that wait, also where the clock was set back since they came."""
        last = max(self._orders().values(), default=float("-inf"))
        return ticket.model_copy(update={"order": max(ticket.order, last + BEHIND_SECONDS)})

    def cancel(self, name: str) -> None:
        """Take a run or extension out of the queue, or ask its search to end in order.

        Raises
        ------
        RefusedError
            409 when it neither waits nor runs, or runs where this service cannot reach it
        """
        with self._lock:
            folder, state = self.shelf.place(name), self.shelf.state(name)
            ticket = self._ticket(name)
            if state != "waiting":
                process = writer(folder) or (ticket and ticket.running) if state in UNDER_WAY else None
                if process is None:
                    raise RefusedError(409, f"{name} is {state}; there is nothing here to cancel")
                _end(name, process)
            if ticket is not None:
                write_ticket(folder, ticket.model_copy(update={"state": "done"}))

    def remove(self, name: str) -> str:
        """Move a run or extension at rest to the removed ones; the name it has there.

        A search says that it has ended before its process has closed everything; that is waited for.

        Raises
        ------
        RefusedError
            404 when there is nothing of that name, 409 when it runs or its process is still closing
        """
        deadline = time.monotonic() + self.settings.closing_seconds
        while self.shelf.state(name) in AT_REST and writer(self.shelf.place(name)) is not None:
            if time.monotonic() > deadline:
                break
            time.sleep(0.1)
        with self._lock:
            if self.shelf.state(name) == "waiting":
                self.cancel(name)
            folder = self._at_rest(name, "deleted")
            if writer(folder) is not None:
                raise RefusedError(409, f"the process that searched {name} is still closing; try again in a moment")
            return self._aside.put(folder)

    def restore(self, name: str) -> str:
        """Bring back what was removed; the name it has again."""
        with self._lock:
            return self._aside.bring_back(name)

    def removed(self) -> list[str]:
        """Names of what was removed."""
        return self._aside.names()

    def _keep_going(self) -> None:
        while not self._stopped.wait(EVERY_SECONDS):
            try:
                self.look()
            except OSError as error:
                print(f"the queue waits: {error.strerror or error}", file=sys.stderr)
            except Exception:  # the queue goes on, whatever it was
                traceback.print_exc()

    def look(self) -> None:
        """See which searches have ended, and start what there is room for."""
        with self._lock:
            self._children = [child for child in self._children if child.poll() is None]
            busy = sum(self._under_way(name) for name in self.shelf.all_names())
            for name in self.waiting():
                if busy >= self.settings.running_most:
                    return
                if self._may_start(name):
                    busy += self._started(name)

    def _under_way(self, name: str) -> bool:
        """Whether a folder is searched into, its ticket settled first where its process has ended."""
        folder = self.settings.results / name
        try:
            ticket = self._ticket(name)
            if ticket is not None and ticket.state == "started" and not ticket.alive:
                self._settle(folder, ticket)
            return self.shelf.state(name) in UNDER_WAY
        except (OSError, RefusedError):  # it went, or cannot be written to: no reason for others to wait
            return False

    def _started(self, name: str) -> bool:
        """Whether a search could be started; one that could not waits no longer, and says why."""
        folder = self.settings.results / name
        ticket = self._ticket(name)
        if ticket is None:
            return False
        try:
            self._start(folder, ticket)
        except (OSError, psutil.Error, RecordError) as error:
            why = getattr(error, "strerror", None) or str(error)
            print(f"{name} cannot be started: {why}", file=sys.stderr)
            self._unstartable.add((name, ticket.order))
            with suppress(OSError):
                write_ticket(folder, ticket.model_copy(update={"state": "failed", "message": f"not started: {why}"}))
            return False
        return True

    def _may_start(self, name: str) -> bool:
        """Whether nobody resumed it by hand, and who wrote to it before has ended, for that process holds its lock."""
        folder = self.settings.results / name
        ticket = self._ticket(name)
        if ticket is None or (name, ticket.order) in self._unstartable:
            return False
        try:
            return writer(folder) is None and not ticket.alive and self.shelf.state(name) == "waiting"
        except (OSError, RefusedError):
            return False

    def _settle(self, folder: Path, ticket: Ticket) -> None:
        """Note how a search or extension ended; a disk that takes no note is remembered until it does."""
        message = "" if self.shelf.ended_well(folder, ticket) else last_words(folder)
        try:
            noted = {"state": "failed" if message else "done", "message": message}
            write_ticket(folder, ticket.model_copy(update=noted))
        except OSError as error:
            self.shelf.unnoted[folder.name] = error.strerror or str(error)
            raise
        self.shelf.unnoted.pop(folder.name, None)

    def _start(self, folder: Path, ticket: Ticket) -> None:
        """Note that it starts, start it, note its process: so an end between leaves nothing to be started twice."""
        before = None if is_extension(folder) else self.shelf.files.record(folder / "run.json", RunRecord).end
        gone = {"process": None, "begun": None, "birth": ""}
        noted = ticket.model_copy(update={**gone, "state": "started", "earlier_end": before})
        write_ticket(folder, noted)
        child = launch(folder, ticket)
        try:
            write_ticket(folder, noted.held_by(child.pid))
        except BaseException:
            child.kill()
            child.wait()
            raise
        self._children.append(child)


def _end(name: str, process: psutil.Process) -> None:
    try:
        process.terminate()
    except psutil.NoSuchProcess:
        pass
    except psutil.AccessDenied:
        raise RefusedError(409, f"{name} belongs to another user of this machine") from None
