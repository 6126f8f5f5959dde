"""The pool of workers: Ray actors of one core each, as many as there are cores while nodes come and go.

A worker reads the project once. One that dies costs its running trial, which is solved again elsewhere; it is
replaced as long as there is a core for it.
"""

import time
from collections.abc import Callable, Iterator
from typing import Any, Protocol

from optimizer.parallel import ONE_THREAD
from optimizer.project_file import LoadedProject
from optimizer.proposals import Proposal
from optimizer.trial import Result, Solver

RETRIES = 3
"""So often a trial is solved again after losing its worker; machines that leave may take one trial more than once."""

FOLLOW_SECONDS = 2.0
MAX_ROUNDS = 5
"""So many rounds of workers that all fail to start, with none at work, end the search."""


class Check(Protocol):
    """Raises ConnectionError when Ray itself is gone; looks every so often only, unless asked to look at once."""

    def __call__(self, at_once: bool = False) -> None: ...


class Workers:
    """A pool of actors; at most one proposal each.

    cores : how many workers there may be now; asked every `FOLLOW_SECONDS`
    check : raises ConnectionError when Ray itself is gone; asked before every wait, and at once before whatever would
        wait for a dead head
    """

    def __init__(self, loaded: LoadedProject, cores: Callable[[], int], check: Check) -> None:
        import ray

        self._ray = ray
        self._actor = ray.remote(num_cpus=1, max_restarts=0)(Solver).options(runtime_env={"env_vars": ONE_THREAD})
        self._loaded, self._cores, self._check = loaded, cores, check
        self._starting: dict[Any, Any] = {}
        self._idle: list[Any] = []
        self._running: dict[Any, tuple[Any, Proposal, int]] = {}
        self._again: list[tuple[Proposal, int]] = []
        self._refused, self._rounds = "", 0
        self._follow()

    @property
    def count(self) -> int:
        """How many workers there are, those that start included."""
        return len(self._starting) + len(self._idle) + len(self._running)

    def free(self) -> bool:
        """Whether a worker waits for work."""
        return bool(self._idle)

    def busy(self) -> list[int]:
        """Numbers of the trials being solved, or waiting for a worker after losing theirs."""
        return [proposal.number for proposal, _ in self._again] + [
            proposal.number for _, proposal, _ in self._running.values()
        ]

    def submit(self, proposal: Proposal, attempt: int = 0) -> None:
        """Give a proposal to an idle worker."""
        actor = self._idle.pop()
        self._running[actor.solve.remote(proposal)] = (actor, proposal, attempt)

    def finished(self, patience: float) -> Iterator[tuple[int, Result | str]]:
        """Results that arrive within patience [s]: trial number with a result, or with why it failed.

        Raises
        ------
        ConnectionError
            when Ray is gone, or no worker can be started
        """
        self._check()
        if time.monotonic() - self._followed_at >= FOLLOW_SECONDS:
            self._follow()
        awaited = [*self._running, *self._starting]
        if not awaited:
            time.sleep(patience)
            return
        done, _ = self._ray.wait(awaited, num_returns=1, timeout=patience)
        for reference in done:
            if reference in self._starting:
                self._welcome(reference)
            else:
                yield from self._take(reference)
        while self._again and self._idle:
            self.submit(*self._again.pop(0))

    def _take(self, reference: Any) -> Iterator[tuple[int, Result | str]]:
        """What a worker came to; a trial that lost its worker waits for another."""
        actor, proposal, attempt = self._running.pop(reference)
        try:
            result = self._ray.get(reference)
        except self._ray.exceptions.RayTaskError as error:
            self._idle.append(actor)
            yield proposal.number, str(error.cause)
        except self._ray.exceptions.RayError as error:
            self._check(at_once=True)
            self._ray.kill(actor)
            self._follow()
            if attempt < RETRIES:
                self._again.append((proposal, attempt + 1))
            else:
                yield proposal.number, f"its worker was lost {attempt + 1} times: {type(error).__name__}"
        else:
            self._idle.append(actor)
            yield proposal.number, result

    def _welcome(self, reference: Any) -> None:
        """Take a worker that has started, or note why it did not."""
        actor = self._starting.pop(reference)
        try:
            self._ray.get(reference)
        except self._ray.exceptions.RayError as error:
            self._refused = str(error).strip().splitlines()[-1]
        else:
            self._idle.append(actor)

    def _follow(self) -> None:
        """Start workers for cores without one; let go of workers, those not at work first, that have no core."""
        self._followed_at = time.monotonic()
        if self._idle or self._running:
            self._rounds = 0
        elif self._refused:
            self._rounds += 1
            if self._rounds >= MAX_ROUNDS:
                raise ConnectionError(f"no worker can be started: {self._refused}")
        self._refused = ""
        surplus = self.count - self._cores()
        for _ in range(-surplus):
            actor: Any = self._actor.remote(self._loaded.text, self._loaded.source)
            self._starting[actor.__ray_ready__.remote()] = actor
        while surplus > 0 and (self._starting or self._idle):
            self._ray.kill(self._starting.popitem()[1] if self._starting else self._idle.pop())
            surplus -= 1
