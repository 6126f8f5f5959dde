"""Layouts moved by hand over HTTP: a move, the newest of several, what settles, what is kept, and how many may sit."""

import asyncio
import operator
import time

import pytest
from made_records import run_folder
from served import served
from shelf import PIPE

from optimizer.records.layout import LayoutRecord
from optimizer.service.refusals import RefusedError
from optimizer.service.sittings import Sitting, Sittings

SAME = ("reach", "objectives", "margins_mm", "binds")
MOVED = "/runs/pipe/layouts/t00001/moved"


@pytest.fixture(scope="module")
def client(tmp_path_factory, record):
    results = tmp_path_factory.mktemp("served") / "results"
    run_folder(results / "pipe", [record], project_text=PIPE, finished="2026-11-02T10:01:00+00:00")
    with served(results) as client:
        yield client


def asked(number=0, sitting="bench", **numbers):
    return {"sitting": sitting, "number": number, "numbers": {k.replace("__", "."): v for k, v in numbers.items()}}


def cents(layout):
    return [note["cents"] for note in layout["notes"]]


def test_a_layout_is_moved_settled_and_kept_as_one_of_its_run(client, record):
    told = client.post(MOVED, asked(1)).json
    own = record.model_dump(mode="json")
    assert [told[name] for name in SAME] == [own[name] for name in SAME]
    assert cents(told) == cents(own)
    place = round(record.holes[1].position_mm + 5.0, 2)
    moved = client.post(MOVED, asked(2, position_mm__g2=place)).json
    assert moved["objectives"]["tuning"] > told["objectives"]["tuning"]

    held = {**asked(3, position_mm__g2=place), "held": ["position_mm.g2"]}
    settled = client.post("/runs/pipe/layouts/t00001/settled", held).json
    assert settled["objectives"]["tuning"] < moved["objectives"]["tuning"]
    numbers = {each["name"]: each["value"] for each in settled["numbers"]}
    assert numbers["position_mm.g2"] == place

    made = client.post("/runs/pipe/layouts/t00001/kept", {"numbers": numbers, "moved": ["position_mm.g2"]})
    assert made.status == 201
    assert made.json["id"] == "hand-1"
    assert [each["name"] for each in made.json["parentage"]["moved"]] == ["position_mm.g2"]
    file = client.get("/runs/pipe/layouts/hand-1").json
    assert LayoutRecord.model_validate(file).parentage.layout == "t00001"
    assert cents(file) == cents(settled)
    assert client.get("/runs/pipe/by-hand").json == [made.json]
    assert [each["id"] for each in client.get("/runs/pipe/front").json["layouts"]] == ["t00001"]
    assert client.get("/runs/pipe/files/by_hand/hand-1.json").status == 200
    compared = client.get("/comparison?of=pipe/t00001&of=pipe/hand-1").json
    assert [each["file"] for each in compared["layouts"]] == ["pipe/t00001", "pipe/hand-1"]
    assert "Changed by hand from layout t00001: g2 position" in client.get("/runs/pipe/layouts/hand-1/sheet").text


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (asked(100, chimney_mm__g1=5.0), "chimney_mm.g1 is no number that may be moved here"),
        ({**asked(101), "number": -1}, "the request does not fit"),
        (asked(102, position_mm__g1=1e9), "the request does not fit"),
        (asked(103, sitting="../x"), "the request does not fit"),
    ],
)
def test_what_cannot_be_moved_is_refused_in_words(client, body, said):
    answer = client.post(MOVED, body)
    assert answer.status == 422
    assert said in answer.json["detail"]


def test_kept_layouts_that_cannot_be_read_are_left_out_of_their_list(tmp_path, record):
    folder = run_folder(tmp_path / "results" / "pipe", [record], project_text=PIPE)
    (kept := folder / "by_hand").mkdir()
    for name in ("hand-1", "hand-4"):
        (kept / f"{name}.json").write_text(record.model_copy(update={"id": name}).model_dump_json())
    (kept / "hand-2.json").write_text("{")
    (kept / "hand-3.json").symlink_to(kept / "hand-1.json")
    with served(tmp_path / "results") as client:
        found = client.get("/runs/pipe/by-hand")
    assert (found.status, [each["id"] for each in found.json]) == (200, ["hand-1", "hand-4"])


def test_a_name_that_cannot_be_is_told_as_no_more_than_that(client):
    (problem,) = client.post(MOVED, asked(104, sitting="../x")).json["problems"]
    assert problem["path"] == "sitting"
    assert problem["message"] == "sitting: is not written as it must be; the OpenAPI document tells the pattern"


def test_a_late_move_is_let_go_and_a_sitting_ended_begins_anew(client):
    assert client.post(MOVED, asked(1)).status == 204
    assert client.ask("DELETE", "/api/v1/sittings/bench").status == 204
    assert client.post(MOVED, asked(1)).status == 200


def test_the_newest_overtakes_what_waits():
    async def several():
        sitting = Sitting(60.0, 2_000_000_000)
        try:
            assert await sitting.newest(1, operator.add, 1, 1) == 2
            first = asyncio.create_task(sitting.newest(2, time.sleep, 0.3))
            await asyncio.sleep(0.05)
            waiting = [asyncio.create_task(sitting.newest(n, operator.add, n, 0)) for n in range(3, 9)]
            await asyncio.sleep(0.05)
            told = [each.done() for each in waiting]
            found = await asyncio.gather(first, *waiting)
            return told, found, sitting.quiet
        finally:
            sitting.close()

    told, found, quiet = asyncio.run(several())
    assert told == [True] * 5 + [False]  # let go at once, while the first is still being worked out
    assert found == [None, None, None, None, None, None, 8]
    assert quiet < 10.0


def test_what_waits_as_a_sitting_is_ended_begins_no_process_anew():
    async def ended():
        places = Sittings(2, 60.0, 60.0, 2_000_000_000)
        sitting = places.at("bench")
        await sitting.newest(1, operator.add, 1, 1)
        first = asyncio.create_task(sitting.newest(2, time.sleep, 5.0))
        await asyncio.sleep(0.05)
        second = asyncio.create_task(sitting.newest(3, operator.add, 1, 1))
        await asyncio.sleep(0.05)
        places.end("bench")
        found = await asyncio.gather(first, second, return_exceptions=True)
        try:
            return found, sitting._worker
        finally:
            sitting.close()
            places.close()

    assert asyncio.run(ended()) == ([None, None], None)


def test_a_move_that_its_sender_gives_up_takes_no_turn():
    async def given_up():
        sitting = Sitting(60.0, 2_000_000_000)
        try:
            await sitting.newest(1, operator.add, 1, 1)
            first = asyncio.create_task(sitting.newest(2, time.sleep, 0.2))
            await asyncio.sleep(0.05)
            second = asyncio.create_task(sitting.newest(3, operator.add, 1, 1))
            await asyncio.sleep(0.01)
            second.cancel()
            await asyncio.wait([first, second])
            return second.cancelled(), await sitting.newest(4, operator.add, 2, 2)
        finally:
            sitting.close()

    assert asyncio.run(given_up()) == (True, 4)


def test_one_that_is_quiet_ends_or_gives_way(monkeypatch):
    async def quiet():
        places = Sittings(2, 0.2, 60.0, 2_000_000_000)
        one = places.at("one")
        places.at("two")
        with pytest.raises(RefusedError, match="2 others are moving holes here"):
            places.at("three")
        one.last -= 60.0
        places.at("three")
        assert places.at("two") is not one
        assert len(places) == 2
        for _ in range(100):
            await asyncio.sleep(0.05)
            if not len(places):
                break
        return len(places)

    assert asyncio.run(quiet()) == 0
