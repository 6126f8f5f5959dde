"""Marks: short names of what a project or this program says, equal only where all of it is."""

import hashlib
import sys
from pathlib import Path

import numpy as np
from pydantic import BaseModel

import acoustics
import optimizer


def mark_of(*parts: object) -> str:
    """A mark of pydantic models and plain data."""
    text = "\n".join(part.model_dump_json() if isinstance(part, BaseModel) else repr(part) for part in parts)
    return hashlib.sha256(text.encode()).hexdigest()[:24]


def _source_mark() -> str:
    """A mark of all this program's code and of what runs it."""
    mark = hashlib.sha256(f"{np.__version__} {sys.version}".encode())
    for package in (acoustics, optimizer):
        for path in sorted(Path(str(package.__file__)).parent.rglob("*.py")):
            mark.update(path.name.encode() + path.read_bytes())
    return mark.hexdigest()[:16]


SOURCE_MARK = _source_mark()
"""Taken as the program starts, so that it is the mark of the code that runs."""
