"""What both pools have in common: who is free, what is being solved, what is solved again after losing its worker.

How workers are started, given work, waited for and ended is a crew's: processes of this machine (`local_crew`), or
Ray's actors (`ray_crew`). A worker that dies costs its running trial, which is solved again elsewhere; it is replaced
as long as there is a core for it.

Every `FOLLOW_SECONDS` their number is fitted to the cores there are. What a lost worker had waits for the next free
one, at most `RETRIES` times, and never for the driver, which it might kill, too.
"""

import time
from collections.abc import Iterator, Sequence
from typing import Any, Protocol

from optimizer.records.run import PoolKind
from optimizer.search.proposals import Proposal
from optimizer.search.trial import Result

RETRIES = 3
"""So often a trial is solved again after losing its worker; machines that leave may take one trial more than once."""

FOLLOW_SECONDS = 2.0
FIRST_LOOK_SECONDS = 0.1
"""So often cores are looked for while there is no worker at all, as while Ray starts."""

MAX_ROUNDS = 5
"""So many rounds of workers that all fail to start, with none at work, end the search."""


class LostError(Exception):
    """A worker that died, or could not be started; the message says how."""


class Crew(Protocol):
    """What differs between the pools. A ticket stands for an answer to come: a worker's first, or a proposal's."""

    kind: PoolKind

    @property
    def trouble(self) -> str:
        """What keeps workers from coming, in a few words; empty where nothing does."""

    def cores(self) -> int:
        """How many workers there may be now; asked every `FOLLOW_SECONDS`."""

    def check(self, at_once: bool = False) -> None:
        """Raise ConnectionError when what the workers need is gone; asked before every wait, and at once before
        whatever would wait for it in vain."""

    def start(self) -> tuple[Any, Any]:
        """A new worker, after the ticket of its first answer: a sentence where it cannot work. May raise LostError."""

    def give(self, worker: Any, proposal: Proposal) -> Any:
        """Hand a proposal to a worker; the ticket of its answer."""

    def wait(self, tickets: Sequence[Any], patience: float) -> Sequence[Any]:
        """Tickets whose answer, or whose worker's death, came within patience [s]."""

    def answer(self, ticket: Any) -> Any:
        """The answer of a ticket that has come. Raises LostError when the worker died over it."""

    def end(self, worker: Any) -> None:
        """End a worker, whatever it does."""


class Workers:
    """A pool of a crew's workers; at most one proposal each."""

    def __init__(self, crew: Crew) -> None:
        self.kind: PoolKind = crew.kind
        self._crew = crew
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

    @property
    def trouble(self) -> str:
        """What keeps workers from coming; empty where nothing does."""
        return self._crew.trouble

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
        worker = self._idle.pop()
        self._running[self._crew.give(worker, proposal)] = (worker, proposal, attempt)

    def finished(self, patience: float) -> Iterator[tuple[int, Result | str]]:
        """Results that arrive within patience [s]: trial number with a result, or with why it failed.

        Raises
        ------
        ConnectionError
            when what workers need is gone, or no worker can be started
        """
        self._crew.check()
        pause = FOLLOW_SECONDS if self.count or self._refused else FIRST_LOOK_SECONDS
        if time.monotonic() - self._followed_at >= pause:
            self._follow()
        awaited = [*self._running, *self._starting]
        if not awaited:
            time.sleep(patience)
            return
        for ticket in self._crew.wait(awaited, patience):
            if ticket in self._starting:
                self._welcome(ticket)
            else:
                yield from self._take(ticket)
        while self._again and self._idle:
            self.submit(*self._again.pop(0))

    def close(self) -> None:
        """End every worker."""
        working = [worker for worker, _, _ in self._running.values()]
        for worker in (*self._starting.values(), *self._idle, *working):
            self._crew.end(worker)
        self._starting, self._idle, self._running = {}, [], {}

    def _take(self, ticket: Any) -> Iterator[tuple[int, Result | str]]:
        """What a worker came to; a trial that lost its worker waits for another."""
        worker, proposal, attempt = self._running.pop(ticket)
        try:
            result: Result | str = self._crew.answer(ticket)
        except LostError as error:
            self._crew.check(at_once=True)
            self._crew.end(worker)
            self._follow()
            if attempt < RETRIES:
                self._again.append((proposal, attempt + 1))
            else:
                yield proposal.number, f"its worker was lost {attempt + 1} times: {error}"
        else:
            self._idle.append(worker)
            yield proposal.number, result

    def _welcome(self, ticket: Any) -> None:
        """Take a worker that has started, or note why it did not."""
        worker = self._starting.pop(ticket)
        try:
            answer = self._crew.answer(ticket)
        except LostError as error:
            answer = str(error)
        if isinstance(answer, str):
            self._refused = answer
            self._crew.end(worker)
        else:
            self._idle.append(worker)

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
        surplus = self.count - self._crew.cores()
        try:
            for _ in range(-surplus):
                ticket, worker = self._crew.start()
                self._starting[ticket] = worker
        except LostError as error:
            self._refused = str(error)
        while surplus > 0 and (self._starting or self._idle):
            self._crew.end(self._starting.popitem()[1] if self._starting else self._idle.pop())
            surplus -= 1
