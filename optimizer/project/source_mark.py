"""A mark of this program, for what is only worth what the code was that made it."""

import hashlib
import sys
from pathlib import Path

import numpy as np

import acoustics
import optimizer


def _source_mark() -> str:
    """A mark of all this program's code and of what runs it."""
    mark = hashlib.sha256(f"{np.__version__} {sys.version}".encode())
    for package in (acoustics, optimizer):
        for path in sorted(Path(str(package.__file__)).parent.rglob("*.py")):
            mark.update(path.name.encode() + path.read_bytes())
    return mark.hexdigest()[:16]


SOURCE_MARK = _source_mark()
"""Taken as what asks for it starts, so that it is the mark of the code that runs; it reads every module."""
