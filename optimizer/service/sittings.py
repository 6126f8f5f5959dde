"""Those who move holes by hand: each sits at a process of their own that keeps what it moves, and the newest move wins.

There are only so many such processes; one that nobody moved anything in for a while ends, or gives way to a newcomer.
"""

import asyncio
import sys
import time
from collections.abc import Callable
from typing import Any, TypeVar

from optimizer.service.refusals import RefusedError
from optimizer.service.workshop import Bench
from optimizer.words import counted

Result = TypeVar("Result")

QUIET_SECONDS = 20.0
"""Who moved nothing for so long gives way to a newcomer where all places are taken."""


class Sitting(Bench):
    """One process for one who moves things: what waits for its turn is let go once something newer comes."""

    def __init__(self, seconds: float, bytes_most: int) -> None:
        super().__init__(seconds, bytes_most, to_its_end=True)
        self._number = -1
        self._waits: asyncio.Task[Any] | None = None
        self.last = time.monotonic()

    @property
    def quiet(self) -> float:
        """For how long nothing was asked of it [s]; 0 while it works."""
        return 0.0 if self._lock.locked() else time.monotonic() - self.last

    async def newest(self, number: int, work: Callable[..., Result], *given: Any) -> Result | None:
        """The result of work(*given); None where something newer came before it was begun. Raises as `do`.

        Parameters
        ----------
        number : counts what one sitter asks for; a lower one than the last is late, and let go
        work : a function of a module that raises no more than `RefusedError`
        given : what it is given
        """
        self.last = time.monotonic()
        if number <= self._number:
            return None
        self._number = number
        if self._waits is not None:
            self._waits.cancel()
        turn = self._waits = asyncio.create_task(self._lock.acquire())
        try:
            await turn
        except asyncio.CancelledError:
            if not turn.cancel() and not turn.cancelled():  # the turn had come just then
                self._lock.release()
            if self._number == number:  # it is the request itself that was given up
                raise
            return None
        try:
            return await self._done(work, given) if self._number == number else None
        except RefusedError:
            if self._number == sys.maxsize:  # it was ended over it
                return None
            raise
        finally:
            self._lock.release()
            self.last = time.monotonic()

    def end(self) -> None:
        """End it for good: what waits is let go as what is overtaken is, and begins no process anew."""
        self._number = sys.maxsize
        self.close()


class Sittings:
    """Who sits here.

    Parameters
    ----------
    most : so many at once
    idle_seconds : one in which nothing was moved for so long ends
    seconds, bytes_most : how long a piece of work may take, and how much memory
    """

    def __init__(self, most: int, idle_seconds: float, seconds: float, bytes_most: int) -> None:
        self._most, self._idle, self._given = most, idle_seconds, (seconds, bytes_most)
        self._taken: dict[str, Sitting] = {}
        self._timer: asyncio.TimerHandle | None = None

    def __len__(self) -> int:
        return len(self._taken)

    def at(self, name: str) -> Sitting:
        """The sitting of a name, which it goes on with or begins.

        Raises
        ------
        RefusedError
            503 where all places are taken by others who move things
        """
        if name not in self._taken:
            if len(self._taken) >= self._most:
                self._make_room()
            self._taken[name] = Sitting(*self._given)
        self._taken[name].last = time.monotonic()
        self._look_later()
        return self._taken[name]

    def end(self, name: str) -> None:
        """End a sitting, where there is one of that name."""
        if name in self._taken:
            self._taken.pop(name).end()

    def close(self) -> None:
        """End all."""
        if self._timer is not None:
            self._timer.cancel()
        for name in list(self._taken):
            self.end(name)

    def _make_room(self) -> None:
        quietest = max(self._taken, key=lambda name: self._taken[name].quiet)
        if self._taken[quietest].quiet < QUIET_SECONDS:
            others = counted(len(self._taken), "other")
            raise RefusedError(503, f"{others} are moving holes here, as many as there is room for; try again later")
        self.end(quietest)

    def _look_later(self) -> None:
        if self._timer is None:
            self._timer = asyncio.get_running_loop().call_later(self._idle, self._look)

    def _look(self) -> None:
        self._timer = None
        for name in [name for name, sitting in self._taken.items() if sitting.quiet >= self._idle]:
            self.end(name)
        if self._taken:
            self._look_later()
