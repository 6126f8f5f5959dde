"""The process that uses Ray for a search, so that the driver itself never does.

Ray's native code ends the process that it is in when it loses what it needs, lays its own handlers of signals, and ends
what it started with the thread that started it. All that is this process's; the driver asks through a pipe
(`ray_crew`), and sees it close.
"""

import sys
from contextlib import suppress
from typing import Any

from optimizer.search.actors import Actors
from optimizer.search.cluster import opened
from optimizer.search.own_process import end_with, pipe_of
from optimizer.search.workers import LostError


def main(descriptor: int, driver: int) -> None:
    """Open Ray, then do what is asked until the pipe closes; shut Ray down.

    The first message is `cluster.opened`'s arguments and the actors' class and arguments, all others the name of a
    method of `Actors` and its arguments. Every answer is a pair: what came of it, or the error; first of all where the
    head listens, if it is elsewhere.

    Parameters
    ----------
    descriptor : the pipe's
    driver : the process to end with
    """
    end_with(driver)
    with suppress(EOFError, OSError), pipe_of(descriptor) as pipe:
        address, wanted, make, given = pipe.recv()
        try:
            found = opened(address, wanted)
        except ConnectionError as error:
            pipe.send((None, error))
            return
        except Exception as error:
            pipe.send((None, ConnectionError(f"Ray cannot be used here: {error}")))
            return
        actors = Actors(found, make, given)
        pipe.send((found.head, None))
        while True:
            name, *arguments = pipe.recv()
            pipe.send(_done(actors, name, arguments))
    with suppress(ImportError):
        import ray

        ray.shutdown()


def _done(actors: Actors, name: str, arguments: list[Any]) -> tuple[Any, Exception | None]:
    try:
        return getattr(actors, name)(*arguments), None
    except (ConnectionError, LostError) as error:
        return None, error
    except Exception as error:  # Ray's own ones need Ray to be read
        return None, ConnectionError(f"Ray stopped working: {type(error).__name__}")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
