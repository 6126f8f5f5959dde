"""Nodes of a Ray cluster on this machine, each a process tree of its own that can be killed like a machine."""

import os
import re
import signal
import subprocess
import threading
import time
import venv
from contextlib import contextmanager, suppress
from importlib.util import find_spec
from itertools import pairwise
from pathlib import Path

from postgres import free_port
from processes import alive, descendants, started, wait_for
from runs import done, progress

from optimizer.search.cluster import PATIENT

QUIET = {"RAY_AUTH_MODE": "disabled", "RAY_USAGE_STATS_ENABLED": "0"}

SOON = {"RAY_health_check_period_ms": "1000"}
"""So often a head looks after other nodes; one that is gone is missed after seconds, not after a quarter minute."""

HASTY = SOON | {"RAY_health_check_timeout_ms": "1000", "RAY_health_check_failure_threshold": "3"}
"""A head that gives a node up that has not answered for half a dozen seconds, not for a minute."""


def bare_python(folder):
    """A Python with every library of this one, but without this package: what a node of a cluster may have."""
    venv.create(folder, with_pip=False)
    (site,) = folder.glob("lib/python*/site-packages")
    # A path in a .pth file is added as it stands; the .pth files in it, an editable install's among them, are not read.
    (site / "libraries.pth").write_text(f"{Path(find_spec('ray').origin).parents[1]}\n")
    return folder / "bin" / "python"


class Node:
    """A node started with `ray start`: the head without an address, else one more node of the cluster there."""

    def __init__(self, python, folder, cores, address=None, looks=SOON):
        self.address = address or f"127.0.0.1:{free_port()}"
        role = [f"--address={self.address}"] if address else ["--head", f"--port={self.address.rpartition(':')[2]}"]
        if not address:
            role += ["--node-ip-address=127.0.0.1", "--include-dashboard=false", f"--temp-dir={folder}"]
        plain = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"} | QUIET | PATIENT | looks
        self._said = Path(folder) / f"{time.monotonic_ns()}.said"
        with self._said.open("w") as said:
            self.process = subprocess.Popen(
                [python, "-u", "-m", "ray.scripts.scripts", "start", *role, f"--num-cpus={cores}", "--block",
                 "--object-store-memory=100000000"],
                env=plain, cwd=folder, stdout=said, stderr=said, start_new_session=True,
            )  # fmt: skip

    def begun(self):
        """Whether it is there; False when it gave up, as Ray's processes do with each other on a busy machine."""
        assert wait_for(lambda: self.process.poll() is not None or "Ray runtime started" in self._said.read_text()), (
            f"a node of the cluster does not start: {self._said.read_text()}"
        )
        return self.process.poll() is None

    def solving(self):
        """How many workers on it solve a trial now."""
        return solving(self.process)

    def hold(self):
        """Let nothing of it go on, as when the machine hangs."""
        signalled([self.process.pid, *descendants(self.process.pid)], signal.SIGSTOP)

    def let_go(self):
        """Let all of it go on again."""
        signalled([self.process.pid, *descendants(self.process.pid)], signal.SIGCONT)

    def kill(self):
        """End all that belongs to it at once, as when the machine is switched off."""
        below = set(descendants(self.process.pid))
        for pid in [self.process.pid, *below]:
            try:
                os.kill(pid, signal.SIGKILL)
            except ProcessLookupError:
                continue
        self.process.wait()
        deadline = time.monotonic() + 20
        while alive(below) and time.monotonic() < deadline:
            time.sleep(0.1)
        assert not alive(below)


class Cluster:
    """Nodes on this machine, the head first, each there before one goes on; looks: how its head looks after them."""

    def __init__(self, python, folder, looks=SOON):
        self.python, self.folder, self.looks, self.nodes = python, folder, looks, []

    def node(self, cores):
        """One more node; the head where there is none."""
        address = self.nodes[0].address if self.nodes else None
        for _ in range(3):
            made = Node(self.python, self.folder, cores, address, self.looks)
            if made.begun():
                self.nodes.append(made)
                return made
            made.kill()
        raise AssertionError("no node of the cluster starts")

    @property
    def head(self):
        """The head, of one core, where it has none of its own."""
        return self.nodes[0] if self.nodes else self.node(1)

    def search(self, project, place):
        """A search on it."""
        on_it = QUIET | {"RAY_ADDRESS": self.head.address}
        return started("search", project, "--results", place, "--minutes", "30", **on_it)

    def close(self):
        """End all nodes."""
        for node in reversed(self.nodes):
            node.kill()


def join(cluster, project, place, delays):
    """Searches by their places that join so many seconds before the last of them, and have found a layout; the head's
    raylet is held still, so that none can have joined."""
    os.kill(raylet_of(cluster.head.process)[0], signal.SIGSTOP)
    joining = {}
    for delay, after in pairwise((*delays, 0.0)):
        joining[place / f"{delay}"] = cluster.search(project, place / f"{delay}")
        time.sleep(delay - after)
    assert wait_for(lambda: all(done(folder) for folder in joining))
    assert [progress(folder).workers for folder in joining] == [0] * len(delays)
    return joining


def solving(process):
    """How many of Ray's workers below a process solve a trial now."""
    return sum(line.startswith("ray::Solver.attempt") for line in descendants(process.pid).values())


def signalled(pids, number):
    """Send a signal to those of the processes that are there."""
    for pid in pids:
        with suppress(ProcessLookupError):
            os.kill(pid, number)


@contextmanager
def throttled(pids, duty=0.1, period=1.0):
    """Let processes go on for a tenth of the time only, as on a machine that is far too busy."""
    over = threading.Event()

    def by_turns():
        while not over.is_set():
            signalled(pids, signal.SIGSTOP)
            over.wait((1.0 - duty) * period)
            signalled(pids, signal.SIGCONT)
            over.wait(duty * period)

    thread = threading.Thread(target=by_turns)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def importable(python, module):
    """Whether a Python finds a module."""
    plain = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    found = subprocess.run([python, "-c", f"import {module}"], env=plain, cwd=Path("/"), capture_output=True)
    return found.returncode == 0


def raylet_of(process):
    """Process and socket of the raylet below a search; None before there is one."""
    for pid, line in descendants(process.pid).items():
        if "/raylet " in line:
            return pid, re.search(r"--raylet_socket_name=(\S+)", line)[1]
    return None
