"""One damaged file costs its own run a sentence, and no other run anything."""

import json
import subprocess
import sys

import pytest
from made_records import layout, run_folder
from served import PROJECTS, served, with_ticket

from optimizer.service import queue as queue_module
from optimizer.service.queue import Queue
from optimizer.service.settings import Settings
from optimizer.service.shelf import Shelf


def changed(name, **values):
    """A file of a run with other values; None takes one out."""

    def damage(folder):
        data = json.loads((folder / name).read_text()) | values
        (folder / name).write_text(json.dumps({key: value for key, value in data.items() if value is not None}))

    return damage


def written(name, content):
    """A file of a run with other content."""
    return lambda folder: (folder / name).write_bytes(content)


def without_an_objective(folder):
    data = json.loads((folder / "pareto.json").read_text())
    del data["layouts"][0]["objectives"]["stretch"]
    (folder / "pareto.json").write_text(json.dumps(data))


TOLD = {
    "a layout without an objective": (without_an_objective, "layout t00001 says nothing of the objective 'stretch'"),
    "a front without its layouts": (changed("pareto.json", layouts=[]), "calls itself feasible and has no layout"),
    "a front without a unit": (changed("pareto.json", units={"tuning": "cents"}), "says nothing of the objective"),
    "a front cut off": (written("pareto.json", b'{"schema_name": "holew'), "pareto.json cannot be read as JSON"),
    "a run of bytes": (written("run.json", b"\xff\x00\xfe"), "run.json cannot be read as JSON"),
    "an empty run": (written("run.json", b""), "run.json cannot be read as JSON"),
    "a run of half a letter": (written("run.json", b'{"instrument": "\\ud800"}'), "run.json cannot be read as JSON"),
    "trials without measure": (changed("run.json", trials_done=10**300), "the number 1000000"),
    "a process below nothing": (changed("ticket.json", process=-3), "ticket.json does not fit its schema at process"),
    "a process without end": (changed("ticket.json", process=float("inf")), "ticket.json cannot be read as JSON"),
    "a ticket that is none": (written("ticket.json", b"[]"), "ticket.json is not a holewright-ticket file"),
}  # fmt: skip
UNTOLD = {
    "a lock of a process without end": written("lock", b'{"process": Infinity, "host": "HERE"}'),
    "a lock of a process below nothing": written("lock", b'{"process": -3, "host": "HERE"}'),
    "a lock of bytes": written("lock", b"\xff\x00"),
    "a lock of a list": written("lock", b"[[1]]"),
}


NAMES = {what: what.replace(" ", "-") for what in (*TOLD, *UNTOLD)}


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    """Runs that wait, each damaged in its own way, and one that is sound."""
    results = tmp_path_factory.mktemp("shelf")
    for place, (what, name) in enumerate(NAMES.items()):
        folder = with_ticket(run_folder(results / name, [layout()]), state="waiting", order=float(place))
        (TOLD[what][0] if what in TOLD else UNTOLD[what])(folder)
    with_ticket(run_folder(results / "sound", [layout()]), state="waiting", order=1000.0)
    for name, content in (("low", b"[1"), ("lower", b"{}")):
        with_ticket(results / name, title="pipe to low", state="done")
        (results / name / "extension.json").write_bytes(content)
    (results / "lower" / "ticket.json").write_bytes(b"")
    return results


@pytest.fixture(scope="module")
def client(shelf):
    with served(shelf) as client:
        yield client


@pytest.fixture(scope="module")
def rows(client):
    return {row["id"]: row for row in client.get("/runs").json["runs"]}


@pytest.mark.parametrize("what", TOLD)
def test_a_damaged_run_is_a_row_that_says_what_is_wrong(client, rows, shelf, what):
    name, said = NAMES[what], TOLD[what][1]
    assert (rows[name]["state"], said in rows[name]["message"]) == ("failed", True), rows[name]
    assert str(shelf) not in rows[name]["message"]
    assert client.get(f"/runs/{name}").json == rows[name]
    for read in ("front", "progress", "project", "report", "layouts/t00001"):
        assert client.get(f"/runs/{name}/{read}").status in (200, 404), read


def test_the_others_are_told_as_ever(client, rows, shelf):
    assert len(rows) == len(NAMES) + 1
    assert (rows["sound"]["state"], rows["sound"]["layouts"]) == ("waiting", 1)
    assert {rows[NAMES[what]]["state"] for what in UNTOLD} == {"waiting"}


def test_who_follows_a_damaged_run_is_told(client, rows):
    name = NAMES["a front cut off"]
    with client.following(f"/runs/{name}/events") as events:
        assert next(events)[1]["run"] == rows[name]


def test_a_damaged_extension_is_a_row_that_says_what_is_wrong(client):
    rows = {row["id"]: row for row in client.get("/extensions").json}
    assert {name: row["state"] for name, row in rows.items()} == {"low": "failed", "lower": "failed"}
    assert rows["low"]["message"].startswith("extension.json cannot be read as JSON")
    assert rows["lower"]["message"].startswith("ticket.json cannot be read as JSON")


def test_the_queue_goes_on(shelf, client, rows, monkeypatch):
    started = []

    def launch(folder, _ticket):
        started.append(folder.name)
        return subprocess.Popen([sys.executable, "-c", ""])

    monkeypatch.setattr(queue_module, "launch", launch)
    monkeypatch.setattr("socket.gethostname", lambda: "HERE")
    settings = Settings(results=shelf, projects=PROJECTS, running_most=100)
    queue = Queue(settings, Shelf(settings))
    queue.look()
    for child in queue._children:
        child.wait(30)
    assert started[-1] == "sound"
    assert {NAMES[what] for what in UNTOLD} <= set(started)
    assert not {name for what, name in NAMES.items() if what.startswith(("a process", "a ticket"))} & set(started)
