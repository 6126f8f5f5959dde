"""What the driver knows of those who solve its trials, and this very process as one of them.

While no worker is ready the driver solves trials itself, so that the first layouts do not wait for processes to start.

A proposal goes only to a worker that has started, so that none waits on a core that left.
"""

import time
from collections.abc import Iterator
from typing import Protocol

from optimizer.records.run import PoolKind
from optimizer.search.proposals import Proposal
from optimizer.search.trial import Result, Solver


class Pool(Protocol):
    """Those who solve trials; kind: processes of this machine, or Ray's."""

    kind: PoolKind

    @property
    def count(self) -> int:
        """How many workers there are."""

    @property
    def trouble(self) -> str:
        """What keeps workers from coming, in a few words; empty where nothing does."""

    def free(self) -> bool:
        """Whether one waits for work."""

    def busy(self) -> list[int]:
        """Numbers of the trials that are given away and not done."""

    def submit(self, proposal: Proposal) -> None:
        """Give a proposal to one that is free."""

    def finished(self, patience: float) -> Iterator[tuple[int, Result | str]]:
        """Results that arrive within patience [s]: trial number with a result, or with why it failed."""


class Here:
    """This very process as a pool of one. A proposal is solved when results are asked for, however long that takes."""

    kind: PoolKind = "local"
    count = 1
    trouble = ""

    def __init__(self, solver: Solver) -> None:
        self._solver = solver
        self._held: Proposal | None = None

    def free(self) -> bool:
        """Whether there is nothing to solve."""
        return self._held is None

    def busy(self) -> list[int]:
        """The number of the trial that is next."""
        return [] if self._held is None else [self._held.number]

    def submit(self, proposal: Proposal) -> None:
        """Take a proposal to be solved next."""
        self._held = proposal

    def finished(self, patience: float) -> Iterator[tuple[int, Result | str]]:
        """Solve what there is."""
        if self._held is None:
            time.sleep(patience)
            return
        number, outcome = self._held.number, self._solver.attempt(self._held)
        self._held = None
        yield number, outcome


class Meanwhile:
    """A pool whose trials this process solves as long as no worker is ready and none has work.

    With one worker there is so never more than one trial under way: every proposal knows all results before it, and the
    same seed gives the same search, whoever solves. Only where all workers went, as with the nodes of a cluster, new
    trials are solved here while those they had wait for others.
    """

    def __init__(self, pool: Pool, here: Here) -> None:
        self.kind: PoolKind = pool.kind
        self._pool, self._here = pool, here

    @property
    def count(self) -> int:
        """How many workers there are, those that start included; while there is none, this process solves."""
        return self._pool.count

    @property
    def trouble(self) -> str:
        """What keeps workers from coming; empty where nothing does."""
        return self._pool.trouble

    def free(self) -> bool:
        """Whether a worker waits for work, or this process has to do it."""
        return self._pool.free() or not (self._here.busy() or (self._pool.count and self._pool.busy()))

    def busy(self) -> list[int]:
        """Numbers of the trials that are given away, or kept here, and not done."""
        return self._here.busy() + self._pool.busy()

    def submit(self, proposal: Proposal) -> None:
        """Give a proposal to a worker, or keep it here."""
        (self._pool if self._pool.free() else self._here).submit(proposal)

    def finished(self, patience: float) -> Iterator[tuple[int, Result | str]]:
        """What was solved here, and then what workers did meanwhile."""
        if self._here.busy():
            yield from self._here.finished(0.0)
            patience = 0.0
        yield from self._pool.finished(patience)
