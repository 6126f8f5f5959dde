"""How long a search may take."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    pass


@dataclass(frozen=True)
class Limits:
    """When to stop and how wide to run; trials count from this start on, idle_minutes without a gain end the search."""

    minutes: float | None
    trials: int | None
    workers: int | None
    seed: int
    idle_minutes: float | None = None
