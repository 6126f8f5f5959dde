"""Locks that the system lets go of when their holder ends, however it ends.

Linux and macOS lock files and folders; Windows locks bytes of files, and opens no folder.
"""

import errno
import importlib
import os
import time
from pathlib import Path
from typing import Any

from optimizer.project.faults import Fault

LOCKS_FOLDERS = hasattr(os, "O_DIRECTORY")
IN_FOLDER = ".lock"
"""The file of a folder that stands for it where folders cannot be locked."""

FAR = 2**30
"""The byte that stands for a file: beyond all that it holds, as a locked one cannot be read."""

AGAIN_SECONDS = 0.05
WAIT_SECONDS = 60.0
"""So long a lock is waited for: what is written under one takes moments."""

TAKEN = {errno.EAGAIN, errno.EACCES, errno.EDEADLK}
"""What the system says of a lock that another holds; Windows: the second (Microsoft's reference of `_locking`)."""

NO_LOCKS = "{what} lies on a drive that locks no files ({why}), where two programs may spoil it; move it"
HELD_ON = "another program has been writing to {what} for {seconds:.0f} s, or hangs; see to it, then try again"


class LockError(Fault):
    """A lock that cannot be had; the message says why."""


def file_to_lock(path: Path, mode: int = 0o600) -> int:
    """Descriptor of a file, made where there is none, that follows no link; raises OSError."""
    return os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0), mode)


def folder_to_lock(folder: Path) -> int:
    """Descriptor that stands for a folder that is there, and is no link; raises OSError."""
    if LOCKS_FOLDERS:
        return os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    return file_to_lock(folder / IN_FOLDER)


def lock(descriptor: int, what: str, wait: bool = False) -> None:
    """Lock what was opened, until it is closed.

    Parameters
    ----------
    descriptor : of a file or folder
    what : the file or folder, as it is to be told
    wait : until nobody else holds it, but no longer than `WAIT_SECONDS`

    Raises
    ------
    BlockingIOError
        when another holds it, unless it is waited for
    LockError
        when it was waited for in vain, and where nothing can be locked
    """
    until = time.monotonic() + WAIT_SECONDS
    while True:
        try:
            return _lock_now(descriptor)
        except OSError as error:
            if error.errno not in TAKEN:
                raise LockError(NO_LOCKS.format(what=what, why=error.strerror or error)) from error
            if not wait:
                raise BlockingIOError(*error.args) from None
            if time.monotonic() > until:
                raise LockError(HELD_ON.format(what=what, seconds=WAIT_SECONDS)) from None
        time.sleep(AGAIN_SECONDS)


def _lock_now(descriptor: int) -> None:
    try:
        import fcntl
    except ImportError:
        _lock_byte(descriptor)
    else:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)


def _lock_byte(descriptor: int) -> None:
    windows: Any = importlib.import_module("msvcrt")
    at = os.lseek(descriptor, 0, os.SEEK_CUR)
    os.lseek(descriptor, FAR, os.SEEK_SET)
    try:
        windows.locking(descriptor, windows.LK_NBLCK, 1)
    finally:
        os.lseek(descriptor, at, os.SEEK_SET)
