"""The journal that Optuna keeps a study in, one line an event: written, and made whole again after any kind of end.

It is written by one process, which holds the run folder's lock; the journal itself needs none, so a killed driver
leaves none behind.
"""

import json
import os
import time
from enum import Enum, auto
from pathlib import Path
from typing import Any

from optuna.storages.journal import BaseJournalBackend
from optuna.trial import TrialState

from optimizer.records.files import RecordError

SYNC_SECONDS = 1.0
BEGINS_TRIAL = 4
"""Optuna's code for the line that enters a trial."""


class Journal(BaseJournalBackend):
    """A journal that forces its lines to the disk at most once in `SYNC_SECONDS`, and leaves the rest to the system.

    As nobody else writes, the file is read once, and what is written afterwards is known.

    A killed process loses nothing of what it wrote; a machine that dies may lose the lines since the last time.
    """

    def __init__(self, path: Path) -> None:
        self._path, self._synced_at = path, float("-inf")
        self._path.touch()
        self._unread, self._first = path.read_text(encoding="utf-8").splitlines(), 0

    def read_logs(self, log_number_from: int) -> list[dict[str, Any]]:
        """The lines from a number on; those before it are not asked for again."""
        del self._unread[: log_number_from - self._first]
        self._first = log_number_from
        return [json.loads(line) for line in self._unread]

    def append_logs(self, logs: list[dict[str, Any]]) -> None:
        """Add lines at the end."""
        lines = [json.dumps(log, separators=(",", ":")) for log in logs]
        with open(self._path, "ab", opener=_there) as stream:
            stream.write("".join(line + "\n" for line in lines).encode())
            stream.flush()
            if time.monotonic() - self._synced_at > SYNC_SECONDS:
                os.fsync(stream.fileno())
                self._synced_at = time.monotonic()
        self._unread += lines


def _there(path: str, flags: int) -> int:
    """Open a file that is there, and make none anew that was removed."""
    return os.open(path, flags & ~os.O_CREAT)


def mended_journal(journal: Path, least: int) -> int:
    """Cut a journal back to what it must hold: whole lines, and no idle trials at its end.

    A kill or a full disk breaks off the last line. Idle are trials that were entered as failed and never asked for, so
    that the number of a saved layout is not given out again; beyond that number they stand for nothing.

    Parameters
    ----------
    journal : its path
    least : how many trials it must keep, idle ones included

    Returns
    -------
    int
        how many idle trials were cut off

    Raises
    ------
    RecordError
        when another line than the last is broken
    """
    with journal.open("r+b") as stream:
        lines = stream.readlines()
        kinds = [_kind_of(line) for line in lines]
        broken = kinds.index(_Line.BROKEN) if _Line.BROKEN in kinds else len(lines)
        if broken < len(lines) - 1:
            raise RecordError(f"{journal} is broken at line {broken + 1}; the run cannot be taken up")
        keep, trials = broken, sum(kind in (_Line.TRIAL, _Line.IDLE) for kind in kinds)
        while trials > least and kinds[keep - 1] is _Line.IDLE:
            keep, trials = keep - 1, trials - 1
        if keep < len(lines):
            stream.truncate(sum(map(len, lines[:keep])))
            os.fsync(stream.fileno())
    return broken - keep


class _Line(Enum):
    """What a line of a journal is: broken, the beginning of a trial, of one that was never asked for, anything else."""

    BROKEN, TRIAL, IDLE, OTHER = auto(), auto(), auto(), auto()


def _kind_of(line: bytes) -> _Line:
    try:
        entry = json.loads(line) if line.endswith(b"\n") else None
    except (ValueError, RecursionError):
        entry = None
    if not isinstance(entry, dict):
        return _Line.BROKEN
    if entry.get("op_code") != BEGINS_TRIAL:
        return _Line.OTHER
    known = entry.get("params") or entry.get("user_attrs") or entry.get("system_attrs")
    return _Line.IDLE if entry.get("state") == TrialState.FAIL and not known else _Line.TRIAL
