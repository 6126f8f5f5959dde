"""One writer for a run folder: a lock that the system itself lets go of when its holder dies."""

import fcntl
import json
import os
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from optimizer.project.faults import Fault


class RunInUseError(Fault):
    """Another search writes to the folder; the message says which."""


@contextmanager
def sole_writer(folder: Path) -> Iterator[None]:
    """Hold a run folder for this process alone.

    Raises
    ------
    RunInUseError
        when another process holds it
    OSError
        when the folder cannot be written to
    """
    descriptor = os.open(folder / "lock", os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW, 0o600)
    try:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise RunInUseError(_sentence(folder, os.read(descriptor, 1000))) from None
        os.ftruncate(descriptor, 0)
        os.write(descriptor, json.dumps({"process": os.getpid(), "host": socket.gethostname()}).encode())
        yield
    finally:
        os.close(descriptor)


def _sentence(folder: Path, note: bytes) -> str:
    try:
        holder = json.loads(note)
        whose = f"process {int(holder['process'])} on {holder['host']}"
    except (ValueError, TypeError, KeyError):
        whose = "another process"
    return f"{folder} is being written by {whose}; stop that search first, or search into another folder"
