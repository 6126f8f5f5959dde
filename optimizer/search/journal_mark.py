"""The mark beside a journal: up to where all of its trials are settled, what they came to, and a checksum of it all.

Written every few seconds; a journal that is taken up is read from there on, however long it is. Below what it says
stands the CRC-32 of that, which marks of older releases lack.
"""

import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, BinaryIO

from pydantic import BaseModel, Field

from optimizer.records.files import RecordError, write_bytes

Count = Annotated[int, Field(ge=0, lt=2**53)]
BLOCK = 2**22


class Place(BaseModel):
    """A place between two lines of a journal: bytes (length) and lines before it, and their CRC-32."""

    length: Count = 0
    lines: Count = 0
    crc32: Count = 0

    def after(self, line: bytes) -> "Place":
        """The place after one more line."""
        return Place.model_construct(
            length=self.length + len(line), lines=self.lines + 1, crc32=zlib.crc32(line, self.crc32)
        )


class Mark(BaseModel):
    """What is settled of a journal.

    Attributes
    ----------
    place : where the oldest trial begins that is not settled
    trials : how many are before it, each finished
    done, failed : how many of them ended so
    params : by number, of those whose layouts are in the folder
    """

    place: Place = Place()
    trials: Count = 0
    done: Count = 0
    failed: Count = 0
    params: Mapping[int, Mapping[str, Any]] = {}


def _file_of(journal: Path) -> Path:
    return journal.with_suffix(".mark")


def mark_of(journal: Path) -> Mark:
    """A journal's mark; one at its beginning where there is none.

    Raises
    ------
    RecordError
        when it makes no sense, and when it does not say what was written
    """
    file = _file_of(journal)
    try:
        return Mark.model_validate_json(_as_written(file.read_bytes()))
    except FileNotFoundError:
        return Mark()
    except (ValueError, OSError):
        raise RecordError(
            f"{file} makes no sense; delete it, and the run is taken up by its journal alone, if slowly"
        ) from None


def _as_written(content: bytes) -> bytes:
    """What a mark's file says; raises ValueError where it is not what was written."""
    said, _, check = content.partition(b"\n")
    if check and check != _check_of(said):
        raise ValueError("what is said does not come to its sum")
    return said


def write_mark(journal: Path, mark: Mark) -> None:
    """Write a journal's mark."""
    said = mark.model_dump_json().encode()
    write_bytes(_file_of(journal), said + b"\n" + _check_of(said))


def _check_of(said: bytes) -> bytes:
    """The line below what a mark says."""
    return b"%08x\n" % zlib.crc32(said)


def forget_mark(journal: Path) -> None:
    """Remove the mark of a journal that begins anew, where there is one."""
    _file_of(journal).unlink(missing_ok=True)


def see_it_fits(stream: BinaryIO, mark: Mark, journal: Path) -> None:
    """Read a journal up to its mark.

    Parameters
    ----------
    stream : the journal, at its beginning
    mark : its mark
    journal : its path, to tell of

    Raises
    ------
    RecordError
        when what is there is not what was there
    """
    left, crc32 = mark.place.length, 0
    while left and (block := stream.read(min(left, BLOCK))):
        left, crc32 = left - len(block), zlib.crc32(block, crc32)
    if left or crc32 != mark.place.crc32:
        raise RecordError(
            f"{journal} is not what the search wrote: something in its first {mark.place.lines} lines was changed, cut "
            f"out or cut off. Put the file back as it was; or delete {_file_of(journal)}, and the run is taken up by "
            "what the journal still says"
        )
