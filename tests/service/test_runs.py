"""Runs over HTTP: what stands on the shelf, whoever put it there, and how it stands.

Records are made by hand; no search runs.
"""

import json
import subprocess
import sys

import pytest
from commanded import told
from made_records import front, layout, run_folder
from served import API, being_written, served, with_ticket
from shelf import PIPE, pipe, progress

from optimizer.analysis.recommendation import recommendation_of
from optimizer.records.files import Folder, read_record, write_record
from optimizer.records.run import FrontRecord
from optimizer.search.run_folder import create_run

DONE = {"finished": "2026-11-02T10:01:00+00:00"}


@pytest.fixture
def results(tmp_path):
    return tmp_path / "results"


@pytest.fixture
def client(results):
    with served(results) as client:
        yield client


def gone():
    """The number of a process that has ended."""
    process = subprocess.Popen([sys.executable, "-c", ""])
    process.wait()
    return process.pid


def of_state(results):
    """A run folder in each state, and one with each kind of doubt about it, by name; the state is the name's start."""
    named = {}

    def made(name, **changes):
        named[name] = run_folder(results / name, [layout()], **changes)
        return named[name]

    made("ended", **DONE)
    made("ended-after-ticket", **DONE)
    with_ticket(named["ended-after-ticket"], state="done")
    with_ticket(made("waiting"), state="waiting")
    with_ticket(made("waiting-again", **DONE), state="waiting")
    with_ticket(made("starting"), state="started", alive=True)
    earlier = f"0 {DONE['finished']}"
    with_ticket(made("starting-again", **DONE), state="started", alive=True, earlier_end=earlier)
    being_written(made("running"))
    with_ticket(being_written(made("running-by-ticket")), state="started", alive=True)
    write_record(being_written(made("running-elsewhere"), 1, "another host") / "progress.json", progress(None))
    made("stopped")
    being_written(made("stopped-killed"), gone())
    being_written(made("stopped-elsewhere"), 1, "another host")
    with_ticket(made("failed"), state="failed", message="no room on the disk")
    (made("failed-cut") / "run.json").write_text('{"schema_name": "holewright-run", ')
    (made("failed-other-kind") / "run.json").write_text("[]")
    (made("failed-newer") / "run.json").write_text('{"schema_name": "holewright-run", "schema_version": "3.0.0"}')
    (made("failed-deep") / "run.json").write_text("[" * 100_000)
    (made("failed-long-number") / "run.json").write_text("9" * 5000)
    (made("failed-front") / "pareto.json").write_bytes(b"\xff")
    return named


def test_every_state_is_told_in_the_list_and_alone(client, results):
    named = of_state(results)
    listed = {each["id"]: each for each in client.get("/runs?limit=500").json["runs"]}
    assert {name: each["state"] for name, each in listed.items()} == {name: name.split("-")[0] for name in named}
    for name in named:
        assert client.get(f"/runs/{name}").json["state"] == listed[name]["state"]
    assert listed["failed"]["message"] == "no room on the disk"
    assert str(results) not in json.dumps(listed)
    for state in ("waiting", "starting", "running", "ended", "stopped", "failed"):
        found = client.get(f"/runs?state={state}").json
        assert {each["id"] for each in found["runs"]} == {name for name in named if name.startswith(state)}
        assert found["total"] == len(found["runs"])


def test_a_broken_run_is_no_fault_of_the_service(client, results):
    named = of_state(results)
    for name in named:
        for part in ("", "/progress", "/front", "/front/figure", "/project", "/files", "/archive", "/report",
                     "/layouts/t00001", "/layouts/t00001/sheet"):  # fmt: skip
            assert client.get(f"/runs/{name}{part}").status in (200, 404), (name, part)


def test_runs_are_listed_latest_first_in_pages(client, results):
    for day in range(1, 6):
        run_folder(results / f"day-{day}", [layout()], started=f"2026-11-{day:02}T10:00:00+00:00", **DONE)
    assert [each["id"] for each in client.get("/runs").json["runs"]] == [f"day-{day}" for day in (5, 4, 3, 2, 1)]
    page = client.get("/runs?limit=2&offset=1").json
    assert (page["total"], [each["id"] for each in page["runs"]]) == (5, ["day-4", "day-3"])
    assert client.get("/runs?offset=9").json == {"total": 5, "runs": []}
    for wrong in ("limit=0", "limit=501", "limit=x", "offset=-1", "state=odd", "limit="):
        assert client.get(f"/runs?{wrong}").status == 422


def test_what_lies_beside_runs_is_not_listed(client, results):
    results.joinpath("notes").mkdir()
    results.joinpath("notes.txt").write_text("")
    run_folder(results / ".hidden", [layout()])
    run_folder(results / "a name with spaces", [layout()])
    run_folder(results.parent / "elsewhere", [layout()])
    (results / "link").symlink_to(results.parent / "elsewhere")
    assert client.get("/runs").json == {"total": 0, "runs": []}
    for name in (".hidden", "a%20name%20with%20spaces", "link", "notes", ".service"):
        assert client.get(f"/runs/{name}").status in (404, 422)


def test_a_run_of_the_command_line_shows_with_its_figures(client, results):
    folder = create_run(results, pipe(PIPE), 1, 1.0, None, 2)
    for name, tuning in (("t00001", 3.0), ("t00002", 1.0)):
        record = layout(
            name, objectives={"tuning": tuning, "worst_note": 4.0, "stretch": 4.0 - tuning, "unevenness": 1.0}
        )
        folder.keep(record, record.model_dump_json())
    folder.close(progress("time", 5))
    found = client.get(f"/runs/{folder.path.name}").json
    assert found["state"] == "ended"
    assert (found["ended_by"], found["trials_done"], found["layouts"], found["feasible"]) == ("time", 5, 2, True)
    assert found["best"] == {"tuning": 1.0, "stretch": 1.0, "unevenness": 1.0}
    assert client.get(f"/runs/{folder.path.name}/project").text == PIPE
    assert client.get(f"/runs/{folder.path.name}/progress").json["trials_done"] == 5


def test_nothing_feasible_is_no_layout(client, results):
    run_folder(results / "pipe", [layout(feasible=False, margins_mm={"web.g1-g2": -1.0})])
    found = client.get("/runs/pipe").json
    assert (found["layouts"], found["feasible"], found["best"], found["in_the_way"]) == (0, False, {}, [])


def test_what_was_in_the_way_of_a_run_that_found_nothing_is_told_and_what_may_help_by_the_words_of_the_page(
    client, results
):
    broken = {"reach.L1-L2": 9, "note.B5": 4}
    beside = {"broken": broken, "broken_of": 9}
    run_folder(results / "pipe", [layout(feasible=False, margins_mm={"reach.L1-L2": -1.0})], **beside)
    run_folder(results / "found", [layout()], **beside)
    assert client.get("/runs/pipe").json["in_the_way"] == [
        "Most often in the way, of 9 trials: the limit reach.L1-L2 in 9 and B5 not sounding as wanted in 4.",
        'A longer search may find a layout that keeps everything ("Go on").',
        'On the page of the layout, "Look for ways out" tells single ways out of what binds the hands.',
        "Wider ranges of vents, or a smaller register_ratio_min, let more notes sound.",
    ]
    assert client.get("/runs/found").json["in_the_way"] == []


def test_before_the_first_layout_there_is_no_front(client, results):
    create_run(results, pipe(PIPE), 1, 1.0, None, 2)
    name = client.get("/runs").json["runs"][0]["id"]
    assert [
        client.get(f"/runs/{name}/{part}").status for part in ("front", "progress", "report", "recommendation")
    ] == [404] * 4
    assert client.get(f"/runs/{name}/front/figure").text == ""


def test_the_front_is_sent_again_only_when_it_has_changed(client, results):
    folder = run_folder(results / "pipe", [layout()])
    for path, file in (("/front", "pareto.json"), ("/layouts/t00001", "layouts/t00001.json")):
        first = client.get(f"/runs/pipe{path}")
        assert first.json == json.loads((folder / file).read_text())
        tag = first.headers["etag"]
        again = client.get(f"/runs/pipe{path}", if_none_match=tag)
        assert (again.status, again.body, again.headers["etag"]) == (304, b"", tag)
        assert client.get(f"/runs/pipe{path}", if_none_match=f'"odd", W/{tag}').status == 304
        assert client.get(f"/runs/pipe{path}", if_none_match="*").status == 304
        assert client.get(f"/runs/pipe{path}", if_none_match='"odd"').status == 200
    before = client.get("/runs/pipe/front").headers["etag"]
    write_record(folder / "pareto.json", front([(1.0, 2.0)]))
    changed = client.get("/runs/pipe/front", if_none_match=before)
    assert changed.status == 200
    assert changed.json["layouts"][0]["id"] == "t00000"


def test_what_a_run_recommends_is_that_of_its_front_as_it_is(client, results):
    folder = run_folder(
        results / "pipe", [layout(), layout("t00002", objectives=layout().objectives | {"tuning": 9.0})]
    )
    found = client.get("/runs/pipe/recommendation").json
    assert found == recommendation_of(read_record(folder / "pareto.json", FrontRecord), Folder(folder)).model_dump()
    assert [pick["id"] for pick in found["picks"]] == ["t00001"]
    (folder / "layouts/t00001.json").unlink()
    write_record(folder / "pareto.json", front([(1.0, 2.0)], feasible=False))
    assert client.get("/runs/pipe/recommendation").json["picks"] == []


def test_another_run_of_the_results_is_told_by_its_own_address(client):
    about = client.get("/").json
    assert (about["running_most"], about["waiting_most"]) == (0, 3)
    assert about["cautions"] == about["cautions_of_hands"] + about["cautions_of_making"]
    assert all("hand" in each.lower() for each in about["cautions_of_hands"])
    assert not any("hand" in each.lower() for each in about["cautions_of_making"])
    document = client.get("/openapi.json").json
    assert document["openapi"].startswith("3.1")
    assert all(path.startswith(f"{API}/") for path in document["paths"])
    operations = [each for path in document["paths"].values() for each in path.values()]
    assert len(operations) == len({each["operationId"] for each in operations}) >= 25
    assert not any("\n---" in each["description"] for each in operations)  # what numpydoc draws below a section's name


def test_two_services_cannot_have_one_results_folder(client, results, capsys):
    code, _, err = told(capsys, "serve", "--port", "1024", "--results", results)
    assert code == 2
    assert "served by another process already" in err.replace("\n", " ")
    assert "Traceback" not in err
