"""A search that starts Ray by itself, which dies, or is stopped while it starts."""

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

from optimizer.records.files import read_record
from optimizer.records.run import RunRecord


@pytest.mark.parametrize("name", ["gcs_server", "raylet"])
def test_a_search_whose_own_ray_is_killed_ends_with_a_sentence_and_can_go_on(name, project, tmp_path):
    process = started("search", project, "--results", tmp_path, "--minutes", "30", "--workers", "1", **ON_RAY)
    assert wait_for(lambda: workers_of(process) and done(tmp_path) >= 2)

    def kill():
        (victim,) = [pid for pid, line in descendants(process.pid).items() if f"/{name} " in line]
        os.kill(victim, signal.SIGKILL)

    ((folder, sentence),) = lose(kill, {tmp_path: process})
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
