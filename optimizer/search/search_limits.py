"""How long a search may take."""

from dataclasses import dataclass

from optimizer.project.model import SearchSection


@dataclass(frozen=True)
class Limits:
    """When to stop and how wide to run; trials count from this start on, idle_minutes without a gain end the search."""

    minutes: float | None
    trials: int | None
    workers: int | None
    seed: int
    idle_minutes: float | None = None


def limits_of(
    project: SearchSection,
    *,
    minutes: float | None = None,
    trials: int | None = None,
    idle_minutes: float | None = None,
    workers: int | None = None,
    seed: int | None = None,
) -> Limits:
    """The limits of a search: what is asked for, else what its project says.

    A project's minutes end a search that is given no end of its own: neither minutes, trials nor idle_minutes.
    """
    endless = trials is None and idle_minutes is None
    return Limits(
        minutes=minutes or (project.minutes if endless else None),
        trials=trials or project.trials,
        workers=workers or project.workers,
        seed=project.seed if seed is None else seed,
        idle_minutes=idle_minutes,
    )
