"""A Ray cluster that has nothing to offer, by Ray's own answers; `tests/benchmarks/long` starts nodes of one."""

import pytest

from optimizer.search import cluster as cluster_of_ray


def test_a_cluster_without_a_core_is_told(monkeypatch):
    # Ray's own answers of a cluster whose nodes are without: no resource by the name of CPU.
    import ray

    monkeypatch.setattr(cluster_of_ray, "CORES_SECONDS", 0.3)
    monkeypatch.setattr(ray, "init", lambda **_: None)
    monkeypatch.setattr(ray, "cluster_resources", lambda: {"memory": 1e9})
    with pytest.raises(ConnectionError, match=r"the Ray cluster at 127\.0\.0\.1:1 has no core to offer"):
        cluster_of_ray.opened("127.0.0.1:1", None)
