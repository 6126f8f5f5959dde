"""A ticket in a run folder: what the service was asked to do with it, and how far that is.

All that the service knows is in the run folders: a ticket says what was asked for and which process has it, the
search's own lock who writes. So a service that is killed finds its queue and its searches when it starts again.
"""

import socket
import time
from os.path import isfile
from pathlib import Path
from typing import Annotated, Literal, Self

import psutil
from pydantic import Field

from optimizer.records.files import Record, write_record
from optimizer.search.birth import birth_of
from optimizer.search.lock import PROCESS_MOST
from optimizer.search.run_folder import now
from optimizer.service.kept_files import KeptFiles

NAME = "ticket.json"
_FILES = KeptFiles()


class Ticket(Record):
    """One start of a search, or of the solves of an extension, which has all its limits from its ticket.

    title : what it is, in words, until there is a record; keep, redrill : of an extension
    order : seconds since 1970, or more, so that it is behind all that waited; process, begun, birth, host : which
    process, since when (of the day, and as `birth_of`) and where
    earlier_end : the end that its run had come to before, as `RunRecord.end`
    """

    schema_name: Literal["holewright-ticket"] = "holewright-ticket"
    schema_version: str = "1.0.0"
    state: Literal["waiting", "started", "done", "failed"] = "waiting"
    asked: str
    order: float
    minutes: float | None = None
    trials: int | None = None
    idle_minutes: float | None = None
    workers: int | None = None
    title: str = ""
    keep: int | None = None
    redrill: int | None = None
    process: Annotated[int | None, Field(gt=0, le=PROCESS_MOST)] = None
    begun: float | None = None
    birth: str = ""
    host: str = ""
    earlier_end: str | None = None
    message: str = ""

    def held_by(self, process: int) -> Self:
        """This ticket with the process that has it; raises psutil.Error where there is none."""
        begun = psutil.Process(process).create_time()
        own = {"process": process, "begun": begun, "birth": birth_of(process), "host": socket.gethostname()}
        return self.model_copy(update=own)

    def after(self, former: Self) -> Self:
        """This ticket with the process of a former one, which may still be closing."""
        return self.model_copy(update={name: getattr(former, name) for name in ("process", "begun", "birth", "host")})

    @property
    def alive(self) -> bool:
        """Whether its process still runs."""
        return self.running is not None

    @property
    def running(self) -> psutil.Process | None:
        """Its process, while that runs on this machine; another that was given its number since does not count."""
        if self.process is None or self.begun is None or self.host != socket.gethostname():
            return None
        found = runs(self.process, self.birth, self.begun)
        return found if found is not None and (self.birth or found.create_time() >= self.begun - 1.0) else None


def runs(process: int, birth: str, begun_by: float) -> psutil.Process | None:
    """The process of that number and birth, as a number may have been given out again since; where no birth is known,
    the one that had begun by then, which a step of the clock may hide."""
    try:
        found = psutil.Process(process)
        known = birth_of(process) == birth if birth else found.create_time() <= begun_by + 1.0
        return found if known and found.status() != psutil.STATUS_ZOMBIE else None
    except psutil.Error:
        return None


def new_ticket(**wanted: float | int | str | None) -> Ticket:
    """A ticket of this moment."""
    return Ticket.model_validate({"asked": now(), "order": time.time(), **wanted})


def read_ticket(folder: Path) -> Ticket | None:
    """The ticket of a run folder; None where there is none.

    Raises
    ------
    RecordError
        when there is one that cannot be read
    """
    return _FILES.record(folder / NAME, Ticket) if isfile(folder / NAME) else None


def write_ticket(folder: Path, ticket: Ticket) -> None:
    """Put a ticket into a run folder."""
    write_record(folder / NAME, ticket)
