"""One writer for a run folder: a lock that the system itself lets go of when its holder dies."""

import os
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, Field, ValidationError

from optimizer.project.faults import Fault
from optimizer.records.locks import file_to_lock, lock
from optimizer.search.birth import birth_of

PROCESS_MOST = 2**31 - 1


class RunInUseError(Fault):
    """Another search writes to the folder; the message says which."""


class Holder(BaseModel):
    """Who holds a lock, as it notes there: its process's number and birth (empty where none is told, and in older
    notes), and the machine it runs on."""

    process: Annotated[int, Field(gt=0, le=PROCESS_MOST)]
    host: Annotated[str, Field(max_length=300)]
    birth: Annotated[str, Field(max_length=300)] = ""


def this_process() -> Holder:
    """This very process as a holder."""
    return Holder(process=os.getpid(), host=socket.gethostname(), birth=birth_of(os.getpid()))


def holder_of(note: bytes) -> Holder | None:
    """Who holds the lock with this note in it; None where it is none."""
    try:
        return Holder.model_validate_json(note)
    except ValidationError:
        return None


@contextmanager
def sole_writer(folder: Path) -> Iterator[None]:
    """Hold a run folder for this process alone.

    Raises
    ------
    RunInUseError
        when another process holds it
    LockError
        where nothing can be locked
    OSError
        when the folder cannot be written to
    """
    descriptor = file_to_lock(folder / "lock", 0o644)
    try:
        try:
            lock(descriptor, str(folder))
        except BlockingIOError:
            raise RunInUseError(_sentence(folder, os.read(descriptor, 1000))) from None
        os.ftruncate(descriptor, 0)
        os.write(descriptor, this_process().model_dump_json().encode())
        yield
    finally:
        os.close(descriptor)


def _sentence(folder: Path, note: bytes) -> str:
    holder = holder_of(note)
    whose = f"process {holder.process} on {holder.host}" if holder else "another process"
    return f"{folder} is being written by {whose}; stop that search first, or search into another folder"
