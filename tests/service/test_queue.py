"""The queue: order, limits, cancelling, resuming, deleting; events; what searches are told of the environment.

No search runs: services start none, or what they would start stands in for it.
"""

import json
import os
import signal
import socket
import subprocess
import sys
import time

import pytest
from made_records import layout, run_folder
from processes import wait_for
from served import PROJECTS, being_written, served, with_ticket
from shelf import PIPE, changed, progress

from optimizer.records.files import write_record
from optimizer.service import launching
from optimizer.service.queue import Queue
from optimizer.service.refusals import RefusedError
from optimizer.service.settings import Settings
from optimizer.service.shelf import Shelf
from optimizer.service.tickets import new_ticket, read_ticket

DONE = {"finished": "2026-11-02T10:01:00+00:00"}
NEW = {"project": PIPE, "anyway": True, "trials": 3}


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    """One service for all, for its workshop takes seconds to start; the queue is emptied between tests."""
    results = tmp_path_factory.mktemp("shelf") / "results"
    with served(results, minutes_most=60.0, workers_most=8) as client:
        yield client, results


@pytest.fixture
def client(shared):
    yield shared[0]
    for name in shared[0].get("/runs?state=waiting&limit=500").json["runs"]:
        assert shared[0].post(f"/runs/{name['id']}/cancel").status == 202


@pytest.fixture
def results(shared):
    return shared[1]


def test_a_submitted_run_waits_with_what_was_asked_for(client, results):
    answer = client.post("/runs", {**NEW, "minutes": 2.5, "workers": 2, "seed": 11})
    assert answer.status == 201
    run = answer.json
    assert (run["state"], run["minutes"], run["trials_wanted"], run["waiting_before"]) == ("waiting", 2.5, 3, 0)
    assert answer.headers["location"] == f"/api/v1/runs/{run['id']}"
    record = json.loads((results / run["id"] / "run.json").read_text())
    assert (record["project_text"], record["seed"], record["workers"]) == (PIPE, 11, 2)
    assert client.get(f"/runs/{run['id']}/project").text == PIPE
    assert run["questions"] == []


def test_likely_mistakes_are_asked_about_and_stop_nothing(client):
    odd = changed("transposition_semitones = 0", "transposition_semitones = 24")
    answer = client.post("/runs", {**NEW, "project": odd})
    assert (answer.status, answer.json["state"]) == (201, "waiting")
    (asked,) = answer.json["questions"]
    assert asked["path"] == "instrument.transposition_semitones"
    assert "24 makes A4 sound A6" in asked["message"]


def test_runs_wait_in_the_order_they_came_and_no_more_than_there_is_room_for(client):
    names = [client.post("/runs", NEW).json["id"] for _ in range(3)]
    assert len(set(names)) == 3
    assert [client.get(f"/runs/{name}").json["waiting_before"] for name in names] == [0, 1, 2]
    full = client.post("/runs", NEW)
    assert (full.status, full.headers["content-type"]) == (503, "application/problem+json")
    assert client.post(f"/runs/{names[0]}/cancel").json["state"] == "stopped"
    assert [client.get(f"/runs/{name}").json["waiting_before"] for name in names] == [None, 0, 1]
    assert client.post(f"/runs/{names[0]}/resume", {"trials": 1}).status == 202
    assert [client.get(f"/runs/{name}").json["waiting_before"] for name in names] == [2, 0, 1]
    assert client.post(f"/runs/{names[1]}/cancel").status == 202
    assert client.post(f"/runs/{names[0]}/resume", {"trials": 1}).status == 409


@pytest.mark.parametrize(
    ("limits", "path"),
    [({"minutes": 61}, "minutes"), ({"idle_minutes": 1e5}, "idle_minutes"), ({"workers": 9}, "workers"),
     ({"minutes": 0}, "minutes"), ({"trials": 0}, "trials"), ({"trials": 1.5}, "trials"), ({"seed": -1}, "seed"),
     ({"seed": 2**32}, "seed"),
     ({"odd": 1}, "odd"), ({"project": "x" * 400_001}, "project"), ({"project": None}, "project")],
)  # fmt: skip
def test_more_than_it_takes_on_is_refused_by_name(client, limits, path):
    answer = client.post("/runs", {**NEW, **limits})
    assert answer.status == 422
    assert [each["path"] for each in answer.json["problems"]] == [path]


def test_a_hand_that_is_offered_is_taken_in(client):
    hands = [each["name"] for each in client.get("/hands").json]
    run = client.post("/runs", {**NEW, "hand": hands[0]}).json["id"]
    assert "[hand]" in client.get(f"/runs/{run}/project").text
    for hand in (
        {"hand": "none.toml"},
        {"hand": "../meadow-pipe.toml"},
        {"hand_text": "x"},
        {"hand": hands[0], "hand_text": ""},
    ):
        assert client.post("/runs", {**NEW, **hand}).status == 422


def test_a_run_that_is_written_cannot_be_resumed_or_deleted(client, results):
    being_written(run_folder(results / "held", [layout()]))
    for method, path in (("POST", "/runs/held/resume"), ("DELETE", "/runs/held")):
        answer = client.ask(method, f"/api/v1{path}", {} if method == "POST" else None)
        assert (answer.status, "running" in answer.json["detail"]) == (409, True)
    (results / "held" / "lock").unlink()


def test_an_extension_is_no_run_that_can_be_resumed(client, results):
    folder = results / "low"
    (folder / "inputs").mkdir(parents=True)
    (folder / "inputs" / "extended.toml").touch()
    before = with_ticket(folder, state="failed", title="pipe to low").joinpath("ticket.json").read_bytes()
    assert client.post("/runs/low/resume", {"trials": 1}).status == 404
    assert (folder / "ticket.json").read_bytes() == before


def test_a_run_of_another_machine_cannot_be_cancelled_from_here(client, results):
    folder = being_written(run_folder(results / "afar", [layout()]), os.getpid(), "another host")
    write_record(folder / "progress.json", progress(None))
    assert client.post("/runs/afar/cancel").status == 409


def test_a_cancelled_search_is_asked_to_end_in_order(client, results):
    folder = run_folder(results / "busy", [layout()])
    search = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"])
    being_written(folder, search.pid)
    assert client.get("/runs/busy").json["state"] == "running"
    assert client.post("/runs/busy/cancel").status == 202
    assert search.wait(timeout=10) == -signal.SIGTERM
    assert client.get("/runs/busy").json["state"] == "stopped"
    assert client.post("/runs/busy/cancel").status == 409


def test_a_process_that_took_over_the_number_of_a_dead_search_is_left_alone(client, results):
    folder = run_folder(results / "reused", [layout()])
    being_written(folder)
    os.utime(folder / "lock", (1.0, 1.0))  # written before this process began
    assert client.get("/runs/reused").json["state"] == "stopped"
    assert client.post("/runs/reused/cancel").status == 409


def test_what_is_deleted_can_be_brought_back_whole(client, results):
    folder = run_folder(results / "old", [layout()], **DONE)
    before = {path.name: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    assert client.ask("DELETE", "/api/v1/runs/old").json == {"removed": "old"}
    assert client.get("/runs/old").status == 404
    run_folder(results / "old", [layout()], **DONE)
    assert client.ask("DELETE", "/api/v1/runs/old").json == {"removed": "old-2"}
    assert sorted(client.get("/removed").json) == ["old", "old-2"]
    assert client.post("/removed/old/restore").json == {"run": "old"}
    assert client.post("/removed/old-2/restore").json == {"run": "old-2"}
    assert client.post("/removed/old/restore").status == 404
    assert {path.name: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before


def test_a_waiting_run_that_is_deleted_waits_no_more(client):
    name = client.post("/runs", NEW).json["id"]
    assert client.ask("DELETE", f"/api/v1/runs/{name}").status == 200
    assert client.post(f"/removed/{name}/restore").status == 200
    assert client.get(f"/runs/{name}").json["state"] == "stopped"


# starting


@pytest.fixture
def waiting(tmp_path, monkeypatch):
    """A queue over three runs that wait; in place of searches stands a command that notes its environment."""
    monkeypatch.setattr(launching, "COMMAND", "import os, sys; print(dict(os.environ), sys.argv); sys.exit('no room')")
    monkeypatch.setenv("HOLEWRIGHT_TOKEN", "the token")
    settings = Settings(results=tmp_path, projects=PROJECTS, running_most=1, closing_seconds=0.2)
    for place, name in enumerate(("second", "first", "third")):
        folder = run_folder(tmp_path / name, [layout()])
        with_ticket(folder, state="waiting", order=[2.0, 1.0, 3.0][place], trials=5, workers=1)
    return Queue(settings, Shelf(settings)), tmp_path


def end(queue):
    """Wait for what a queue started."""
    for child in queue._children:
        child.wait(30)


def test_searches_start_in_order_as_others_end(waiting):
    queue, results = waiting

    def state(name):
        return read_ticket(results / name).state

    queue.look()
    assert [state(name) for name in ("first", "second", "third")] == ["started", "waiting", "waiting"]
    assert wait_for(lambda: not read_ticket(results / "first").alive, 30)
    queue.look()
    assert [state(name) for name in ("first", "second", "third")] == ["failed", "started", "waiting"]
    assert queue.shelf.summary("first").state == "failed"
    assert "no room" in queue.shelf.summary("first").message
    assert wait_for(lambda: not read_ticket(results / "second").alive, 30)
    log = (results / "second" / "search.log").read_text()
    assert "'--trials=5', '--workers=1'" in log
    assert "the token" not in log
    assert "HOLEWRIGHT_TOKEN" not in log
    queue.look()
    end(queue)


def test_runs_of_the_command_line_take_up_room_too(waiting):
    queue, results = waiting
    being_written(run_folder(results / "by-hand", [layout()]))
    queue.look()
    assert queue.waiting() == ["first", "second", "third"]
    (results / "by-hand" / "lock").unlink()
    queue.look()
    assert queue.waiting() == ["second", "third"]
    end(queue)


def test_a_run_that_was_taken_up_by_hand_is_not_started_twice(waiting):
    queue, results = waiting
    queue = Queue(Settings(results=results, projects=PROJECTS, running_most=9), queue.shelf)
    for name in ("first", "third"):
        being_written(results / name)
    queue.look()
    assert [read_ticket(results / name).state for name in ("first", "second", "third")] == [
        "waiting",
        "started",
        "waiting",
    ]
    end(queue)


def test_a_resumed_run_waits_until_its_former_process_has_ended(waiting):
    # A search says that it has ended before it lets go of its folder: until then it can be neither taken up nor moved.
    queue, results = waiting
    folder = run_folder(results / "closing", [layout()], **DONE)
    search = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"])
    with_ticket(folder, state="done", process=search.pid, begun=time.time(), host=socket.gethostname())
    for name in queue.waiting():
        queue.cancel(name)
    queue.resume("closing", new_ticket(trials=1))
    queue.look()
    assert read_ticket(folder).state == "waiting"
    queue.cancel("closing")
    being_written(folder, search.pid)
    with pytest.raises(RefusedError, match="still closing"):
        queue.remove("closing")
    queue.resume("closing", new_ticket(trials=1))
    queue.look()
    assert read_ticket(folder).state == "waiting"
    search.kill()
    search.wait()
    queue.look()
    assert read_ticket(folder).state == "started"
    end(queue)


# events


def test_followers_are_told_now_at_every_change_and_when_it_is_deleted(client, results):
    folder = run_folder(results / "followed", [layout()], **DONE)
    with client.following("/runs/followed/events") as events:
        name, first = next(events)
        assert (name, first["run"]["layouts"], first["progress"]) == ("moment", 1, None)
        assert first["run"] == client.get("/runs/followed").json
        run_folder(folder, [layout(), layout("t00002")], **DONE)
        name, second = next(events)
        while second["run"]["layouts"] == 1:
            name, second = next(events)
        assert second["front"] != first["front"]
        client.ask("DELETE", "/api/v1/runs/followed")
        assert next(events) == ("gone", {})
        assert list(events) == []


def test_a_run_without_a_front_has_no_mark_of_it(client, results):
    folder = run_folder(results / "frontless", [layout()], **DONE)
    (folder / "pareto.json").unlink()
    with client.following("/runs/frontless/events") as events:
        assert next(events)[1]["front"] is None
        run_folder(folder, [layout()], **DONE)
        assert next(events)[1]["front"]
    client.ask("DELETE", "/api/v1/runs/frontless")


def test_no_more_follow_than_there_is_room_for(tmp_path):
    run_folder(tmp_path / "results" / "pipe", [layout()])
    with served(tmp_path / "results", followers_most=2) as client:
        assert client.get("/runs/none/events").status == 404
        with client.following("/runs/pipe/events") as one, client.following("/runs/pipe/events") as two:
            assert next(one) == next(two)
            assert client.get("/runs/pipe/events").status == 503
        deadline = time.monotonic() + 10
        while time.monotonic() < deadline:
            try:
                with client.following("/runs/pipe/events") as again:
                    assert next(again)[0] == "moment"
                break
            except AssertionError:
                time.sleep(0.2)
        else:
            pytest.fail("a follower that left still takes up room")


def test_what_conflicts_is_refused_unless_anyway(client):
    tight = changed("position_mm = [150, 220]", "position_mm = [247, 249]")
    answer = client.post("/runs", {"project": tight})
    assert answer.status == 422
    assert client.get("/runs?state=waiting").json["total"] == 0
