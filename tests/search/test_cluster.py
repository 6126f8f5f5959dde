"""A search on a Ray cluster whose nodes come and go, or end, or have nothing to offer."""

import os
import signal
import time
from itertools import pairwise
from tempfile import TemporaryDirectory

import pytest
from lost_ray import lose
from optuna.trial import TrialState
from processes import ended, started, wait_for
from ray_nodes import QUIET, Node, bare_python, importable, raylet_of
from runs import done, in_state, progress, states

from optimizer.records.files import read_record
from optimizer.records.run import RunRecord


@pytest.fixture(scope="module")
def python(tmp_path_factory):
    found = bare_python(tmp_path_factory.mktemp("bare"))
    assert importable(found, "ray")
    if importable(found, "optimizer"):
        pytest.skip("the package is installed into site-packages itself, so that no Python without it can be made")
    return found


@pytest.fixture
def nodes(python):
    """Start nodes of a cluster, the head first, each there before the test goes on; all are gone afterwards."""
    with TemporaryDirectory(prefix="rn-", ignore_cleanup_errors=True) as folder:  # short, as Ray's sockets lie below
        started_here = []

        def node(cores):
            address = started_here[0].address if started_here else None
            for _ in range(3):
                made = Node(python, folder, cores, address)
                if made.begun():
                    started_here.append(made)
                    return made
                made.kill()
            pytest.fail("no node of the cluster starts")

        yield node
        for one in reversed(started_here):
            one.kill()


def test_a_search_follows_nodes_that_come_and_go(project, nodes, tmp_path):
    # Nodes of one, two and one core; their Python does not have this package: the search sends them its code.
    head = nodes(1)
    on_cluster = QUIET | {"RAY_ADDRESS": head.address}
    process = started("search", project, "--results", tmp_path, "--minutes", "30", **on_cluster)
    assert wait_for(lambda: done(tmp_path) >= 1)
    assert wait_for(lambda: progress(tmp_path).workers == 1)
    assert wait_for(lambda: head.solving() == 1)
    wide = nodes(2)
    assert wait_for(lambda: progress(tmp_path).workers == 3)
    assert wait_for(lambda: wide.solving() == 2), "the new node's cores are not used"
    folder = next(tmp_path.iterdir())
    last = max(states(folder))
    assert wait_for(lambda: len([one for one in in_state(folder, TrialState.COMPLETE) if one > last]) >= 4)
    under_way = in_state(folder, TrialState.RUNNING)
    wide.kill()
    assert wait_for(lambda: progress(tmp_path).workers == 1)
    spare = nodes(1)
    assert wait_for(lambda: progress(tmp_path).workers == 2)
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


def test_a_search_whose_cluster_dies_ends_with_a_sentence(project, nodes, tmp_path):
    head = nodes(1)
    on_cluster = QUIET | {"RAY_ADDRESS": head.address}
    process = started("search", project, "--results", tmp_path, "--minutes", "30", **on_cluster)
    assert wait_for(lambda: done(tmp_path) >= 1 and head.solving() == 1)
    ((_, sentence, _),) = lose(head.kill, {tmp_path: process})
    assert sentence.startswith(f"the head of the Ray cluster at {head.address} died during the search")


@pytest.mark.parametrize(("how", "delays"), [("dies", (5.0, 1.5, 0.0)), ("hangs", (1.5,))])
def test_searches_whose_cluster_ends_while_they_join_end_with_a_sentence(how, delays, project, nodes, tmp_path):
    # The head's raylet is held still, so that nobody can have joined when the head ends: so long after each began.
    head = nodes(1)
    os.kill(raylet_of(head.process)[0], signal.SIGSTOP)
    on_cluster, joining = QUIET | {"RAY_ADDRESS": head.address}, {}
    for delay, after in pairwise((*delays, 0.0)):
        place = tmp_path / f"{delay}"
        joining[place] = started("search", project, "--results", place, "--minutes", "30", **on_cluster)
        assert wait_for(lambda: done(place) >= 1)  # noqa: B023
        time.sleep(delay - after)
    assert [progress(place).workers for place in joining] == [0] * len(delays)
    for _, sentence, _ in lose(head.kill if how == "dies" else head.hold, joining):
        assert sentence.startswith(f"the head of the Ray cluster at {head.address} died during the search")


def test_a_cluster_without_a_core_ends_a_search_with_a_sentence_and_what_it_found_by_itself(project, nodes, tmp_path):
    head = nodes(0)
    on_cluster = QUIET | {"RAY_ADDRESS": head.address}
    code, _, err = ended(started("search", project, "--results", tmp_path, "--minutes", "30", **on_cluster))
    assert code == 2
    assert "Traceback" not in err
    assert f"the Ray cluster at {head.address} has no core to offer; `holewright resume" in " ".join(err.split())
    folder = next(tmp_path.iterdir())
    run = read_record(folder / "run.json", RunRecord)
    assert (run.ended_by, run.workers, run.pool) == ("error", 0, "ray")
    assert run.trials_done == len(in_state(folder, TrialState.COMPLETE)) >= 1
