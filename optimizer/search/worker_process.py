"""A worker of this machine: a process of one core that solves what comes through a pipe, and ends with its driver.

It writes nothing but answers. Whatever ends the driver closes the pipe, which an idle worker notices; a busy one sees
that it has got another parent, and Linux ends it at once.
"""

import ctypes
import os
import signal
import sys
import threading
import time
from contextlib import suppress
from multiprocessing.connection import Connection

LOOK_SECONDS = 0.5
PR_SET_PDEATHSIG = 1
"""Of Linux's prctl: which signal this process gets when the thread that started it ends."""


def main(descriptor: int, driver: int) -> None:
    """Solve until the pipe closes; its first message is a solver's class and what to make it with, the first answer
    None, or a sentence where that failed.

    Parameters
    ----------
    descriptor : the pipe's
    driver : the process to end with
    """
    _end_with(driver)
    with suppress(EOFError, OSError), Connection(descriptor) as pipe:
        try:
            make, given = pipe.recv()
            solver = make(*given)
        except Exception as error:
            pipe.send(f"{type(error).__name__}: {error}")
            return
        pipe.send(None)
        while True:
            pipe.send(solver.attempt(pipe.recv()))


def _end_with(driver: int) -> None:
    """End, however busy, when the driver does."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGKILL)

    def watch() -> None:
        while os.getppid() == driver:
            time.sleep(LOOK_SECONDS)
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
