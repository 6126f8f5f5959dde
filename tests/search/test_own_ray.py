"""A search that starts Ray by itself, which does not start at once, or dies; whose worker, or driver, is killed; that
is stopped, also while Ray starts.

One run goes through most of it, as every start of Ray costs five processes. `tests/benchmarks/ray_deaths.py` does more.
"""

import os
import shutil
import signal
import sys
import time
from itertools import pairwise
from pathlib import Path
from subprocess import Popen

import pytest
import ray
from interruptions import interrupted, whole_after
from lost_ray import TOLD_WITHIN, lose
from processes import alive, descendants, ended, started, wait_for
from ray_nodes import raylet_of, solving
from runs import ON_RAY, done, finished, only_run, workers_of
from stub_solver import Stub

from optimizer.records.files import read_record
from optimizer.records.run import RunRecord
from optimizer.search import own_process, ray_crew
from optimizer.search.cluster import LOCAL, opened

SEED = ("--seed", "3", "--workers", "1")
ENDLESS = ("--minutes", "30", "--workers", "1")


@pytest.fixture
def starting(tmp_path, monkeypatch):
    """Open what stands in for a Ray whose first starts fail so."""
    monkeypatch.setattr(ray_crew, "started", lambda _, environment: own_process.started("busy_ray", environment))
    return lambda *fails: ray_crew.open_ray(LOCAL, 1, Stub, (tmp_path, fails))


def test_ray_that_does_not_start_on_a_busy_machine_is_started_again_and_told_so(starting):
    before, told = set(descendants(os.getpid())), []
    with starting("says so", "loses its raylet") as crew:
        assert wait_for(lambda: told.append(crew.trouble) or crew.cores() == 1)
        assert crew.trouble == ""
    assert list(dict.fromkeys(told)) == [
        "", "Ray did not start, trying again (2 of 3)", "Ray did not start, trying again (3 of 3)",
    ]  # fmt: skip
    assert wait_for(lambda: not set(descendants(os.getpid())) - before)


def test_ray_that_starts_at_no_try_ends_the_search_with_a_sentence(starting):
    with starting("loses its raylet", "says so", "dies") as crew:
        sentence = r"Ray ended the process that used it \(ended by SIGKILL\) \(tried 3 times\)"
        with pytest.raises(ConnectionError, match=sentence):
            wait_for(crew.check)


def test_the_driver_rests_between_its_trials_while_ray_needs_this_machine_to_start(starting):
    with starting("takes long") as crew:
        begun = time.monotonic()
        crew.check()
        assert time.monotonic() - begun >= ray_crew.REST_SECONDS


@pytest.mark.parametrize("name", ["gcs_server", "raylet"])
def test_a_process_of_rays_that_dies_here_is_told_by_its_name(name, tmp_path, monkeypatch):
    own = {}

    def init(*_, **__):
        for one in ("gcs_server", "raylet"):
            (tmp_path / one).symlink_to(shutil.which("sleep"))
            own[one] = Popen([tmp_path / one, "3600"])
        assert wait_for(lambda: all(str(tmp_path / one) in " ".join(descendants(os.getpid()).values()) for one in own))

    monkeypatch.setattr(ray, "init", init)
    found = opened(LOCAL, 1)
    try:
        found.check()
        own[name].kill()
        with pytest.raises(ConnectionError, match=f"Ray's process {name} on this machine died during the search"):
            wait_for(found.check)
    finally:
        for process in own.values():
            process.kill()
            process.wait()


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

    def note(self, said):
        """Keep what there is at an end."""
        self.held.append(finished(self.folder))
        self.said.append(said)


@pytest.fixture(scope="module")
def lived(project, tmp_path_factory):
    """A run whose Ray dies while it starts, then its worker, then its driver; taken up, whose raylet dies; taken up."""
    run = Lived(project, tmp_path_factory.mktemp("lived") / "results")
    process = run.begun()
    os.kill(wait_for(lambda: raylet_of(process))[0], signal.SIGKILL)  # as where the machine is too busy for it
    assert wait_for(lambda: solving(process))
    (worker,) = workers_of(process)
    os.kill(worker, signal.SIGKILL)  # as the kernel does when memory runs out
    assert wait_for(lambda: set(workers_of(process)) - {worker})
    run.solved(process)
    below = set(descendants(process.pid))
    process.kill()
    run.note(process.communicate()[1])
    assert wait_for(lambda: not alive(below), 30), "orphans"

    process = run.begun()
    run.solved(process)
    ((_, sentence, said),) = lose(lambda: os.kill(raylet_of(process)[0], signal.SIGKILL), {run.place: process})
    run.note(said)
    assert sentence.startswith("Ray's process raylet on this machine died during the search; what was finished is safe")
    return run


def test_ray_that_dies_while_it_starts_is_started_again(lived):
    assert "in this process alone; Ray did not start, trying again (2 of 3)" in lived.said[0]


def test_a_worker_of_rays_killed_in_mid_run_costs_no_trial_and_changes_none(lived, project, tmp_path):
    # With one worker there is one order of trials, whoever solves them.
    code, _, err = ended(started("search", project, "--results", tmp_path, "--trials", "6", *SEED))
    assert code == 0, err
    assert lived.held[1].items() > finished(only_run(tmp_path)).items()
    assert set(lived.held[1]) == set(range(len(lived.held[1])))


def test_a_run_on_ray_loses_no_finished_trial_whatever_is_killed(lived):
    for before, after in pairwise(lived.held):
        assert before.items() < after.items()
    assert "Traceback" not in "".join(lived.said)


def test_an_interrupted_search_by_ray_ends_cleanly(lived, capsys):
    process = lived.begun()
    lived.solved(process)
    code, err = interrupted(process, signal.SIGINT, lived.place, 2)
    assert code == 0, err
    assert "Traceback" not in err
    whole_after(signal.SIGINT, lived.place, "ray", capsys)
    run = read_record(lived.folder / "run.json", RunRecord)
    assert (run.trials_done, run.trials_failed) == (len(finished(lived.folder)), 0)
    assert lived.held[-1].items() < finished(lived.folder).items()


def connections(path):
    """Ends of a socket in the file system that its listener holds: its own, and one for each that is connected."""
    return sum(line.endswith(path) for line in Path("/proc/net/unix").read_text().splitlines())


@pytest.mark.skipif(sys.platform != "linux", reason="sockets are counted where only Linux tells them")
@pytest.mark.parametrize("moment", ["its process begins", "it registers"])
def test_a_search_stopped_while_ray_starts_ends_as_by_any_stop(moment, project, tmp_path):
    # What Ray waits for is held still, so that it cannot be done before the stop.
    process = started("search", project, "--results", tmp_path, *ENDLESS, **ON_RAY)
    if moment == "its process begins":
        assert wait_for(lambda: "ray_process" in " ".join(descendants(process.pid).values()))
    else:
        raylet, path = wait_for(lambda: raylet_of(process))
        assert wait_for(lambda: connections(path) >= 2)
        os.kill(raylet, signal.SIGSTOP)
    assert wait_for(lambda: done(tmp_path) >= 1)
    below, begun = set(descendants(process.pid)), time.monotonic()
    process.send_signal(signal.SIGTERM)
    code, _, err = ended(process, seconds=120)
    assert time.monotonic() - begun < TOLD_WITHIN
    assert code == 0, err
    assert [line for line in err.splitlines() if " elapsed, " not in line] == []
    assert wait_for(lambda: not alive(below), 10)
    assert read_record(only_run(tmp_path) / "run.json", RunRecord).ended_by == "termination"
