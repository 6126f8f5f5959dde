"""A guard beside the driver: when the driver is gone, however it went, so is all that it started.

Ray's own processes notice a killed driver within seconds, but for two that stay for a minute. The guard is a small
process of its own; it notes the driver's descendants every `LOOK_SECONDS` and ends when its standard input closes,
which the system does for a killed driver too.
"""

import os
import select
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress

import psutil

LOOK_SECONDS = 2.0


@contextmanager
def guarded() -> Iterator[None]:
    """Guard this process's descendants until the end of the block or of the process."""
    guard = subprocess.Popen(
        [sys.executable, "-P", "-m", "optimizer.search.orphans", str(os.getpid())],
        stdin=subprocess.PIPE,
        start_new_session=True,
    )
    try:
        yield
    finally:
        if guard.stdin is not None:
            guard.stdin.close()
        guard.wait()


def watch(driver: psutil.Process) -> None:
    """Note what the driver starts from now on until standard input closes, then end what is left of it."""
    before = _below(driver)
    seen: set[psutil.Process] = set()
    while True:
        seen |= _below(driver) - before
        waiting, _, _ = select.select([0], [], [], LOOK_SECONDS)
        if waiting and not os.read(0, 1):
            break
    for process in seen.union(*map(_below, seen)):
        with suppress(psutil.Error):
            process.kill()  # psutil tells a number used anew from the process it noted


def _below(process: psutil.Process) -> set[psutil.Process]:
    """The descendants of a process; none once it is gone."""
    try:
        return set(process.children(recursive=True))
    except psutil.Error:
        return set()


if __name__ == "__main__":
    watch(psutil.Process(int(sys.argv[1])))
