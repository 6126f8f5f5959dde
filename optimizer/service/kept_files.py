"""Files of run folders, read once for each time that they change."""

import os
from collections import OrderedDict
from pathlib import Path
from threading import Lock
from typing import TypeVar

from optimizer.records.files import Record, RecordError
from optimizer.service.opening import record_of

AnyRecord = TypeVar("AnyRecord", bound=Record)
MOST = 4096
NONE = 0, 0, 0


class KeptFiles:
    """Records and their JSON by path, size and time of change; the least used go first."""

    def __init__(self) -> None:
        self._found: OrderedDict[tuple[Path, type[Record]], tuple[tuple[int, int, int], Record, bytes]] = OrderedDict()
        self._lock = Lock()

    def record(self, path: Path, kind: type[AnyRecord]) -> AnyRecord:
        """The record in a file; raises RecordError as `read_record` does."""
        found = self._entry(path, kind)[1]
        assert isinstance(found, kind)
        return found

    def json(self, path: Path, kind: type[Record]) -> tuple[bytes, str]:
        """The record's JSON as of this program's schema, and a tag that changes when the file does."""
        mark, _, text = self._entry(path, kind)
        return text, tag_of(mark)

    def _entry(self, path: Path, kind: type[Record]) -> tuple[tuple[int, int, int], Record, bytes]:
        mark = _mark(path)
        if mark == NONE:
            raise RecordError(f"there is no file {path}")
        with self._lock:
            entry = self._found.get((path, kind))
            if entry is not None and entry[0] == mark:
                self._found.move_to_end((path, kind))
                return entry
        record = record_of(path, kind)
        entry = mark, record, record.model_dump_json().encode()
        with self._lock:
            self._found[path, kind] = entry
            while len(self._found) > MOST:
                self._found.popitem(last=False)
        return entry


def _mark(path: Path) -> tuple[int, int, int]:
    try:
        found = path.stat()
    except OSError:
        return NONE
    return state_of(found)


def state_of(found: os.stat_result) -> tuple[int, int, int]:
    """What of a file is another number once it changes."""
    return found.st_ino, found.st_size, found.st_mtime_ns


def tag_of(state: tuple[int, int, int]) -> str:
    """The entity tag of a file in a state, quoted (RFC 9110, 8.8.3)."""
    return '"' + "-".join(f"{number:x}" for number in state) + '"'
