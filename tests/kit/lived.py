"""A run on Ray of its own through all that is done to it."""

import os
import signal
import time
from pathlib import Path

from interruptions import interrupted
from lost_ray import TOLD_WITHIN
from processes import alive, descendants, ended, started, wait_for
from ray_nodes import raylet_of, solving
from runs import ON_RAY, done, finished, only_run, workers_of

from optimizer.records.files import read_record
from optimizer.records.run import RunRecord

ENDLESS = ("--minutes", "30", "--workers", "1")


class Lived:
    """One run on Ray of its own: what its journal held at each end, what it said before each."""

    def __init__(self, project, place):
        self.project, self.place = project, place
        self.held, self.said = [{}], []

    @property
    def folder(self):
        return only_run(self.place)

    def begun(self):
        """Begin it, or take it up."""
        if self.place.exists():
            return started("resume", self.folder, *ENDLESS, **ON_RAY)
        return started("search", self.project, "--results", self.place, "--seed", "3", *ENDLESS, **ON_RAY)

    def solved(self, process):
        """Wait until a worker of Ray's has solved a trial."""
        assert wait_for(lambda: solving(process))
        before = len(finished(self.folder))
        assert wait_for(lambda: len(finished(self.folder)) > max(before, 6))

    def worker_lost(self, process):
        """Kill the worker, as the kernel does when memory runs out, and wait for another one."""
        assert wait_for(lambda: solving(process))
        (worker,) = workers_of(process)
        os.kill(worker, signal.SIGKILL)
        assert wait_for(lambda: set(workers_of(process)) - {worker})

    def stopped(self, process, moment):
        """Stop it while Ray starts: what Ray waits for is held still, so that it cannot be done before the stop."""
        if moment == "its process begins":
            assert wait_for(lambda: "ray_process" in " ".join(descendants(process.pid).values()))
        else:
            raylet, path = wait_for(lambda: raylet_of(process))
            assert wait_for(lambda: connections(path) >= 2)
            os.kill(raylet, signal.SIGSTOP)
        assert wait_for(lambda: done(self.place) >= 1)
        below, begun = set(descendants(process.pid)), time.monotonic()
        process.send_signal(signal.SIGTERM)
        code, _, err = ended(process, seconds=120)
        assert time.monotonic() - begun < TOLD_WITHIN
        assert code == 0, err
        assert [line for line in err.splitlines() if " elapsed, " not in line] == []
        assert wait_for(lambda: not alive(below), 10)
        assert read_record(self.folder / "run.json", RunRecord).ended_by == "termination"
        self.note(err)

    def interrupted(self, process):
        """End it as Ctrl-C does."""
        code, err = interrupted(process, signal.SIGINT, self.place, 2)
        assert code == 0, err
        self.note(err)
        run = read_record(self.folder / "run.json", RunRecord)
        assert (run.trials_done, run.trials_failed) == (len(self.held[-1]), 0)

    def note(self, said):
        """Keep what there is at an end."""
        self.held.append(finished(self.folder))
        self.said.append(said)


def connections(path):
    """Ends of a socket in the file system that its listener holds: its own, and one for each that is connected."""
    return sum(line.endswith(path) for line in Path("/proc/net/unix").read_text().splitlines())
