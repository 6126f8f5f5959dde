"""Workers that are processes of this machine, one core each, spoken to through pipes (`worker_process`)."""

import subprocess
from collections.abc import Sequence
from contextlib import suppress
from multiprocessing.connection import Connection, wait
from typing import Any

from optimizer.records.run import PoolKind
from optimizer.search.own_process import how_it_ended, started
from optimizer.search.proposals import Proposal
from optimizer.search.workers import LostError
from optimizer.solving.processes import ONE_THREAD


class LocalCrew:
    """A fixed number of processes, each known by this side of its pipe, which is its ticket, too.

    Parameters
    ----------
    count : how many
    make : what a worker makes its solver with: a class that `attempt`s proposals
    given : the class's arguments
    """

    kind: PoolKind = "local"
    trouble = ""

    def __init__(self, count: int, make: type, given: tuple[Any, ...]) -> None:
        self._count, self._solver = count, (make, given)
        self._processes: dict[Connection, subprocess.Popen[bytes]] = {}

    def cores(self) -> int:
        """As many as were asked for."""
        return self._count

    def check(self, at_once: bool = False) -> None:
        """Nothing is needed but the processes themselves."""

    def start(self) -> tuple[Connection, Connection]:
        """A process that has been sent its solver.

        Raises
        ------
        LostError
            when the system starts none
        """
        try:
            process, here = started("optimizer.search.worker_process", ONE_THREAD)
        except OSError as error:
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
            raise LostError(how_it_ended(self._processes[ticket])) from None

    def end(self, worker: Connection) -> None:
        """End a process at once; it has nothing to put in order."""
        process = self._processes.pop(worker)
        process.kill()
        process.wait()
        worker.close()
