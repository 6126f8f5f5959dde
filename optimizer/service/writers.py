"""Who searches into a run folder, of this machine or another.

The lock itself is not tried: to hold it for a moment could turn a search away that begins just then.
"""

import socket
import time
from pathlib import Path

import psutil

from optimizer.search.lock import Holder, holder_of
from optimizer.service.opening import opened
from optimizer.service.tickets import runs

SILENT_SECONDS = 60.0
"""So long a search of another machine may say nothing of its progress, which it does every few seconds."""

_heard: dict[Path, tuple[int, float]] = {}
"""When progress of another machine was written last, by its clock, and when that was seen first, by this one's that
nobody sets."""


def writer(folder: Path) -> psutil.Process | None:
    """The process of this machine that searches into a folder."""
    try:
        holder = _holder(folder)
        if holder is None or holder.host != socket.gethostname():
            return None
        return runs(holder.process, holder.birth, (folder / "lock").stat().st_mtime)
    except OSError:
        return None


def written_elsewhere(folder: Path) -> bool:
    """Whether a process of another machine, on a shared disk, is searching into a folder.

    Both clocks are asked at the first look alone; from then on it is whether anything was written since.
    """
    try:
        holder, noted = _holder(folder), (folder / "progress.json").stat()
    except OSError:
        return False
    if holder is None or holder.host == socket.gethostname():
        return False
    before, since = _heard.get(folder, (None, float("-inf")))
    if noted.st_mtime_ns != before:
        new = before is not None or abs(time.time() - noted.st_mtime) < SILENT_SECONDS
        since = time.monotonic() if new else float("-inf")
        _heard[folder] = noted.st_mtime_ns, since
    return time.monotonic() - since < SILENT_SECONDS


def _holder(folder: Path) -> Holder | None:
    """Who wrote last that it holds the lock."""
    with opened(folder / "lock") as file:
        return holder_of(file.read(1000))
