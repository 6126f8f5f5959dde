"""A worker of this machine: a process of one core that solves what comes through a pipe, and ends with its driver.

It writes nothing but answers. Whatever ends the driver closes the pipe, which an idle worker notices; a busy one sees
that it has got another parent, and Linux ends it at once.
"""

import sys
from contextlib import suppress

from optimizer.search.own_process import end_with, pipe_of


def main(descriptor: int, driver: int) -> None:
    """Solve until the pipe closes; its first message is a solver's class and what to make it with, the first answer
    None, or a sentence where that failed.

    Parameters
    ----------
    descriptor : the pipe's
    driver : the process to end with
    """
    end_with(driver)
    with suppress(EOFError, OSError), pipe_of(descriptor) as pipe:
        try:
            make, given = pipe.recv()
            solver = make(*given)
        except Exception as error:
            pipe.send(f"{type(error).__name__}: {error}")
            return
        pipe.send(None)
        while True:
            pipe.send(solver.attempt(pipe.recv()))


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
