"""A guard beside the driver: when the driver is gone, however it went, so is all that it started.

Ray's own processes notice a killed driver within seconds, but for two that stay for a minute. The guard is a small
process of its own; it notes the driver's descendants every `LOOK_SECONDS` and ends when its standard input closes,
which the system does for a killed driver too. The driver sees to it that there is one.
"""

import os
import select
import subprocess
import sys
import time
from collections.abc import Collection, Iterator
from contextlib import contextmanager, suppress

import psutil

LOOK_SECONDS = 2.0
SOON_SECONDS = 10.0
"""A guard that lives no longer is started anew after a rest: of `LOOK_SECONDS`, each time twice as long, `REST_MOST` at
the most."""
REST_MOST = 120.0
SAID = (
    "the process that ends what Ray leaves behind ends itself at once, and is tried again now and then; if this search "
    "is killed meanwhile, processes of Ray's may stay for a minute"
)


class Guard:
    """Guards what this process starts from now on."""

    def __init__(self) -> None:
        self._spared = {one.pid for one in _below(psutil.Process())}
        self._in_a_row, self._again_at, self._said = 0, float("inf"), False
        self._process = self._started()

    def _started(self) -> subprocess.Popen[bytes]:
        begun = {one.pid for one in _below(psutil.Process())} - self._spared
        self._begun_at = time.monotonic()
        told = (os.getpid(), " ".join(map(str, self._spared)), " ".join(map(str, begun)))
        return subprocess.Popen(
            [sys.executable, "-P", "-m", "optimizer.search.orphans", *map(str, told)],
            stdin=subprocess.PIPE,
            start_new_session=True,
        )

    def check(self) -> None:
        """Start it anew where it died, after a rest where it lives for moments only; where the system starts no
        process, it is tried again the next time."""
        if self._process.poll() is None:
            return
        now = time.monotonic()
        if self._again_at == float("inf"):
            self._let_go()
            self._again_at = now + self._rest(now - self._begun_at)
        if now >= self._again_at:
            with suppress(OSError):
                self._process, self._again_at = self._started(), float("inf")

    def _rest(self, lived: float) -> float:
        """Seconds to wait after one that lived so long; says so once."""
        self._in_a_row = self._in_a_row + 1 if lived < SOON_SECONDS else 1
        if self._in_a_row == 1:
            return 0.0
        if not self._said:
            self._said = True
            with suppress(OSError):
                print(SAID, file=sys.stderr, flush=True)
        return min(LOOK_SECONDS * 2.0 ** (self._in_a_row - 2), REST_MOST)

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
