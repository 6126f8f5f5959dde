"""The one way in which the service opens what lies in a run folder: in a request, in the workshop, by itself.

The results folder is given without links (`optimizer.commands.serve`), so that any link on the way to a file was put
there by somebody else, and may lead out of the folder: none is followed, be it the file, a folder or the run itself.
"""

import errno
import os
import stat
from pathlib import Path
from typing import IO, TypeVar

from optimizer.records.files import Record, read_record

AnyRecord = TypeVar("AnyRecord", bound=Record)

ON_THE_WAY = getattr(os, "O_PATH", os.O_RDONLY)
"""How a folder is opened that is only gone through; macOS has to read it."""


def opened(path: Path) -> IO[bytes]:
    """A plain file of a run folder, to be read and closed.

    Raises
    ------
    FileNotFoundError
        also where a link lies on the way to it, or where it is no plain file
    OSError
        where it cannot be opened
    """
    descriptor = _descriptor(path, os.O_RDONLY)
    if not stat.S_ISREG(os.fstat(descriptor).st_mode):
        os.close(descriptor)
        raise FileNotFoundError(errno.ENOENT, "no plain file", str(path))
    return os.fdopen(descriptor, "rb")


def emptied(path: Path) -> IO[bytes]:
    """A file of a run folder, new or emptied, to be written and closed; raises as `opened`."""
    return os.fdopen(_descriptor(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), "wb")


def _descriptor(path: Path, flags: int) -> int:
    """A path opened folder by folder, so that none of them can become a link meanwhile."""
    *above, name = path.absolute().parts
    within: int | None = None
    try:
        for part in above:
            below = os.open(part, ON_THE_WAY | os.O_DIRECTORY | os.O_NOFOLLOW | os.O_CLOEXEC, dir_fd=within)
            if within is not None:
                os.close(within)
            within = below
        return os.open(name, flags | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC, 0o600, dir_fd=within)
    except OSError as error:
        if error.errno in (errno.ELOOP, errno.ENOTDIR, errno.ENXIO):  # ENXIO: a pipe that nobody reads
            raise FileNotFoundError(errno.ENOENT, "no plain file", str(path)) from None
        raise
    finally:
        if within is not None:
            os.close(within)


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
