"""A search on a Ray cluster whose nodes come and go, or end, or that goes silent while it is joined.

`tests/benchmarks/ray_deaths.py` has more nodes, and searches that join while the head goes.
"""

from tempfile import TemporaryDirectory

import pytest
from false_heads import false_head
from lost_ray import lose
from optuna.trial import TrialState
from processes import started, wait_for
from ray_nodes import QUIET, Cluster, bare_python, importable
from runs import done, in_state, only_run, progress, states

from optimizer.records.files import read_record
from optimizer.records.run import RunRecord


@pytest.fixture(scope="module")
def python(tmp_path_factory):
    found = bare_python(tmp_path_factory.mktemp("bare"))
    assert importable(found, "ray")
    if importable(found, "optimizer"):
        pytest.skip("the package is installed into site-packages itself, so that no Python without it can be made")
    return found


def test_a_search_follows_nodes_that_come_and_go_until_the_head_dies(project, python, tmp_path):
    # Nodes of a core each; their Python does not have this package: the search sends them its code.
    with TemporaryDirectory(prefix="rn-", ignore_cleanup_errors=True) as folder:  # short, as Ray's sockets lie below
        cluster = Cluster(python, folder)
        try:
            followed(cluster, cluster.search(project, tmp_path / "runs"), tmp_path / "runs")
        finally:
            cluster.close()


def followed(cluster, process, place):
    assert wait_for(lambda: cluster.head.solving() == 1)
    other = cluster.node(1)
    assert wait_for(lambda: other.solving() == 1), "the new node's core is not used"
    assert wait_for(lambda: progress(place).workers == 2)
    folder = only_run(place)
    last = max(states(folder))
    assert wait_for(lambda: len([one for one in in_state(folder, TrialState.COMPLETE) if one > last]) >= 2)
    under_way = in_state(folder, TrialState.RUNNING)
    other.kill()
    assert len(under_way) >= 1
    assert wait_for(lambda: progress(place).workers == 1)
    assert wait_for(lambda: under_way <= in_state(folder, TrialState.COMPLETE)), "a trial was lost with its node"
    ((_, sentence, said),) = lose(cluster.head.kill, {place: process})
    assert sentence.startswith(f"the head of the Ray cluster at {cluster.head.address} died during the search")
    for workers in ("in this process alone", "on 1 Ray worker", "on 2 Ray workers"):
        assert workers in said
    run = read_record(folder / "run.json", RunRecord)
    assert run.trials_failed == 0
    assert run.trials_done == len(in_state(folder, TrialState.COMPLETE))
    assert not in_state(folder, TrialState.FAIL)


@pytest.mark.parametrize("then", ["is silent", "closes"])
def test_a_search_whose_cluster_goes_silent_while_it_joins_ends_with_a_sentence(then, project, tmp_path):
    with false_head() as (address, does):
        process = started("search", project, "--results", tmp_path, "--minutes", "30", **QUIET, RAY_ADDRESS=address)
        assert wait_for(lambda: done(tmp_path) >= 1, 60)
        ((_, sentence, _),) = lose(lambda: does.append(then), {tmp_path: process})
    assert sentence.startswith(f"the head of the Ray cluster at {address} died during the search")
