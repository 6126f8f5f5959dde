"""The command as its own process, and what lives below it."""

import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

COMMAND = Path(sys.executable).parent / "holewright"

PATIENCE = 300
"""Seconds to wait for what takes a few, however busy the machine is."""


STARTED = []
"""What `started` started and nobody has put away."""


def started(*arguments, under=(), **changes):
    """`holewright` as its own process group, as a terminal starts it; under another command, with changes to its
    environment. What a test leaves of it is ended after the test (tests/conftest.py)."""
    process = subprocess.Popen(
        [*under, COMMAND, *arguments], env=os.environ | changes,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
    )  # fmt: skip
    STARTED.append(process)
    return process


def left_over():
    """End what was started and not waited for; of each its command, how it ended, what it said and how far it was."""
    told = []
    while STARTED:
        process = STARTED.pop()
        if process.stderr.closed:
            continue
        code = process.poll()
        how = "was still running" if code is None else f"had ended with code {code}"
        for pid in (process.pid, *descendants(process.pid)) if code is None else ():
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        out, err = process.communicate()
        told.append((f"`{' '.join(map(str, process.args))}` {how}", "\n".join([out, err, *_progress(process.args)])))
    return told


def _progress(arguments):
    """What the progress files below the folders among a command's arguments say."""
    folders = [one for one in arguments if isinstance(one, Path) and one.is_dir()]
    return [f"{path}: {path.read_text()}" for folder in folders for path in folder.rglob("progress.json")]


def ended(process, seconds=300):
    """Its exit code and what it printed."""
    try:
        out, err = process.communicate(timeout=seconds)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        raise
    return process.returncode, out, err


def descendants(pid):
    """Living processes below a process, with their command lines, from the process table."""
    parent = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if fields[0] != "Z":
            parent[int(stat.parent.name)] = int(fields[1])
    found, front = {}, {pid}
    while front:
        front = {child for child, above in parent.items() if above in front and child not in found}
        for child in front:
            try:
                found[child] = Path(f"/proc/{child}/cmdline").read_bytes().replace(b"\0", b" ").decode()
            except OSError:
                continue
    return found


def alive(pids):
    """Those of the processes that still run."""

    def running(pid):
        try:
            return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
        except OSError:
            return False

    return [pid for pid in pids if running(pid)]


def wait_for(condition, seconds=PATIENCE):
    """What a condition came to, asked again and again until it holds or the time is up; less often the longer it takes,
    as a look at all processes takes time itself."""
    deadline, pause = time.monotonic() + seconds, 0.02
    while not (found := condition()) and time.monotonic() < deadline:
        time.sleep(pause)
        pause = min(1.5 * pause, 0.5)
    return found
