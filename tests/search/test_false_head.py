"""A search that joins what is no cluster: nobody there, somebody who is silent, a head that lets nobody in."""

import socket
import threading
import time
from contextlib import contextmanager, suppress

import pytest
from commanded import told
from lost_ray import lose
from postgres import free_port
from processes import started, wait_for
from ray_nodes import QUIET
from runs import done
from stub_solver import Stub

from optimizer.search import ray_crew


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


@pytest.mark.parametrize("then", ["is silent", "closes"])
def test_a_search_whose_cluster_goes_silent_while_it_joins_ends_with_a_sentence(then, project, tmp_path):
    with false_head() as (address, does):
        process = started("search", project, "--results", tmp_path, "--minutes", "30", **QUIET, RAY_ADDRESS=address)
        assert wait_for(lambda: done(tmp_path) >= 1, 60)
        ((_, sentence, _),) = lose(lambda: does.append(then), {tmp_path: process})
    assert sentence.startswith(f"the head of the Ray cluster at {address} died during the search")


def test_a_cluster_that_lets_nobody_join_is_waited_for_in_vain_no_longer_than_told(monkeypatch):
    monkeypatch.setattr(ray_crew, "JOIN_SECONDS", 3.0)
    with false_head() as (address, _), ray_crew.open_ray(address, 1, Stub, ()) as crew:
        begun = time.monotonic()
        with pytest.raises(ConnectionError, match=f"the Ray cluster at {address} has let nobody join it for 3 s"):
            wait_for(crew.check, 30)
        assert time.monotonic() - begun < 10
