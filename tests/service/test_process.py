"""`holewright serve` as a process, and its README's own examples: a run is queued and taken away, searched, asked for
what it recommends.

`tests/benchmarks/long` tells of a whole day, with a service that is killed meanwhile.
"""

import json
import shutil
import socket
import sys
import zipfile

import pytest
from postgres import free_port
from processes import ended, started, wait_for
from readme_examples import FEW, example, run_example
from served import Client, served
from shelf import PIPE

from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord


@pytest.fixture
def place(tmp_path):
    """A folder to work in; the practice pipe stands in for the demo that the README names."""
    (tmp_path / "configs").mkdir()
    (tmp_path / "configs" / "meadow-pipe.toml").write_text(PIPE)
    return tmp_path


def listens(port):
    with socket.socket() as trial:
        return trial.connect_ex(("127.0.0.1", port)) == 0


@pytest.mark.skipif(shutil.which("curl") is None, reason="curl is not installed here")
def test_a_run_is_queued_and_taken_away_by_the_readmes_example_for_a_shell(place):
    with served(place / "results", projects=place / "configs") as client:
        said = run_example(["bash", "-euo", "pipefail", "-c"], example("sh", "meadow-pipe.toml"), place, client.port)
        run = json.loads(said[: said.index("}{") + 1])["id"]
        assert client.get(f"/runs/{run}").json["state"] == "waiting"
    with zipfile.ZipFile(place / f"{run}.zip") as archive:
        assert f"{run}/run.json" in archive.namelist()


def test_a_search_by_the_readmes_example_ends_and_its_best_layout_is_saved(place):
    client = Client(port := free_port(), {})
    folders = "--results", place / "results", "--projects", place / "configs"
    service = started("serve", "--port", str(port), *folders)
    assert wait_for(lambda: service.poll() is not None or listens(port), 60)
    said = run_example([sys.executable, "-W", "error", "-c"], example("python", "urllib"), place, port)
    run, state, best, sentence = said.splitlines()[-1].split(" ", 3)
    found = client.get(f"/runs/{run}").json
    assert (state, found["trials_done"], found["ended_by"]) == ("ended", FEW, "trials")
    record = read_record(place / "best.json", LayoutRecord)
    assert record.id == best
    assert sentence == client.get(f"/runs/{run}/recommendation").json["picks"][0]["sentence"]
    assert client.post(f"/runs/{run}/resume", {"trials": 1, "workers": 1}).status == 202
    assert wait_for(lambda: client.get(f"/runs/{run}").json["trials_done"] == FEW + 1)
    assert wait_for(lambda: client.get(f"/runs/{run}").json["state"] == "ended")
    service.terminate()
    out, err = ended(service, 30)[1:]
    assert f"http://127.0.0.1:{port}" in out
    assert err == ""
