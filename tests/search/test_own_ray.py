"""A search that starts Ray by itself, which does not start at once, dies, or is stopped while it starts."""

import os
import signal
import sys
import time
from pathlib import Path

import pytest
from lost_ray import TOLD_WITHIN, lose
from optuna.trial import TrialState
from processes import alive, descendants, ended, started, wait_for
from ray_nodes import raylet_of
from runs import ON_RAY, done, in_state, only_run, workers_of
from stub_solver import Stub

from optimizer.records.files import read_record
from optimizer.records.run import RunRecord
from optimizer.search import own_process, ray_crew
from optimizer.search.cluster import LOCAL


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


@pytest.mark.parametrize("name", ["gcs_server", "raylet"])
def test_a_search_whose_own_ray_is_killed_ends_with_a_sentence_and_can_go_on(name, project, tmp_path):
    # Its first raylet dies while it starts, as where a machine is too busy for Ray.
    process = started("search", project, "--results", tmp_path, "--minutes", "30", "--workers", "1", **ON_RAY)
    os.kill(wait_for(lambda: raylet_of(process))[0], signal.SIGKILL)
    assert wait_for(lambda: workers_of(process) and done(tmp_path) >= 2)

    def kill():
        (victim,) = [pid for pid, line in descendants(process.pid).items() if f"/{name} " in line]
        os.kill(victim, signal.SIGKILL)

    ((folder, sentence, err),) = lose(kill, {tmp_path: process})
    assert "in this process alone; Ray did not start, trying again (2 of 3)" in err
    assert sentence.startswith(
        f"Ray's process {name} on this machine died during the search; what was finished is safe"
    )
    before = in_state(folder, TrialState.COMPLETE)
    code, _, err = ended(started("resume", folder, "--trials", "2", "--workers", "1"))  # by this machine alone
    assert code == 0, err
    after = in_state(folder, TrialState.COMPLETE)
    assert before < after
    assert len(after) == len(before) + 2


def connections(path):
    """Ends of a socket in the file system that its listener holds: its own, and one for each that is connected."""
    return sum(line.endswith(path) for line in Path("/proc/net/unix").read_text().splitlines())


@pytest.mark.skipif(sys.platform != "linux", reason="sockets are counted where only Linux tells them")
@pytest.mark.parametrize("moment", ["its process begins", "it starts its own", "it registers"])
def test_a_search_stopped_while_ray_starts_ends_as_by_any_stop(moment, project, tmp_path):
    # What Ray waits for is held still, so that it cannot be done before the stop.
    process = started("search", project, "--results", tmp_path, "--minutes", "30", "--workers", "1", **ON_RAY)
    if moment == "its process begins":
        assert wait_for(lambda: "ray_process" in " ".join(descendants(process.pid).values()))
    else:
        raylet, path = wait_for(lambda: raylet_of(process))
        assert moment == "it starts its own" or wait_for(lambda: connections(path) >= 2)
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
