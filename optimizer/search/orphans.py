"""A guard beside the driver: when the driver is gone, however it went, so is all that it started.

Ray's own processes notice a killed driver within seconds, but for two that stay for a minute. The guard is a small
process of its own; it notes the driver's descendants every `LOOK_SECONDS` and ends when its standard input closes,
which the system does for a killed driver too. The driver sees to it that there is one.
"""

import os
import select
import subprocess
import sys
from collections.abc import Collection, Iterator
from contextlib import contextmanager, suppress

import psutil

LOOK_SECONDS = 2.0


class Guard:
    """Guards what this process starts from now on."""

    def __init__(self) -> None:
        self._spared = {one.pid for one in _below(psutil.Process())}
        self._process = self._started()

    def _started(self) -> subprocess.Popen[bytes]:
        begun = {one.pid for one in _below(psutil.Process())} - self._spared
        told = (os.getpid(), " ".join(map(str, self._spared)), " ".join(map(str, begun)))
        return subprocess.Popen(
            [sys.executable, "-P", "-m", "optimizer.search.orphans", *map(str, told)],
            stdin=subprocess.PIPE,
            start_new_session=True,
        )

    def check(self) -> None:
        """Start it anew where it died; where the system starts no process, it is tried again the next time."""
        if self._process.poll() is not None:
            self._let_go()
            with suppress(OSError):
                self._process = self._started()

    def close(self) -> None:
        """Let it end what is left."""
        self._let_go()
        self._process.wait()

    def _let_go(self) -> None:
        if self._process.stdin is not None:
            self._process.stdin.close()


@contextmanager
def guarded() -> Iterator[Guard]:
    """Guard this process's descendants until the end of the block or of the process."""
    guard = Guard()
    try:
        yield guard
    finally:
        guard.close()


def watch(driver: psutil.Process | None, spared: Collection[int], begun: Collection[int]) -> None:
    """Note what a driver starts until standard input closes, then end what is left of it.

    Parameters
    ----------
    driver : the process; None where it ended before this one had begun
    spared : its descendants that are not to be ended
    begun : those that it has started already
    """
    seen = {one for one in map(_by_number, begun) if one is not None}
    while True:
        seen |= {one for one in _below(driver) if one.pid not in spared and one.pid != os.getpid()}
        waiting, _, _ = select.select([0], [], [], LOOK_SECONDS)
        if waiting and not os.read(0, 1):
            break
    for process in seen.union(*map(_below, seen)):
        with suppress(psutil.Error):
            process.kill()  # psutil tells a number used anew from the process it noted


def _below(process: psutil.Process | None) -> set[psutil.Process]:
    """The descendants of a process; none once it is gone."""
    below: set[psutil.Process] = set()
    if process is not None:
        with suppress(psutil.Error):
            below.update(process.children(recursive=True))
    return below


def _by_number(pid: int) -> psutil.Process | None:
    with suppress(psutil.Error):
        return psutil.Process(pid)
    return None


if __name__ == "__main__":
    spared, begun = (set(map(int, words.split())) for words in sys.argv[2:])
    watch(_by_number(int(sys.argv[1])), spared, begun)
