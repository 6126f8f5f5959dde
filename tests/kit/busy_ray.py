"""In place of the process that uses Ray, on a machine that is too busy for it: `python -m busy_ray PIPE DRIVER`.

Its class's arguments are a folder, in which its starts are counted, and how the first of them fail.
"""

import os
import shutil
import signal
import subprocess
import sys
import time
from multiprocessing.connection import Connection


def fail(how, pipe, folder):
    """says so: as Ray does where it waited in vain; dies: be killed; takes long: for as long as it is let, its raylet
    beside it; loses its raylet: which Ray does not see; loses its head: at work, and waits
    for it however it is let go; loses its nodes: of two cores, which come again."""
    if how == "says so":
        pipe.send((None, ConnectionError("Ray could not start its processes here: it timed out")))
    elif how == "dies":
        os.kill(os.getpid(), signal.SIGKILL)
    elif how == "takes long":
        kept = raylet(folder, "sleep", "3600")
        pipe.poll(None)
        kept.wait()
    elif how == "loses its head":
        pipe.send((None, None))
        pipe.recv()
        pipe.send((None, ConnectionError("Ray's process gcs_server on this machine died")))
        time.sleep(3600)
    elif how == "loses its nodes":
        pipe.send((None, None))
        cores = iter((2, 0, 1))
        while True:
            pipe.send((next(cores) if pipe.recv() == ("cores",) else None, None))
    else:
        kept = raylet(folder, "true")
        pipe.recv()
        kept.wait()


def raylet(folder, program, *words):
    """A process by that name."""
    place = folder / "raylet"
    place.unlink(missing_ok=True)
    place.symlink_to(shutil.which(program))
    return subprocess.Popen([place, *words])


def main(descriptor):
    with Connection(descriptor) as pipe:
        *_, (folder, fails) = pipe.recv()
        starts = len(list(folder.glob("start *")))
        (folder / f"start {starts}").touch()
        if starts < len(fails):
            fail(fails[starts], pipe, folder)
            return
        pipe.send((None, None))
        while True:
            pipe.send((1 if pipe.recv() == ("cores",) else None, None))


if __name__ == "__main__":
    main(int(sys.argv[1]))
