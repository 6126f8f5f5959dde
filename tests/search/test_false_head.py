"""A search that joins what is no cluster: nobody there, somebody who is silent, a head that lets nobody in."""

import time

import pytest
from commanded import told
from false_heads import false_head
from postgres import free_port
from processes import wait_for
from stub_solver import Stub

from optimizer.search import ray_crew


@pytest.mark.parametrize("hangs", [False, True])
def test_a_cluster_that_does_not_answer_is_told_before_anything_starts(hangs, project, tmp_path, monkeypatch, capsys):
    with false_head() as (address, does):
        does.append("is silent")
        address = address if hangs else f"127.0.0.1:{free_port()}"
        monkeypatch.setenv("RAY_ADDRESS", address)
        code, _, err = told(capsys, "search", project, "--results", tmp_path)
    assert code == 2
    assert f"no Ray cluster answers at {address}" in err
    assert len(err.splitlines()) == 2
    assert list(tmp_path.iterdir()) == []


def test_a_cluster_that_lets_nobody_join_is_waited_for_in_vain_no_longer_than_told(monkeypatch):
    monkeypatch.setattr(ray_crew, "JOIN_SECONDS", 3.0)
    with false_head() as (address, _), ray_crew.open_ray(address, 1, Stub, ()) as crew:
        begun = time.monotonic()
        with pytest.raises(ConnectionError, match=f"the Ray cluster at {address} has let nobody join it for 3 s"):
            wait_for(crew.check, 30)
        assert time.monotonic() - begun < 10
