"""Workers that are Ray's actors of one core each, as the process that uses Ray (`ray_process`) knows them."""

import itertools
from collections.abc import Sequence
from textwrap import shorten
from typing import Any

from optimizer.search.cluster import Opened
from optimizer.search.proposals import Proposal
from optimizer.search.workers import LostError
from optimizer.solving.processes import ONE_THREAD

SAID_MOST = 200
"""Characters of what Ray says of a lost worker."""


class Actors:
    """Actors of an opened Ray. Each, and each answer to come, has a number, by which the driver speaks of it.

    Parameters
    ----------
    opened : that Ray
    make : what an actor is: a class that `attempt`s proposals
    given : the class's arguments
    """

    def __init__(self, opened: Opened, make: type, given: tuple[Any, ...]) -> None:
        self._opened, self._make, self._given = opened, make, given
        self._actors: dict[int, Any] = {}
        self._answers: dict[int, Any] = {}
        self._numbers = itertools.count()

    def cores(self) -> int:
        """As many as the nodes have now, or as were asked for."""
        return self._opened.cores()

    def check(self) -> None:
        """Look whether Ray's processes here run."""
        self._opened.check()

    def start(self) -> tuple[int, int]:
        """A new actor; one that dies is replaced by the pool, not by Ray."""
        import ray

        actors: Any = ray.remote(num_cpus=1, max_restarts=0)(self._make)
        worker = next(self._numbers)
        self._actors[worker] = actors.options(runtime_env={"env_vars": ONE_THREAD}).remote(*self._given)
        return self._expected(self._actors[worker].__ray_ready__.remote()), worker

    def give(self, worker: int, proposal: Proposal) -> int:
        """Send a proposal to an actor."""
        return self._expected(self._actors[worker].attempt.remote(proposal))

    def _expected(self, answer: Any) -> int:
        ticket = next(self._numbers)
        self._answers[ticket] = answer
        return ticket

    def wait(self, tickets: Sequence[int], patience: float) -> Sequence[int]:
        """The first answer that comes."""
        import ray

        expected = {self._answers[ticket]: ticket for ticket in tickets}
        done, _ = ray.wait(list(expected), num_returns=1, timeout=patience)
        return [expected[answer] for answer in done]

    def answer(self, ticket: int) -> Any:
        """What an actor came to.

        Raises
        ------
        LostError
            when it died, or Ray lost it
        """
        import ray

        try:
            return ray.get(self._answers.pop(ticket))
        except ray.exceptions.RayError as error:
            *_, last = "", *str(error).strip().splitlines()
            raise LostError(shorten(f"{type(error).__name__}: {last}", SAID_MOST)) from None

    def end(self, worker: int) -> None:
        """End an actor at once."""
        import ray

        ray.kill(self._actors.pop(worker))
