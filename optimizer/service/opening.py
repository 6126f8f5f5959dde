"""The one way in which the service opens what lies in a run folder: in a request, in the workshop, by itself."""

from pathlib import Path
from typing import IO, TypeVar

from optimizer.records.files import Record, read_record

AnyRecord = TypeVar("AnyRecord", bound=Record)


def opened(path: Path) -> IO[bytes]:
    """A file of a run folder, to be read and closed; raises OSError where it cannot be opened."""
    return path.open("rb")


def bytes_of(path: Path) -> bytes:
    """All that a file holds; raises as `opened`."""
    with opened(path) as file:
        return file.read()


def text_of(path: Path) -> str:
    """The text of a file, in UTF-8; raises as `opened`."""
    return bytes_of(path).decode("utf-8")


def record_of(path: Path, kind: type[AnyRecord]) -> AnyRecord:
    """The record in a file; raises RecordError as `read_record` does."""
    return read_record(path, kind, bytes_of)
