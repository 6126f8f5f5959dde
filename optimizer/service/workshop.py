"""Work that takes longer than a look at a file, in a process of its own that may be ended when it takes too long."""

import asyncio
import contextlib
import os
from collections.abc import Callable
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, TypeVar

from optimizer.service.refusals import RefusedError
from optimizer.solving.processes import ONE_THREAD, limit_memory

Result = TypeVar("Result")
QUEUED_MOST = 20


class Bench:
    """One process that does one piece of work at a time, in so many seconds and bytes; others wait, no more than
    `queued_most` with it."""

    def __init__(self, seconds: float, bytes_most: int, queued_most: int = QUEUED_MOST) -> None:
        self.seconds = seconds
        self.bytes_most = bytes_most
        self.queued_most = queued_most
        self._lock = asyncio.Lock()
        self._queued = 0
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None

    async def do(self, work: Callable[..., Result], *given: Any) -> Result:
        """The result of work(*given), which must be a function of a module and raise no more than `RefusedError`.

        Raises
        ------
        RefusedError
            the work's own; 413 when it needs too much memory; 503 when too much waits; 504 when it takes longer
            than allowed
        """
        if self._queued >= self.queued_most:
            raise RefusedError(503, "too many are waiting for the same; try again in a moment")
        self._queued += 1
        try:
            try:
                await asyncio.wait_for(self._lock.acquire(), self.seconds)
            except TimeoutError:
                raise RefusedError(503, "others had to be served first; try again in a moment") from None
            try:
                return await self._done(work, given)
            finally:
                self._lock.release()
        finally:
            self._queued -= 1

    async def _done(self, work: Callable[..., Result], given: tuple[Any, ...]) -> Result:
        try:
            pipe = self._ready()
            result = await asyncio.wait_for(asyncio.to_thread(_exchanged, pipe, (work, given)), self.seconds)
        except TimeoutError:
            self.close()
            raise RefusedError(504, f"this took longer than {self.seconds:g} s and was ended") from None
        except (EOFError, OSError):
            self.close()
            raise RefusedError(500, "the process that did this died, perhaps for want of memory") from None
        except asyncio.CancelledError:
            self.close()
            raise
        if isinstance(result, RefusedError):
            raise result
        if isinstance(result, BaseException):
            raise RuntimeError("a fault in the workshop") from result
        found: Result = result
        return found

    def _ready(self) -> Connection:
        if self._pipe is None or self._process is None or not self._process.is_alive():
            self.close()
            context = get_context("spawn")
            pipe, theirs = context.Pipe()
            with theirs:
                process = context.Process(target=_work, args=(theirs, self.bytes_most), daemon=True)
                process.start()
            self._pipe, self._process = pipe, process
        return self._pipe

    def close(self) -> None:
        """End the process."""
        if self._process is not None:
            self._process.kill()
            self._process.join(timeout=5)
        if self._pipe is not None:
            self._pipe.close()
        self._process = self._pipe = None


def _exchanged(pipe: Connection, sent: Any) -> Any:
    """What comes back for what is sent; in a thread, for a process that still starts takes nothing in."""
    pipe.send(sent)
    return pipe.recv()


def _work(pipe: Connection, bytes_most: int) -> None:
    """In the process: work until the service goes, in so much memory."""
    os.environ.update(ONE_THREAD)
    limit_memory("RLIMIT_DATA", bytes_most)
    with contextlib.suppress(EOFError, OSError, KeyboardInterrupt):
        while True:
            work, given = pipe.recv()
            pipe.send(_outcome(work, given))


def _outcome(work: Callable[..., Any], given: tuple[Any, ...]) -> Any:
    try:
        return work(*given)
    except RefusedError as refusal:
        return refusal
    except MemoryError:
        return RefusedError(413, "this needs more memory than the service gives to one piece of work")
    except Exception as error:
        return RuntimeError(f"{type(error).__name__}: {error}")
