"""Workers that are processes of this machine, one core each, spoken to through pipes (`worker_process`)."""

import os
import signal
import subprocess
import sys
from collections.abc import Sequence
from contextlib import suppress
from multiprocessing import Pipe
from multiprocessing.connection import Connection, wait
from typing import Any

from optimizer.records.run import PoolKind
from optimizer.search.proposals import Proposal
from optimizer.search.workers import LostError
from optimizer.solving.processes import ONE_THREAD

END_SECONDS = 5.0
"""So long a process that closed its pipe has to end; that takes as long as its memory is being given back."""


class LocalCrew:
    """A fixed number of processes, each known by this side of its pipe, which is its ticket, too.

    Parameters
    ----------
    count : how many
    make : what a worker makes its solver with: a class that `attempt`s proposals
    given : the class's arguments
    """

    kind: PoolKind = "local"

    def __init__(self, count: int, make: type, given: tuple[Any, ...]) -> None:
        self._count, self._solver = count, (make, given)
        self._processes: dict[Connection, subprocess.Popen[bytes]] = {}

    def cores(self) -> int:
        """As many as were asked for."""
        return self._count

    def check(self, at_once: bool = False) -> None:
        """Nothing is needed but the processes themselves."""

    def start(self) -> tuple[Connection, Connection]:
        """A process that looks for its code where this one does.

        It has a session of its own, as Ctrl-C in a terminal goes to a whole group of processes and is the driver's.

        Raises
        ------
        LostError
            when the system starts none
        """
        here, there = Pipe()
        with there:
            descriptor = there.fileno()
            try:
                process = subprocess.Popen(
                    [sys.executable, "-P", "-m", "optimizer.search.worker_process", str(descriptor), str(os.getpid())],
                    stdin=subprocess.DEVNULL,
                    stdout=subprocess.DEVNULL,
                    stderr=subprocess.DEVNULL,
                    env=os.environ | ONE_THREAD | {"PYTHONPATH": os.pathsep.join(sys.path)},
                    pass_fds=[descriptor],
                    start_new_session=True,
                )
            except OSError as error:
                here.close()
                raise LostError(f"the system starts no process: {error.strerror or error}") from None
        self._processes[here] = process
        with suppress(OSError):  # it died already, which its answer will tell
            here.send(self._solver)
        return here, here

    def give(self, worker: Connection, proposal: Proposal) -> Connection:
        """Send a proposal to a worker."""
        with suppress(OSError):
            worker.send(proposal)
        return worker

    def wait(self, tickets: Sequence[Connection], patience: float) -> Sequence[Any]:
        """Workers that have answered, or died."""
        return wait(tickets, patience)

    def answer(self, ticket: Connection) -> Any:
        """What a worker has sent.

        Raises
        ------
        LostError
            when it died
        """
        try:
            return ticket.recv()
        except (EOFError, OSError):
            raise LostError(_how_it_ended(self._processes[ticket])) from None

    def end(self, worker: Connection) -> None:
        """End a process at once; it has nothing to put in order."""
        process = self._processes.pop(worker)
        process.kill()
        process.wait()
        worker.close()


def _how_it_ended(process: subprocess.Popen[bytes]) -> str:
    try:
        code = process.wait(END_SECONDS)
    except subprocess.TimeoutExpired:
        return "it closed its pipe"
    with suppress(ValueError):
        return f"ended by {signal.Signals(-code).name}"
    return f"ended with code {code}"
