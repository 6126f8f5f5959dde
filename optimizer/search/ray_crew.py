"""Workers that are Ray's actors of one core each, as many as there are cores while nodes come and go.

All of Ray is in a process of its own (`ray_process`), which is asked through a pipe. Whatever Ray does to that process,
also while it starts, the driver goes on, ends it, and has a sentence to say.
"""

import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from importlib.util import find_spec
from subprocess import TimeoutExpired
from typing import Any

import psutil

from optimizer.records.run import PoolKind
from optimizer.search.cluster import LOCAL
from optimizer.search.head import NO_CLUSTER, NOT_HERE, Head, answers
from optimizer.search.orphans import Guard, guarded
from optimizer.search.own_process import end_all_below, how_it_ended, started
from optimizer.search.proposals import Proposal

JOIN_SECONDS = 180.0
"""So long a cluster whose head is there may take to let this search join, which solves its trials itself meanwhile."""

STARTS = 3
"""So often Ray is started on this machine: where that is busy, Ray's processes give each other up too soon."""

REST_SECONDS = 0.2
"""So long the driver rests before each of its own trials while Ray starts on this machine, and needs its cores."""

ANSWER_SECONDS, ANSWER_LOOKS = 20.0, 40
"""So long Ray may take for anything it is asked once it is there; in so many looks, as a process that was held still
counts one of them."""

CLOSING_SECONDS = 10.0
"""So long Ray may take to shut down."""

NO_CORE = "no node of the cluster has a core now; they are waited for"


class RayCrew:
    """Actors of a Ray that is joined or started beside the driver's work.

    Parameters
    ----------
    address : what RAY_ADDRESS says
    wanted : how many workers; default one per core
    make : what an actor is: a class that `attempt`s proposals
    given : the class's arguments
    guard : ends what is left of Ray with this process

    Raises
    ------
    ConnectionError
        when the system starts no process; by any method when Ray is gone, or could not be had
    """

    kind: PoolKind = "ray"

    def __init__(self, address: str, wanted: int | None, make: type, given: tuple[Any, ...], guard: Guard) -> None:
        self._guard = guard
        self._address, self._begun, self._head = address, time.monotonic(), Head(address)
        self._opened = self._asking = self._lost = self._coreless = False
        self._first_words, self._starts = (address, wanted, make, given), 0
        self._begin()

    def _begin(self) -> None:
        self._starts, self._lost = self._starts + 1, False
        try:
            self._process, self._pipe = started("optimizer.search.ray_process", {})
        except OSError as error:
            raise ConnectionError(f"the system starts no process for Ray: {error.strerror or error}") from None
        with suppress(OSError):  # it died already, which its answer will tell
            self._pipe.send(self._first_words)

    @property
    def trouble(self) -> str:
        """That Ray did not start at once, and is being started again; that all nodes of a cluster have left it."""
        again = not self._opened and self._starts > 1
        if again:
            return f"Ray did not start, trying again ({self._starts} of {STARTS})"
        return NO_CORE if self._coreless else ""

    def cores(self) -> int:
        """As many as the nodes have now, or as were asked for; none while Ray starts."""
        self.check(at_once=self._opened)
        found = int(self._ask("cores")) if self._opened else 0
        self._coreless = self._opened and found == 0
        return found

    def check(self, at_once: bool = False) -> None:
        """Look whether Ray is there, or the head of a cluster that is being joined.

        Raises
        ------
        ConnectionError
            when it is not, or the cluster lets nobody join
        """
        self._guard.check()
        if not self._opened:
            self._look()
        self._see_head(at_once)
        if self._opened:
            self._ask("check")
        elif self._address != LOCAL and time.monotonic() - self._begun > JOIN_SECONDS:
            raise ConnectionError(
                f"the Ray cluster at {self._address} has let nobody join it for {JOIN_SECONDS:.0f} s; see whether its "
                "nodes are well"
            )

    def _see_head(self, at_once: bool) -> None:
        try:
            self._head.check(at_once)
        except ConnectionError:
            self._lost = True
            raise

    def _look(self) -> None:
        """See whether Ray is there by now; one that does not start here is started again."""
        try:
            if self._pipe.poll(REST_SECONDS if self._address == LOCAL else 0.0):
                self._head = Head(self._address, self._received())
                self._opened = True
            elif self._address == LOCAL and _lost_its_node(self._process.pid):
                raise ConnectionError("Ray could not start its processes here: its raylet died while it started")
        except ConnectionError as error:
            if self._address != LOCAL:
                raise
            self.close()
            if self._starts == STARTS:
                raise ConnectionError(f"{error} (tried {STARTS} times)") from None
            self._begin()

    def start(self) -> tuple[int, int]:
        """A new actor; one that dies is replaced by the pool, not by Ray."""
        ticket, worker = self._ask("start")
        return ticket, worker

    def give(self, worker: int, proposal: Proposal) -> Any:
        """Send a proposal to an actor."""
        return self._ask("give", worker, proposal)

    def wait(self, tickets: Sequence[int], patience: float) -> Sequence[Any]:
        """The first answer that comes."""
        found: Sequence[Any] = self._ask("wait", list(tickets), patience)
        return found

    def answer(self, ticket: int) -> Any:
        """What an actor came to.

        Raises
        ------
        LostError
            when it died, or Ray lost it
        """
        return self._ask("answer", ticket)

    def end(self, worker: int) -> None:
        """End an actor at once."""
        self._ask("end", worker)

    def close(self) -> None:
        """Let Ray shut down; one that is starting, does not answer or is lost, as the rest of it would wait for what is
        gone, is ended with all that it started."""
        self._pipe.close()
        if self._opened and not (self._asking or self._lost):
            with suppress(TimeoutExpired):
                self._process.wait(CLOSING_SECONDS)
        end_all_below(self._process)

    def _ask(self, *question: Any) -> Any:
        self._asking = True
        with suppress(OSError):  # it died already, which its answer will tell
            self._pipe.send(question)
        if not any(self._pipe.poll(ANSWER_SECONDS / ANSWER_LOOKS) for _ in range(ANSWER_LOOKS)):
            self._see_head(at_once=True)
            raise ConnectionError(f"Ray has not answered for {ANSWER_SECONDS:.0f} s")
        return self._received()

    def _received(self) -> Any:
        try:
            found, error = self._pipe.recv()
        except (EOFError, OSError):
            error = ConnectionError(f"Ray ended the process that used it ({how_it_ended(self._process)})")
        else:
            self._asking = False
        if isinstance(error, ConnectionError):
            self._lost = True
            self._see_head(at_once=True)
        if error is not None:
            raise error
        return found


def _lost_its_node(process: int) -> bool:
    """Whether the raylet that Ray starts below a process has died, which Ray does not see while it waits for it."""
    with suppress(psutil.Error):
        below = psutil.Process(process).children()
        return any(one.name() == "raylet" and one.status() == psutil.STATUS_ZOMBIE for one in below)
    return False


@contextmanager
def open_ray(address: str, wanted: int | None, make: type, given: tuple[Any, ...]) -> Iterator[RayCrew]:
    """Join the cluster at an address, or start Ray on this machine alone; leave no process behind.

    Parameters
    ----------
    address : what RAY_ADDRESS says; `cluster.LOCAL` starts it here
    wanted : how many workers; default one per core of the cluster or of this machine, and never more than a cluster has
    make : what a worker is: a class that `attempt`s proposals
    given : the class's arguments

    Raises
    ------
    ConnectionError
        when Ray is not installed or nothing answers there, and when Ray dies during the block
    """
    if find_spec("ray") is None:
        raise ConnectionError(NOT_HERE)
    if address != LOCAL and not answers(address):
        raise ConnectionError(NO_CLUSTER.format(address=address))
    with guarded() as guard:
        crew = RayCrew(address, wanted, make, given, guard)
        try:
            yield crew
        finally:
            crew.close()
