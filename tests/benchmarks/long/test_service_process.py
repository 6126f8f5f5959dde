"""`holewright serve` as processes: its README's own examples, a killed service, its queue, cancelling, resuming.

One story on one results folder.
"""

import json
import signal
import socket
import sys
import zipfile
from contextlib import closing

import psutil
import pytest
from processes import ended, started, wait_for
from readme_examples import FEW, example, run_example
from served import Client
from shelf import PIPE

from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """A folder to work in; the practice pipe stands in for the demo that the README names."""
    folder = tmp_path_factory.mktemp("hall")
    (folder / "configs").mkdir()
    (folder / "configs" / "meadow-pipe.toml").write_text(PIPE)
    return folder


@pytest.fixture(scope="module")
def port():
    with closing(socket.create_server(("127.0.0.1", 0))) as free:
        return free.getsockname()[1]


@pytest.fixture(scope="module")
def services(place, port):
    """Starts services on the place's results; ends whatever they leave."""
    begun = []

    def start():
        folders = "--results", place / "results", "--projects", place / "configs"
        begun.append(started("serve", "--port", str(port), *folders))
        assert wait_for(lambda: begun[-1].poll() is not None or answers(port), 60)
        assert begun[-1].poll() is None
        return begun[-1]

    yield start
    for process in begun:
        process.kill()
        process.communicate()
    for process in of_place(place):
        process.kill()


def answers(port):
    """Whether something listens."""
    with closing(socket.socket()) as trial:
        return trial.connect_ex(("127.0.0.1", port)) == 0


def of_place(place):
    """Living processes that name a folder on their command line, or were started by such a one."""
    found = set()
    for process in psutil.process_iter(["cmdline", "status"]):
        if process.info["status"] != psutil.STATUS_ZOMBIE and str(place) in " ".join(process.info["cmdline"] or []):
            found |= {process, *process.children(recursive=True)}
    return found - {psutil.Process(), *psutil.Process().parents()}


def test_a_day_at_the_lending_shelf(place, port, services):
    client = Client(port, {})
    service = services()

    def run(name):
        return client.get(f"/runs/{name}").json

    def done(name):
        progress = client.get(f"/runs/{name}/progress")
        return progress.json["trials_done"] if progress.status == 200 else 0

    # A search without end runs; the README's curl example asks for another one, which waits for it.
    endless = client.post("/runs", {"project": PIPE, "minutes": 30, "workers": 1}).json["id"]
    assert wait_for(lambda: run(endless)["state"] == "running" and done(endless) >= 1)
    said = run_example(["bash", "-euo", "pipefail", "-c"], example("sh", "meadow-pipe.toml"), place, port)
    first = json.loads(said[: said.index("}{") + 1])["id"]
    with zipfile.ZipFile(place / f"{first}.zip") as archive:
        assert f"{first}/run.json" in archive.namelist()
    assert (run(first)["state"], run(first)["waiting_before"]) == ("waiting", 0)

    # The service is killed in the middle and starts again: the search has gone on, the other one still waits.
    service.send_signal(signal.SIGKILL)
    service.communicate()
    assert not answers(port)
    at_the_kill = json.loads((place / "results" / endless / "progress.json").read_text())["trials_done"]
    service = services()
    assert (run(endless)["state"], run(first)["state"]) == ("running", "waiting")
    assert wait_for(lambda: done(endless) > at_the_kill, 60)

    # Cancelled, it keeps what it found; the next one follows and ends; then it goes on as far as is asked for.
    assert client.post(f"/runs/{endless}/cancel").status == 202
    assert wait_for(lambda: run(endless)["state"] == "ended", 60)
    assert run(endless)["ended_by"] == "termination"
    before = run(endless)["trials_done"]
    assert before > at_the_kill
    assert client.post(f"/runs/{endless}/resume", {"trials": 2, "workers": 1}).status == 202
    assert wait_for(lambda: run(first)["state"] == "ended")
    assert (run(first)["trials_done"], run(first)["ended_by"]) == (FEW, "trials")
    assert wait_for(lambda: run(endless)["state"] == "ended" and run(endless)["trials_done"] > before)
    assert run(endless)["trials_done"] == before + 2

    # A search by the command line shows beside them, and the README's Python example waits for its turn behind it.
    by_hand = started("search", place / "configs" / "meadow-pipe.toml", "--trials=1", "--results", place / "results")
    assert wait_for(lambda: client.get("/runs?state=running").json["total"] == 1 or by_hand.poll() is not None)
    said = run_example([sys.executable, "-W", "error", "-c"], example("python", "urllib"), place, port)
    assert ended(by_hand)[0] == 0
    third, state, best, sentence = said.splitlines()[-1].split(" ", 3)
    assert (state, run(third)["trials_done"]) == ("ended", FEW)
    record = read_record(place / "best.json", LayoutRecord)
    assert record.id == best
    assert sentence == client.get(f"/runs/{third}/recommendation").json["picks"][0]["sentence"]
    assert f"tuning {record.objectives['tuning']:.2f} cents" in sentence
    listed = {each["id"]: each for each in client.get("/runs").json["runs"]}
    assert {each["state"] for each in listed.values()} == {"ended"}
    (name,) = set(listed) - {first, endless, third}
    assert listed[name]["trials_done"] == 1

    # What is deleted can be brought back.
    assert client.ask("DELETE", f"/api/v1/runs/{name}").json == {"removed": name}
    assert client.get(f"/runs/{name}").status == 404
    assert client.post(f"/removed/{name}/restore").json == {"run": name}
    assert run(name) == listed[name]

    # It ends when asked to, says nothing that is wrong, and leaves no process behind.
    service.terminate()
    out, err = ended(service, 30)[1:]
    assert f"http://127.0.0.1:{port}" in out
    assert err == ""
    assert wait_for(lambda: not of_place(place), 30), of_place(place)
