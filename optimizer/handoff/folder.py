"""A folder written whole or not at all: beside its place first, then moved there.

What is being written is locked by whoever writes it, and the system lets go of the lock when that process dies: so what
a killed one has left is known, and the next that writes a folder of the name clears it away.
"""

import fcntl
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from glob import escape
from pathlib import Path
from tempfile import mkdtemp

from optimizer.project.faults import Fault, writing

PART = ".part"


@contextmanager
def whole_folder(path: Path) -> Iterator[Path]:
    """A folder to fill, its owner's alone, which becomes the one wanted once it is full; nothing stays otherwise.

    Parameters
    ----------
    path : the folder wanted

    Raises
    ------
    Fault
        where there is something of that name, and where the system does not let us write
    """
    if path.exists() or path.is_symlink():
        raise Fault(f"{path} is there already; name a folder that is not, or move that one away")
    if path.parent.exists() and not path.parent.is_dir():
        raise Fault(f"{path.parent} is no folder")
    part, lock = None, None
    try:
        with writing(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            _clear_left_overs(path)
            part, lock = _begun(path)
            yield part
            part.rename(path)
            part = None
    finally:
        if lock is not None:
            os.close(lock)
        if part is not None:
            shutil.rmtree(part, ignore_errors=True)


def _begun(path: Path) -> tuple[Path, int]:
    """A new folder beside a place, and the lock on it."""
    while True:
        part = Path(mkdtemp(prefix=f".{path.name}.", suffix=PART, dir=path.parent))
        try:
            lock = os.open(part, os.O_RDONLY)
        except FileNotFoundError:  # another took it for a left-over before it was locked
            continue
        fcntl.flock(lock, fcntl.LOCK_EX)
        if part.exists():  # else the same while it was
            return part, lock
        os.close(lock)


def _clear_left_overs(path: Path) -> None:
    """Remove what killed processes left beside a place; nothing that one still writes."""
    for part in path.parent.glob(f".{escape(path.name)}.*{PART}"):
        try:
            lock = os.open(part, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
        except OSError:
            continue
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            shutil.rmtree(part, ignore_errors=True)
        except OSError:
            continue
        finally:
            os.close(lock)
