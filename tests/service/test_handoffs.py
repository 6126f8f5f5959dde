"""A layout handed over through the API: the folder that the command writes, or every reason why not."""

import csv
import io
import zipfile
from concurrent.futures import ThreadPoolExecutor

import pytest
from made_records import hole, layout, run_folder
from served import served
from shelf import PIPE

from optimizer.handoff.handed import Wanted
from optimizer.handoff.handing_over import hand_off
from optimizer.handoff.kinds import KINDS
from optimizer.records.handoff import HandoffRecord
from optimizer.service.places import Places
from optimizer.service.refusals import RefusedError


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    """A results folder with one run: a layout that can be made, and one with a hole wider than its body."""
    results = tmp_path_factory.mktemp("hall") / "results"
    run_folder(results / "pipe", [layout(), layout("t00002", holes=[hole("g1", 200.0, diameter_mm=40.0)])],
               project_text=PIPE)  # fmt: skip
    return results


@pytest.fixture(scope="module")
def client(results):
    with served(results) as client:
        yield client


def test_the_archive_is_the_folder_that_the_command_writes(client, tmp_path):
    answer = client.post("/runs/pipe/layouts/t00001/handoff", {"only": ["tables", "templates"], "states": ["finished"]})
    assert answer.status == 200, answer.text
    assert answer.headers["content-type"] == "application/zip"
    assert 'filename="pipe-t00001-handoff.zip"' in answer.headers["content-disposition"]
    hand_off(layout(), tmp_path / "own", Wanted(("tables", "templates"), ("finished",)))
    wanted = {path.relative_to(tmp_path / "own").as_posix(): path.read_bytes()
              for path in (tmp_path / "own").rglob("*") if path.is_file()}  # fmt: skip
    with zipfile.ZipFile(io.BytesIO(answer.body)) as archive:
        found = {name.removeprefix("pipe-t00001-handoff/"): archive.read(name) for name in archive.namelist()}
    assert found == wanted
    HandoffRecord.model_validate_json(found["handoff.json"])


@pytest.mark.parametrize(
    ("name", "asked", "status", "said"),
    [
        ("t00002", {"only": ["tables"], "states": ["finished"]}, 422, "g1"),
        ("t00001", {"only": ["cakes"]}, 422, "no kind of file called cakes"),
        ("t00001", {"only": ["../x"]}, 422, ""),
        ("t00001", {"states": ["raw"]}, 422, ""),
        ("t00001", {"odd": 1}, 422, ""),
        ("t99999", {}, 404, ""),
    ],
)
def test_what_cannot_be_handed_over_is_refused(client, name, asked, status, said):
    answer = client.post(f"/runs/pipe/layouts/{name}/handoff", asked)
    assert answer.status == status
    assert answer.headers["content-type"] == "application/problem+json"
    assert said in answer.text


def test_kinds_say_what_they_hold_and_what_they_lack(client):
    found = client.get("/handoff-kinds").json
    assert [(each["name"], each["told"], each["lacking"]) for each in found] == [
        (name, kind.told, kind.lacking) for name, kind in KINDS.items()
    ]


def test_the_coupon_of_a_runs_printer_comes_as_an_archive(client):
    answer = client.post("/runs/pipe/coupon", {"prints": 1})
    assert answer.status == 200, answer.text
    assert 'filename="pipe-coupon.zip"' in answer.headers["content-disposition"]
    with zipfile.ZipFile(io.BytesIO(answer.body)) as archive:
        assert archive.testzip() is None
        names = {name.removeprefix("pipe-coupon/") for name in archive.namelist()}
        table = archive.read("pipe-coupon/readings.csv").decode()
    assert {"pipe.stl", "pipe.3mf", "pipe.step", "sleeve.step", "steps.step", "coupon.pdf", "readings.csv"} <= names
    rows = csv.DictReader(line for line in table.splitlines() if not line.startswith("#"))
    assert {row["print"] for row in rows if row["what"] == "hole"} == {"1"}


@pytest.mark.parametrize(
    ("run", "asked", "status"), [("pipe", {"prints": 10}, 422), ("pipe", {"paper": "a5"}, 422), ("none", {}, 404)]
)
def test_a_coupon_that_cannot_be_made_is_refused(client, run, asked, status):
    assert client.post(f"/runs/{run}/coupon", asked).status == status


@pytest.mark.parametrize(("limits", "status"), [({"handoff_seconds": 0.001}, 504), ({"work_seconds": 0.001}, 200)])
def test_a_hand_off_has_a_time_of_its_own_and_is_ended_then(tmp_path, limits, status):
    run_folder(tmp_path / "results" / "pipe", [layout()], project_text=PIPE)
    with served(tmp_path / "results", apart=True, **limits) as client:
        assert client.post("/runs/pipe/layouts/t00001/handoff", {"only": ["tables"]}).status == status


def test_no_more_is_made_at_once_than_there_is_room_for(tmp_path):
    run_folder(tmp_path / "results" / "pipe", [layout()], project_text=PIPE)
    with served(tmp_path / "results", handoffs_most=2, archives_most=0) as client, ThreadPoolExecutor(4) as hands:
        asked = [hands.submit(client.post, "/runs/pipe/layouts/t00001/handoff", {"only": ["tables"]}) for _ in range(4)]
        answers = [each.result() for each in asked]
        assert sorted(each.status for each in answers) == [200, 200, 503, 503]
        refused = client.get("/runs/pipe/archive")
        assert (refused.status, "try again in a moment" in refused.json["detail"]) == (503, True)


def test_a_place_is_free_again_when_its_work_is_done_or_failed():
    places = Places(1, "are there")

    def failing():
        with places.one():
            raise LookupError

    with places.one(), pytest.raises(RefusedError, match="1 are there already"):
        failing()
    for _ in range(2):
        with pytest.raises(LookupError):
            failing()
