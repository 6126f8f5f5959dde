"""A folder written whole or not at all: beside its place first, then moved there.

What is being written is locked by whoever writes it, and the system lets go of the lock when that process dies: so what
a killed one has left is known, and the next that writes a folder of the name clears it away. Where folders cannot be
locked it stays.
"""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from glob import escape
from pathlib import Path
from tempfile import mkdtemp

from optimizer.project.faults import Fault, writing
from optimizer.records.files import once_free
from optimizer.records.locks import LOCKS_FOLDERS, LockError, folder_to_lock, lock

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
    part, held = None, None
    try:
        with writing(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            _clear_left_overs(path)
            part, held = _begun(path)
            yield part
            once_free(partial(part.rename, path))
            part = None
    finally:
        if held is not None:
            os.close(held)
        if part is not None:
            shutil.rmtree(part, ignore_errors=True)


def _begun(path: Path) -> tuple[Path, int | None]:
    """A new folder beside a place, and the lock on it, if there can be one."""
    while True:
        part = Path(mkdtemp(prefix=f".{path.name}.", suffix=PART, dir=path.parent))
        if not LOCKS_FOLDERS:
            return part, None
        try:
            held = folder_to_lock(part)
        except FileNotFoundError:  # another took it for a left-over before it was locked
            continue
        lock(held, path.name, wait=True)
        if part.exists():  # else the same while it was
            return part, held
        os.close(held)


def _clear_left_overs(path: Path) -> None:
    """Remove what killed processes left beside a place; nothing that one still writes."""
    for part in path.parent.glob(f".{escape(path.name)}.*{PART}") if LOCKS_FOLDERS else ():
        try:
            held = folder_to_lock(part)
        except OSError:
            continue
        try:
            lock(held, path.name)
            shutil.rmtree(part, ignore_errors=True)
        except (OSError, LockError):
            continue
        finally:
            os.close(held)
