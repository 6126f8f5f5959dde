"""Models whose reader and writer are built when the first one is met, as a command meets few kinds."""

from typing import Any

from pydantic import BaseModel, ConfigDict


class BuiltLate(BaseModel):
    """A model built when it is first met, by the names of its own module alone.

    Left to itself, Pydantic looks among the local names of whoever meets it first, too. One of them may hide a type,
    and Python 3.13.0 ends the whole process when they are copied within a comprehension.
    """

    model_config = ConfigDict(defer_build=True)

    @classmethod
    def model_rebuild(cls, **asked: Any) -> bool | None:
        """As Pydantic's own, with no names but those that are asked for."""
        return super().model_rebuild(**asked | {"_types_namespace": asked.get("_types_namespace") or {}})
