"""Work that takes longer than a look at a file, in a process of its own that may be ended when it takes too long."""

import asyncio
import contextlib
import errno
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextvars import ContextVar
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, TypeVar

from optimizer.search.own_process import end_with_starter
from optimizer.service.refusals import RefusedError, out_of_reach
from optimizer.solving.processes import ONE_THREAD, limit_memory

Result = TypeVar("Result")
QUEUED_MOST = 20
NICE = 5
"""By how much work apart stands back behind the service itself, which answers many in the meantime."""
GONE: ContextVar[asyncio.Event] = ContextVar("gone")
"""Set once who sent the request at hand is gone; in all but work apart a request goes on to its end, so that nothing is
left half done."""


class _Worker:
    """A process, the pipe to it, and the one thread that uses that: whoever else works waits for none of theirs."""

    def __init__(self, bytes_most: int) -> None:
        context = get_context("spawn")
        self._pipe, theirs = context.Pipe()
        self._thread = ThreadPoolExecutor(1)
        with theirs:
            self._process: BaseProcess = context.Process(target=_work, args=(theirs, bytes_most), daemon=True)
            self._process.start()

    @property
    def alive(self) -> bool:
        """Whether it takes work."""
        return self._process.is_alive()

    def exchange(self, sent: Any) -> asyncio.Future[Any]:
        """What comes back for what is sent; in the thread, for a process that still starts takes nothing in."""
        return asyncio.get_running_loop().run_in_executor(self._thread, self._exchanged, sent)

    def _exchanged(self, sent: Any) -> Any:
        self._pipe.send(sent)
        return self._pipe.recv()

    def end(self) -> None:
        """End it at once; that it is gone is waited for in the thread."""
        self._process.kill()
        self._thread.submit(self._gone)
        self._thread.shutdown(wait=False)

    def _gone(self) -> None:
        """Once nobody reads the pipe any more: who did might read from what is opened next by the same number."""
        self._process.join()
        self._pipe.close()


class Bench:
    """One process that does one piece of work at a time, in so many seconds and bytes; others wait, no more than
    `queued_most` with it.

    to_its_end : whether work that is given up is done all the same, as it is short and a process anew is not; else
    the process is ended
    """

    def __init__(
        self, seconds: float, bytes_most: int, queued_most: int = QUEUED_MOST, to_its_end: bool = False
    ) -> None:
        self.seconds = seconds
        self.bytes_most = bytes_most
        self.queued_most = queued_most
        self.to_its_end = to_its_end
        self._lock = asyncio.Lock()
        self._queued = 0
        self._worker: _Worker | None = None

    async def do(self, work: Callable[..., Result], *given: Any) -> Result:
        """The result of work(*given), which must be a function of a module and raise no more than `RefusedError`.

        Raises
        ------
        RefusedError
            the work's own; 413 when it needs too much memory; 503 when too much waits, files cannot be written, or
            nobody waits for it any more; 504 when it takes longer than allowed
        """
        doing = asyncio.ensure_future(self._in_turn(work, given))
        leaving = asyncio.ensure_future(GONE.get(asyncio.Event()).wait())
        try:
            await asyncio.wait({doing, leaving}, return_when=asyncio.FIRST_COMPLETED)
            if not doing.done():
                doing.cancel()
                await asyncio.wait({doing})
                raise RefusedError(503, "nobody waits for this any more")
            return doing.result()
        finally:
            leaving.cancel()
            doing.cancel()

    async def _in_turn(self, work: Callable[..., Result], given: tuple[Any, ...]) -> Result:
        if self._queued >= self.queued_most:
            raise RefusedError(503, "too many are waiting for the same; try again in a moment")
        self._queued += 1
        try:
            try:
                async with asyncio.timeout(self.seconds):  # wait_for may lose that it was cancelled meanwhile
                    await self._lock.acquire()
            except TimeoutError:
                raise RefusedError(503, "others had to be served first; try again in a moment") from None
            try:
                return await self._done(work, given)
            finally:
                self._lock.release()
        finally:
            self._queued -= 1

    async def _done(self, work: Callable[..., Result], given: tuple[Any, ...]) -> Result:
        result = await self._answered((work, given))
        if isinstance(result, RefusedError):
            raise result
        if isinstance(result, BaseException):
            raise RuntimeError("a fault in the workshop") from result
        found: Result = result
        return found

    async def _answered(self, sent: Any) -> Any:
        exchange = self._ready().exchange(sent)
        exchange.add_done_callback(lambda done: done.cancelled() or done.exception())  # also where nobody waits
        try:
            async with asyncio.timeout(self.seconds):
                return await asyncio.shield(exchange)
        except TimeoutError:
            self.close()
            raise RefusedError(504, f"this took longer than {self.seconds:g} s and was ended") from None
        except (EOFError, OSError):
            self.close()
            raise RefusedError(500, "the process that did this died, perhaps for want of memory") from None
        except asyncio.CancelledError:
            if not self.to_its_end or not (await asyncio.wait({exchange}, timeout=self.seconds))[0]:
                self.close()
            raise

    def _ready(self) -> _Worker:
        if self._worker is None or not self._worker.alive:
            self.close()
            self._worker = _Worker(self.bytes_most)
        return self._worker

    def close(self) -> None:
        """End the process."""
        if self._worker is not None:
            self._worker.end()
        self._worker = None


def _work(pipe: Connection, bytes_most: int) -> None:
    """In the process: work until the service goes, in so much memory, and after what answers others."""
    end_with_starter()
    if hasattr(os, "nice"):  # not on Windows
        os.nice(NICE)
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
    except Exception as error:
        if _wants_memory(error):
            return RefusedError(413, "this needs more memory than the service gives to one piece of work")
        if isinstance(error, OSError):
            return out_of_reach(error)
        return RuntimeError(f"{type(error).__name__}: {error}")


def _wants_memory(error: Exception) -> bool:
    """Whether a fault is one of too little memory; where modules are loaded, and where the system maps a file or starts
    a process or a thread, it has other names."""
    unmapped = isinstance(error, ImportError) and "failed to map segment" in str(error)
    refused = isinstance(error, OSError) and error.errno == errno.ENOMEM
    return unmapped or refused or isinstance(error, MemoryError | SystemError)
