"""The CAD kernel in a process of its own, with a limit of memory and of time: its crash costs one piece of work.

The process is a worker like those of a search (`search/worker_process.py`); it starts in a second or two, writes
nothing to stdout, and ends with the process that began it.
"""

import importlib.util
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from subprocess import Popen
from typing import Any, TypeVar

from optimizer.project.faults import Fault
from optimizer.search.own_process import end_all_below, how_it_ended, started
from optimizer.solving.processes import ONE_THREAD, limit_memory

MEMORY_MB = 3000
"""Address space of the process, a third of it the kernel's libraries."""

SECONDS = 120.0
"""For each piece of work."""

START_SECONDS = 120.0
"""For the process to start, which takes two where the machine is idle and has read the libraries before."""

PACKAGE = "OCP"
ABSENT = (
    "STEP files need the CAD kernel, an optional package of 380 MB: "
    "python -m pip install 'cadquery-ocp-novtk>=8.0.1,<9'"
)

Result = TypeVar("Result")


class KernelFault(Fault):
    """What the CAD kernel could not do, died of, or took too long over."""


class _Worker:
    """Of the kernel's process: keeps to the memory it may have, and answers with results or faults."""

    def __init__(self, memory_mb: int) -> None:
        limit_memory("RLIMIT_AS", memory_mb * 2**20)
        importlib.import_module("optimizer.handoff.step.kernel")

    def attempt(self, task: tuple[Callable[..., Any], tuple[Any, ...]]) -> Any:
        work, given = task
        try:
            return work(*given)
        except Fault as fault:
            return fault
        except MemoryError:
            return KernelFault("it ran out of the memory it may use")
        except Exception as error:  # the kernel's own are of many kinds
            return KernelFault(f"it gave up: {error or type(error).__name__}")


class CadKernel:
    """Asks the kernel's process, piece of work by piece of work."""

    def __init__(self, process: Popen[bytes], pipe: Connection, seconds: float) -> None:
        self._process, self._pipe, self._seconds = process, pipe, seconds

    def ask(self, what: str, work: Callable[..., Result], *given: Any) -> Result:
        """What a function comes to in the kernel's process.

        Parameters
        ----------
        what : is being worked on, for a sentence: `piece 2`
        work : a function of a module; what it is given and comes to is plain data
        given : its arguments

        Raises
        ------
        Fault
            that the function raised
        KernelFault
            when the kernel gave up, died, or took too long
        """
        answer = self.told(what, (work, given), self._seconds)
        if isinstance(answer, KernelFault):
            raise KernelFault(f"{what}: the CAD kernel cannot make it: {answer}")
        if isinstance(answer, Fault):
            raise answer
        result: Result = answer
        return result

    def told(self, what: str, message: Any, seconds: float) -> Any:
        """The answer to a message.

        Parameters
        ----------
        what : is being worked on
        message : plain data
        seconds : that it may take [s]

        Raises
        ------
        KernelFault
            when the kernel dies over it or takes longer
        """
        try:
            self._pipe.send(message)
            if not self._pipe.poll(seconds):
                raise KernelFault(f"{what}: the CAD kernel took more than {seconds:g} s and was ended")
            return self._pipe.recv()
        except (EOFError, OSError):
            raise KernelFault(f"{what}: the CAD kernel died, {how_it_ended(self._process)}") from None


def kernel_lacking() -> str:
    """What to do for the kernel where it is not installed; empty where it is."""
    return ABSENT if importlib.util.find_spec(PACKAGE) is None else ""


@contextmanager
def cad_kernel(memory_mb: int = MEMORY_MB, seconds: float = SECONDS) -> Iterator[CadKernel]:
    """The kernel's process until the block ends.

    Parameters
    ----------
    memory_mb : that it may use, libraries included [MB]
    seconds : that each piece of work may take [s]

    Raises
    ------
    KernelFault
        when the kernel is not installed or does not start
    """
    if lacking := kernel_lacking():
        raise KernelFault(lacking)
    process, pipe = started("optimizer.search.worker_process", ONE_THREAD)
    try:
        with pipe:
            kernel = CadKernel(process, pipe, seconds)
            trouble = kernel.told("its start", (_Worker, (memory_mb,)), START_SECONDS)
            if trouble is not None:
                raise KernelFault(f"the CAD kernel does not start: {trouble}")
            yield kernel
    finally:
        end_all_below(process)
