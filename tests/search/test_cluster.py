"""A search on a Ray cluster whose nodes come and go, or end, or have nothing to offer."""

import signal
from tempfile import TemporaryDirectory

import pytest
import ray
from interruptions import interrupted, whole_after
from lost_ray import lose
from optuna.trial import TrialState
from processes import wait_for
from ray_nodes import Cluster, bare_python, importable, join
from runs import done, in_state, progress, states

from optimizer.records.files import read_record
from optimizer.records.run import RunRecord
from optimizer.search import cluster as cluster_of_ray


@pytest.fixture(scope="module")
def python(tmp_path_factory):
    found = bare_python(tmp_path_factory.mktemp("bare"))
    assert importable(found, "ray")
    if importable(found, "optimizer"):
        pytest.skip("the package is installed into site-packages itself, so that no Python without it can be made")
    return found


@pytest.fixture(scope="module")
def cluster(python):
    """A cluster whose head outlives the first test and is killed by the last."""
    with TemporaryDirectory(prefix="rn-", ignore_cleanup_errors=True) as folder:  # short, as Ray's sockets lie below
        made = Cluster(python, folder)
        yield made
        made.close()


def test_a_search_follows_nodes_that_come_and_go(project, cluster, tmp_path, capsys):
    # Nodes of one, two and one core; their Python does not have this package: the search sends them its code.
    head, process = cluster.head, cluster.search(project, tmp_path)
    assert wait_for(lambda: done(tmp_path) >= 1)
    assert wait_for(lambda: progress(tmp_path).workers == 1)
    assert wait_for(lambda: head.solving() == 1)
    wide = cluster.node(2)
    assert wait_for(lambda: progress(tmp_path).workers == 3)
    assert wait_for(lambda: wide.solving() == 2), "the new node's cores are not used"
    folder = next(tmp_path.iterdir())
    last = max(states(folder))
    assert wait_for(lambda: len([one for one in in_state(folder, TrialState.COMPLETE) if one > last]) >= 4)
    under_way = in_state(folder, TrialState.RUNNING)
    wide.kill()
    assert wait_for(lambda: progress(tmp_path).workers == 1)
    spare = cluster.node(1)
    assert wait_for(lambda: progress(tmp_path).workers == 2)
    assert wait_for(lambda: spare.solving() == 1)
    assert len(under_way) >= 2
    assert wait_for(lambda: under_way <= in_state(folder, TrialState.COMPLETE)), "a trial was lost with its node"
    code, err = interrupted(process, signal.SIGTERM, tmp_path, 3)
    assert code == 0, err
    assert "Traceback" not in err
    whole_after(signal.SIGTERM, tmp_path, "ray", capsys)
    for workers in ("in this process alone", "on 1 Ray worker", "on 3 Ray workers", "on 2 Ray workers"):
        assert workers in err
    run = read_record(folder / "run.json", RunRecord)
    assert run.trials_failed == 0
    assert run.trials_done == len(in_state(folder, TrialState.COMPLETE))
    assert not in_state(folder, TrialState.FAIL)


def test_searches_whose_cluster_dies_at_work_or_while_they_join_end_with_a_sentence(project, cluster, tmp_path):
    # The head's raylet is held still, so that no more can have joined when the head ends: so long after each began.
    for node in cluster.nodes[1:]:
        node.kill()
    searches = {tmp_path / "at work": cluster.search(project, tmp_path / "at work")}
    assert wait_for(lambda: done(tmp_path / "at work") >= 1 and cluster.head.solving() == 1)
    joining = join(cluster, project, tmp_path, (1.5, 0.0))
    for _, sentence, _ in lose(cluster.head.kill, searches | joining):
        assert sentence.startswith(f"the head of the Ray cluster at {cluster.head.address} died during the search")


def test_a_cluster_without_a_core_is_told(monkeypatch):
    # Ray's own answers of a cluster whose nodes are without: no resource by the name of CPU.
    monkeypatch.setattr(cluster_of_ray, "CORES_SECONDS", 0.3)
    monkeypatch.setattr(ray, "init", lambda **_: None)
    monkeypatch.setattr(ray, "cluster_resources", lambda: {"memory": 1e9})
    with pytest.raises(ConnectionError, match=r"the Ray cluster at 127\.0\.0\.1:1 has no core to offer"):
        cluster_of_ray.opened("127.0.0.1:1", None)
