"""A few processes of this machine for work that is no search: the same function over different projects.

A search's workers serve one project at a time (`workers`); here each task brings its own, and there are few. Ctrl-C in
a terminal goes to a whole group of processes; they leave it to the one that began them, which ends them at once.
"""

import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from multiprocessing import active_children, get_context, parent_process
from typing import Any, TypeVar

from optimizer.project.faults import Fault

Task = TypeVar("Task")
Result = TypeVar("Result")

ONE_THREAD = {
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
}
"""A worker has one core."""


def on_one_core() -> None:
    """Let this process solve in one thread, as a worker does: over small matrices threads wait for each other.

    To be said before NumPy loads.
    """
    os.environ.update(ONE_THREAD)


def limit_memory(of: str, most: int) -> None:
    """Let this process have so much memory, where the system keeps to such a limit; elsewhere time has to do.

    Parameters
    ----------
    of : which limit, by its name in `resource`
    most : bytes
    """
    with suppress(ImportError, ValueError, OSError):  # Windows has none, macOS not each of them
        import resource

        resource.setrlimit(getattr(resource, of), (most, most))


class WorkLostError(Fault):
    """A process that died with its work."""


def _begin() -> None:
    """In a new process: one core, no interrupts, and an end when the parent ends."""
    on_one_core()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()

    def follow() -> None:
        if parent is not None:
            parent.join()
            os._exit(1)

    threading.Thread(target=follow, daemon=True).start()


class Processes:
    """Some processes that stay until the block ends; with one, this very process."""

    def __init__(self, pool: ProcessPoolExecutor | None) -> None:
        self._pool = pool

    def each(self, work: Callable[[Task], Result], tasks: Sequence[Task]) -> Iterator[tuple[int, Result]]:
        """The task's number and what its work came to, as they are done.

        Raises
        ------
        WorkLostError
            when a process dies
        """
        if self._pool is None:
            for number, task in enumerate(tasks):
                yield number, work(task)
            return
        with _interrupts_held():  # processes start here
            open_work: dict[Future[Any], int] = {self._pool.submit(work, task): i for i, task in enumerate(tasks)}
        try:
            while open_work:
                done, _ = wait(open_work, return_when=FIRST_COMPLETED)
                for future in done:
                    yield open_work.pop(future), future.result()
        except BrokenProcessPool:
            raise WorkLostError("a process died with its work, perhaps for want of memory; try --workers 1") from None
        except KeyboardInterrupt:
            open_work.clear()  # their processes are ended; a pool trips over futures cancelled meanwhile
            raise
        finally:
            for future in open_work:
                future.cancel()


@contextmanager
def _interrupts_held() -> Iterator[None]:
    """Interrupts come when the block ends, and never to processes that start in it: they inherit what is held. Windows
    can hold none."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextmanager
def processes(wanted: int | None, tasks: int) -> Iterator[Processes]:
    """As many processes as wanted, by default one per core, and no more than there are tasks."""
    count = min(wanted or os.cpu_count() or 1, tasks)
    if count <= 1:
        yield Processes(None)
        return
    others = set(active_children())
    pool = ProcessPoolExecutor(count, mp_context=get_context("spawn"), initializer=_begin)
    try:
        yield Processes(pool)
    except KeyboardInterrupt:
        for process in set(active_children()) - others:
            process.kill()
        raise
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
