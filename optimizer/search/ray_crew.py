"""Workers that are Ray's actors of one core each, as many as there are cores while nodes come and go."""

from collections.abc import Sequence
from textwrap import shorten
from typing import Any

from optimizer.records.run import PoolKind
from optimizer.search.cluster import Ray
from optimizer.search.proposals import Proposal
from optimizer.search.workers import LostError
from optimizer.solving.processes import ONE_THREAD

SAID_MOST = 200
"""Characters of what Ray says of a lost worker."""


class RayCrew:
    """Actors of a Ray that was opened, and may still be starting.

    Parameters
    ----------
    ray : that Ray
    make : what an actor is: a class that `attempt`s proposals
    given : the class's arguments
    """

    kind: PoolKind = "ray"

    def __init__(self, ray: Ray, make: type, given: tuple[Any, ...]) -> None:
        self._ray, self._make, self._given = ray, make, given

    def cores(self) -> int:
        """As many as the nodes have now, or as were asked for."""
        return self._ray.cores()

    def check(self, at_once: bool = False) -> None:
        """Look whether Ray is there."""
        self._ray.check(at_once)

    def start(self) -> tuple[Any, Any]:
        """A new actor; one that dies is replaced by the pool, not by Ray."""
        import ray

        actors: Any = ray.remote(num_cpus=1, max_restarts=0)(self._make)
        actor = actors.options(runtime_env={"env_vars": ONE_THREAD}).remote(*self._given)
        return actor.__ray_ready__.remote(), actor

    def give(self, worker: Any, proposal: Proposal) -> Any:
        """Send a proposal to an actor."""
        return worker.attempt.remote(proposal)

    def wait(self, tickets: Sequence[Any], patience: float) -> Sequence[Any]:
        """The first answer that comes."""
        import ray

        done, _ = ray.wait(list(tickets), num_returns=1, timeout=patience)
        return list(done)

    def answer(self, ticket: Any) -> Any:
        """What an actor came to.

        Raises
        ------
        LostError
            when it died, or Ray lost it
        """
        import ray

        try:
            return ray.get(ticket)
        except ray.exceptions.RayError as error:
            *_, last = "", *str(error).strip().splitlines()
            raise LostError(shorten(f"{type(error).__name__}: {last}", SAID_MOST)) from None

    def end(self, worker: Any) -> None:
        """End an actor at once."""
        import ray

        ray.kill(worker)
