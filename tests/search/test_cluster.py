"""A search on a Ray cluster whose nodes come and go, and one that loses Ray itself."""

import os
import re
import signal
import socket
import sys
import threading
import time
from contextlib import contextmanager, suppress
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory

import optuna
import pytest
from optuna.storages import JournalStorage
from optuna.storages.journal import JournalFileBackend
from optuna.trial import TrialState
from postgres import free_port
from processes import alive, descendants, ended, started, wait_for
from ray_nodes import QUIET, Node, bare_python, importable
from runs import ON_RAY, only_run, workers_of
from stub_solver import Stub

from optimizer.records.files import read_record
from optimizer.records.run import FrontRecord, ProgressRecord, RunRecord
from optimizer.search import ray_crew
from optimizer.search.head import answers

TOLD_WITHIN = 30
"""Seconds within which a search whose Ray died has ended."""


@pytest.fixture(scope="module")
def python(tmp_path_factory):
    found = bare_python(tmp_path_factory.mktemp("bare"))
    assert importable(found, "ray")
    if importable(found, "optimizer"):
        pytest.skip("the package is installed into site-packages itself, so that no Python without it can be made")
    return found


@pytest.fixture
def nodes(python):
    """Start nodes of a cluster, the head first; all are gone afterwards."""
    with TemporaryDirectory(prefix="rn-", ignore_cleanup_errors=True) as folder:  # short, as Ray's sockets lie below
        started_here = []

        def node(cores):
            address = started_here[0].address if started_here else None
            started_here.append(Node(python, folder, cores, address))
            return started_here[-1]

        yield node
        for one in reversed(started_here):
            one.kill()


def progress(place):
    """How far the run below a folder is; None before there is one."""
    (path,) = list(place.glob("*/progress.json")) or [None]
    return read_record(path, ProgressRecord) if path else None


def done(place):
    return progress(place).trials_done if progress(place) else 0


def states(folder):
    """Number and state of every trial in the journal."""
    storage = JournalStorage(JournalFileBackend(str(folder / "journal.log")))
    return {trial.number: trial.state for trial in optuna.load_study(study_name=None, storage=storage).get_trials()}


def in_state(folder, state):
    return {number for number, found in states(folder).items() if found == state}


def test_a_search_follows_nodes_that_come_and_go(project, nodes, tmp_path):
    # Nodes of one, two and one core; their Python does not have this package: the search sends them its code.
    head = nodes(1)
    assert wait_for(lambda: answers(head.address), 60)
    on_cluster = QUIET | {"RAY_ADDRESS": head.address}
    process = started("search", project, "--results", tmp_path, "--minutes", "30", **on_cluster)
    assert wait_for(lambda: done(tmp_path) >= 1)
    assert wait_for(lambda: progress(tmp_path).workers == 1, 60)
    assert wait_for(lambda: head.solving() == 1)
    wide = nodes(2)
    assert wait_for(lambda: progress(tmp_path).workers == 3, 60)
    assert wait_for(lambda: wide.solving() == 2), "the new node's cores are not used"
    folder = next(tmp_path.iterdir())
    last = max(states(folder))
    assert wait_for(lambda: len([one for one in in_state(folder, TrialState.COMPLETE) if one > last]) >= 4)
    under_way = in_state(folder, TrialState.RUNNING)
    wide.kill()
    assert wait_for(lambda: progress(tmp_path).workers == 1, 60)
    spare = nodes(1)
    assert wait_for(lambda: progress(tmp_path).workers == 2, 60)
    assert wait_for(lambda: spare.solving() == 1)
    assert len(under_way) >= 2
    assert wait_for(lambda: under_way <= in_state(folder, TrialState.COMPLETE)), "a trial was lost with its node"
    process.send_signal(signal.SIGTERM)
    code, _, err = ended(process)
    assert code == 0, err
    assert "Traceback" not in err
    for workers in ("in this process alone", "on 1 Ray worker", "on 3 Ray workers", "on 2 Ray workers"):
        assert workers in err
    run = read_record(folder / "run.json", RunRecord)
    assert (run.ended_by, run.trials_failed) == ("termination", 0)
    assert run.trials_done == len(in_state(folder, TrialState.COMPLETE))
    assert not in_state(folder, TrialState.FAIL)


def lose(what, searches):
    """Folder and last sentence of searches, process by place, that lose Ray by what is done to it: ended in time, with
    intact folders and nobody left."""
    begun, below = time.monotonic(), {pid for process in searches.values() for pid in descendants(process.pid)}
    what()
    found = []
    for place, process in searches.items():
        code, out, err = ended(process, seconds=120)
        assert time.monotonic() - begun < TOLD_WITHIN
        assert code == 2, err
        assert "Traceback" not in out + err
        lines = err.splitlines()
        assert lines[-2] == "the search could not go on"
        folder = next(place.iterdir())
        run = read_record(folder / "run.json", RunRecord)
        assert run.ended_by == "error"
        assert read_record(folder / "pareto.json", FrontRecord).layouts
        assert not list(folder.rglob("*.part"))
        found.append((folder, " ".join(lines[-1].split())))
    assert wait_for(lambda: not alive(below), 10)
    return found


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


def test_a_search_whose_cluster_dies_ends_with_a_sentence(project, nodes, tmp_path):
    head = nodes(1)
    assert wait_for(lambda: answers(head.address), 60)
    on_cluster = QUIET | {"RAY_ADDRESS": head.address}
    process = started("search", project, "--results", tmp_path, "--minutes", "30", **on_cluster)
    assert wait_for(lambda: done(tmp_path) >= 1 and head.solving() == 1)
    ((_, sentence),) = lose(head.kill, {tmp_path: process})
    assert sentence.startswith(f"the head of the Ray cluster at {head.address} died during the search")


def raylet_of(process):
    """Process and socket of the raylet below a search; None before there is one."""
    for pid, line in descendants(process.pid).items():
        if "/raylet " in line:
            return pid, re.search(r"--raylet_socket_name=(\S+)", line)[1]
    return None


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


@contextmanager
def false_head():
    """What greets as a head does, by settings of HTTP/2, and no more: its address, and how it does, to be changed."""
    with socket.create_server(("127.0.0.1", 0)) as listener:
        kept, does = [], ["greets"]

        def serve():
            with suppress(OSError):
                while True:
                    kept.append(listener.accept()[0])
                    if does[-1] == "greets":
                        kept[-1].sendall(bytes((0, 0, 0, 4, 0, 0, 0, 0, 0)))
                    elif does[-1] == "closes":
                        kept[-1].close()

        serving = threading.Thread(target=serve, daemon=True)
        serving.start()
        try:
            yield f"127.0.0.1:{listener.getsockname()[1]}", does
        finally:
            listener.shutdown(socket.SHUT_RDWR)
            serving.join()
            for connection in kept:
                connection.close()


@pytest.mark.parametrize("hangs", [False, True])
def test_a_cluster_that_does_not_answer_is_told_before_anything_starts(hangs, project, tmp_path):
    with false_head() as (address, does):
        does.append("is silent")
        address = address if hangs else f"127.0.0.1:{free_port()}"
        code, _, err = ended(started("search", project, "--results", tmp_path, RAY_ADDRESS=address))
    assert code == 2
    assert f"no Ray cluster answers at {address}" in err
    assert len(err.splitlines()) == 2
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("then", ["is silent", "closes"])
def test_a_search_whose_cluster_goes_silent_while_it_joins_ends_with_a_sentence(then, project, tmp_path):
    with false_head() as (address, does):
        process = started("search", project, "--results", tmp_path, "--minutes", "30", **QUIET, RAY_ADDRESS=address)
        assert wait_for(lambda: done(tmp_path) >= 1, 60)
        ((_, sentence),) = lose(lambda: does.append(then), {tmp_path: process})
    assert sentence.startswith(f"the head of the Ray cluster at {address} died during the search")


def test_a_cluster_that_lets_nobody_join_is_waited_for_in_vain_no_longer_than_told(monkeypatch):
    monkeypatch.setattr(ray_crew, "JOIN_SECONDS", 3.0)
    with false_head() as (address, _), ray_crew.open_ray(address, 1, Stub, ()) as crew:
        begun = time.monotonic()
        with pytest.raises(ConnectionError, match=f"the Ray cluster at {address} has let nobody join it for 3 s"):
            wait_for(crew.check, 30)
        assert time.monotonic() - begun < 10


@pytest.mark.parametrize(("how", "delays"), [("dies", (5.0, 1.5, 0.0)), ("hangs", (1.5,))])
def test_searches_whose_cluster_ends_while_they_join_end_with_a_sentence(how, delays, project, nodes, tmp_path):
    # The head's raylet is held still, so that nobody can have joined when the head ends: so long after each began.
    head = nodes(1)
    assert wait_for(lambda: answers(head.address) and raylet_of(head.process), 60)
    os.kill(raylet_of(head.process)[0], signal.SIGSTOP)
    on_cluster, joining = QUIET | {"RAY_ADDRESS": head.address}, {}
    for delay, after in pairwise((*delays, 0.0)):
        place = tmp_path / f"{delay}"
        joining[place] = started("search", project, "--results", place, "--minutes", "30", **on_cluster)
        assert wait_for(lambda: done(place) >= 1, 60)  # noqa: B023
        time.sleep(delay - after)
    assert [progress(place).workers for place in joining] == [0] * len(delays)
    for _, sentence in lose(head.kill if how == "dies" else head.hold, joining):
        assert sentence.startswith(f"the head of the Ray cluster at {head.address} died during the search")


def test_a_cluster_without_a_core_ends_a_search_with_a_sentence_and_what_it_found_by_itself(project, nodes, tmp_path):
    head = nodes(0)
    assert wait_for(lambda: answers(head.address), 60)
    on_cluster = QUIET | {"RAY_ADDRESS": head.address}
    code, _, err = ended(started("search", project, "--results", tmp_path, "--minutes", "30", **on_cluster))
    assert code == 2
    assert "Traceback" not in err
    assert f"the Ray cluster at {head.address} has no core to offer; `holewright resume" in " ".join(err.split())
    folder = next(tmp_path.iterdir())
    run = read_record(folder / "run.json", RunRecord)
    assert (run.ended_by, run.workers, run.pool) == ("error", 0, "ray")
    assert run.trials_done == len(in_state(folder, TrialState.COMPLETE)) >= 1
