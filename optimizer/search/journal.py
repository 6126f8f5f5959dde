"""The journal that Optuna keeps a study in, one line an event: written, and made whole again after any kind of end.

It is written by one process, which holds the run folder's lock; the journal itself needs none, so a killed driver
leaves none behind. A mark beside it tells up to where it is settled, so that the longest is taken up at once.
"""

import json
import os
import time
from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from enum import Enum, auto
from pathlib import Path
from typing import Any

from optuna.storages.journal import BaseJournalBackend
from optuna.trial import TrialState

from optimizer.records.files import RecordError
from optimizer.search.journal_mark import Mark, Place, mark_of, see_it_fits, write_mark
from optimizer.words import counted

SYNC_SECONDS = 1.0
BEGINS_TRIAL = 4
"""Optuna's code for the line that enters a trial."""


class Journal(BaseJournalBackend):
    """A journal that forces its lines to the disk at most once in `SYNC_SECONDS`, and leaves the rest to the system.

    As nobody else writes, the file is read once, from its mark on, and what is written afterwards is known.

    A killed process loses nothing of what it wrote; a machine that dies may lose the lines since the last time.

    Attributes
    ----------
    mark : what was settled when it was opened
    """

    def __init__(self, path: Path) -> None:
        self._path, self._synced_at = path, float("-inf")
        self._path.touch()
        self.mark = mark_of(path)
        self._at, self._begun = self.mark.place, deque[Place]()
        self._unread: Iterable[dict[str, Any]] = self._kept()

    def read_logs(self, log_number_from: int) -> Iterable[dict[str, Any]]:
        """What was not read yet, which is all that is ever asked for."""
        del log_number_from
        unread, self._unread = self._unread, []
        return unread

    def _kept(self) -> Iterator[dict[str, Any]]:
        """What the file says: its first line, of the study, and all from the mark on."""
        with self._path.open("rb") as stream:
            if self._at.length:
                yield json.loads(stream.readline())
                stream.seek(self._at.length)
            for line in stream:
                entry = json.loads(line)
                self._pass(line, entry)
                yield entry

    def _pass(self, line: bytes, entry: Mapping[str, Any]) -> None:
        if entry["op_code"] == BEGINS_TRIAL:
            self._begun.append(self._at)
        self._at = self._at.after(line)

    def append_logs(self, logs: list[dict[str, Any]]) -> None:
        """Add lines at the end."""
        lines = [json.dumps(log, separators=(",", ":")).encode() + b"\n" for log in logs]
        with open(self._path, "ab", opener=_there) as stream:
            stream.write(b"".join(lines))
            stream.flush()
            if time.monotonic() - self._synced_at > SYNC_SECONDS:
                os.fsync(stream.fileno())
                self._synced_at = time.monotonic()
        for line, log in zip(lines, logs, strict=True):
            self._pass(line, log)
        self._unread = [*self._unread, *map(json.loads, lines)]

    def settle_first(self) -> None:
        """Count the oldest trial that was not as settled: nothing more will be said of it."""
        self._begun.popleft()

    def write_mark(self, settled: Mark) -> None:
        """Mark that so much is settled, up to the place where the oldest trial begins that is not; lines before that
        are on the disk by then."""
        with open(self._path, "ab", opener=_there) as stream:
            os.fsync(stream.fileno())
        self._synced_at = time.monotonic()
        place = self._begun[0] if self._begun else self._at
        write_mark(self._path, settled.model_copy(update={"place": place}))


def _there(path: str, flags: int) -> int:
    """Open a file that is there, and make none anew that was removed."""
    return os.open(path, flags & ~os.O_CREAT)


def mended_journal(journal: Path, least: int) -> list[str]:
    """Cut a journal back to what it must hold: whole lines, and no idle trials at its end.

    A kill or a full disk breaks off the last line. Idle are trials that were entered as failed and never asked for, so
    that the number of a saved layout is not given out again; beyond that number they stand for nothing.

    Parameters
    ----------
    journal : its path
    least : how many trials it must keep, idle ones included

    Returns
    -------
    list of str
        what was cut off, in words

    Raises
    ------
    RecordError
        when another line than the last is broken, and when what its mark tells of is not there any more
    """
    mark, told = mark_of(journal), []
    at, lines, trials, idle = mark.place.length, mark.place.lines, mark.trials, list[int]()
    with journal.open("r+b") as stream:
        see_it_fits(stream, mark, journal)
        for line in stream:
            kind = _kind_of(line)
            if kind is _Line.BROKEN:
                if stream.read(1):
                    raise RecordError(
                        f"{journal} is broken at line {lines + 1}; the run cannot be taken up. Put the file back as it "
                        "was, or delete it from that line on: what was told there is searched for anew"
                    )
                told.append("its last line, cut off in mid-write, is dropped")
                break
            trials += kind in (_Line.TRIAL, _Line.IDLE)
            idle = [*idle, at] if kind is _Line.IDLE else []
            at, lines = at + len(line), lines + 1
        surplus = min(len(idle), max(trials - least, 0))
        if surplus:
            at = idle[-surplus]
            told.append(f"{counted(surplus, 'trial')} at its end that nobody asked for, cut off")
        if told:
            stream.truncate(at)
            os.fsync(stream.fileno())
    return told


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
