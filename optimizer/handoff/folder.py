"""A folder written whole or not at all: beside its place first, then moved there."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import mkdtemp

from optimizer.project.faults import Fault, writing


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
    part: Path | None = None
    try:
        with writing(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            part = Path(mkdtemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent))
            yield part
            part.rename(path)
            part = None
    finally:
        if part is not None:
            shutil.rmtree(part, ignore_errors=True)
