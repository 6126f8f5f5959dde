"""Marks: short names of what a project says, equal only where all of it is."""

import hashlib

from pydantic import BaseModel


def mark_of(*parts: object) -> str:
    """A mark of pydantic models and plain data."""
    text = "\n".join(part.model_dump_json() if isinstance(part, BaseModel) else repr(part) for part in parts)
    return hashlib.sha256(text.encode()).hexdigest()[:24]
