"""Processes of this program's own below the driver, spoken to through a pipe: how they start and how they ended.

Such a process runs a module here that is given the pipe's descriptor (Windows: handle) and the driver's number;
`end_with` is the first thing it does.
"""

import ctypes
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from multiprocessing import Pipe, connection
from multiprocessing.connection import Connection
from typing import Any

LOOK_SECONDS = 0.5
PR_SET_PDEATHSIG = 1
"""Of Linux's prctl: which signal this process gets when the thread that started it ends."""

END_SECONDS = 5.0
"""So long a process that closed its pipe has to end; that takes as long as its memory is being given back."""


def started(module: str, environment: Mapping[str, str]) -> tuple[subprocess.Popen[bytes], Connection]:
    """A process that runs a module, looks for its code where this one does and says nothing, and this side of its pipe.

    It has a session of its own, as Ctrl-C in a terminal goes to a whole group of processes and is the driver's.

    Parameters
    ----------
    module : what it runs
    environment : what differs from this process's environment

    Raises
    ------
    OSError
        when the system starts none
    """
    here, there = Pipe()
    with there:
        descriptor = there.fileno()
        try:
            process = subprocess.Popen(
                [sys.executable, "-P", "-m", module, str(descriptor), str(os.getpid())],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                env=os.environ | environment | {"PYTHONPATH": os.pathsep.join(sys.path)},
                **_apart(descriptor),
            )
        except OSError:
            here.close()
            raise
    return process, here


def _apart(descriptor: int) -> dict[str, Any]:
    """What starts a process with a pipe and out of reach of the terminal's Ctrl-C."""
    if sys.platform != "win32":
        return {"pass_fds": [descriptor], "start_new_session": True}
    os.set_handle_inheritable(descriptor, True)
    handed = subprocess.STARTUPINFO(lpAttributeList={"handle_list": [descriptor]})
    return {"startupinfo": handed, "creationflags": subprocess.CREATE_NEW_PROCESS_GROUP}


def pipe_of(descriptor: int) -> Connection:
    """The process's own side of the pipe that it was given."""
    kind: type[Connection] = getattr(connection, "PipeConnection", Connection)  # the former is Windows'
    return kind(descriptor)


def end_with(driver: int) -> None:
    """End this process, however busy, when the driver does.

    Parameters
    ----------
    driver : the number of the process that started this one
    """
    end_with_starter()
    lives = _looked_for(driver)

    def watch() -> None:
        while lives():
            time.sleep(LOOK_SECONDS)
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


def _looked_for(driver: int) -> Callable[[], bool]:
    """Whether the driver lives, told by a look."""
    if sys.platform != "win32":
        return lambda: os.getppid() == driver
    import psutil  # Windows gives a process no other parent when its own ends

    try:
        return psutil.Process(driver).is_running
    except psutil.NoSuchProcess:
        return lambda: False


def end_with_starter() -> None:
    """On Linux end this process, however busy, when the thread that started it does."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGKILL)


def how_it_ended(process: subprocess.Popen[bytes]) -> str:
    """How a process ended that closed its pipe, or died, in a few words."""
    try:
        code = process.wait(END_SECONDS)
    except subprocess.TimeoutExpired:
        return "it closed its pipe"
    with suppress(ValueError):
        return f"ended by {signal.Signals(-code).name}"
    return f"ended with code {code}"


def end_all_below(process: subprocess.Popen[bytes]) -> None:
    """End a process and all that it started, at once; held still first, so that it starts nothing meanwhile."""
    if process.poll() is not None:
        return
    import psutil

    root = psutil.Process(process.pid)
    with suppress(psutil.Error):
        root.suspend()
        for below in (*root.children(recursive=True), root):
            with suppress(psutil.Error):
                below.kill()
    process.kill()
    process.wait()
