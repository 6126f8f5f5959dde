"""Locks that the system lets go of when their holder ends, however it ends.

Linux and macOS lock files and folders; Windows locks bytes of files, and opens no folder.
"""

import importlib
import os
import time
from pathlib import Path
from typing import Any

LOCKS_FOLDERS = hasattr(os, "O_DIRECTORY")
IN_FOLDER = ".lock"
"""The file of a folder that stands for it where folders cannot be locked."""

FAR = 2**30
"""The byte that stands for a file: beyond all that it holds, as a locked one cannot be read."""

AGAIN_SECONDS = 0.05


def file_to_lock(path: Path, mode: int = 0o600) -> int:
    """Descriptor of a file, made where there is none, that follows no link; raises OSError."""
    return os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0), mode)


def folder_to_lock(folder: Path) -> int:
    """Descriptor that stands for a folder that is there, and is no link; raises OSError."""
    if LOCKS_FOLDERS:
        return os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    return file_to_lock(folder / IN_FOLDER)


def lock(descriptor: int, wait: bool = False) -> None:
    """Lock what was opened, until it is closed.

    Parameters
    ----------
    descriptor : of a file or folder
    wait : until nobody else holds it

    Raises
    ------
    BlockingIOError
        when another holds it, unless it is waited for
    """
    try:
        import fcntl
    except ImportError:
        _lock_byte(descriptor, wait)
    else:
        fcntl.flock(descriptor, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))


def _lock_byte(descriptor: int, wait: bool) -> None:
    windows: Any = importlib.import_module("msvcrt")
    at = os.lseek(descriptor, 0, os.SEEK_CUR)
    os.lseek(descriptor, FAR, os.SEEK_SET)
    try:
        while not _locked(windows, descriptor, wait):
            time.sleep(AGAIN_SECONDS)
    finally:
        os.lseek(descriptor, at, os.SEEK_SET)


def _locked(windows: Any, descriptor: int, wait: bool) -> bool:
    try:
        windows.locking(descriptor, windows.LK_NBLCK, 1)
    except OSError as error:
        if not wait:
            raise BlockingIOError(*error.args) from None
        return False
    return True
