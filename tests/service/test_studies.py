"""Tolerance, prices and ways out over the API: as the program itself finds them, kept, and refused."""

import json
import math
from statistics import NormalDist

import pytest
from made_records import layout, run_folder, without_bore
from served import PROJECTS, served
from shelf import PIPE, changed, pipe

from optimizer.analysis import reliefs
from optimizer.analysis.prices import prices_of
from optimizer.analysis.tolerance import tolerance
from optimizer.project.marks import mark_of
from optimizer.project.source_mark import SOURCE_MARK
from optimizer.records.files import read_record
from optimizer.records.fits import ReliefsRecord, summary_of

OTHER = "large-adult.toml"
BROKEN = changed("wall_mm = 4.0", "wall_mm = -4.0")


@pytest.fixture(scope="module")
def results(tmp_path_factory, record):
    """A results folder with a run of the practice pipe, its one layout the solved one, and three with something amiss:
    a layout that breaks a limit, one without a bore, a broken project."""
    results = tmp_path_factory.mktemp("hall") / "results"
    run_folder(results / "pipe", [record], project_text=PIPE)
    run_folder(results / "limits", [layout(feasible=False)], project_text=PIPE)
    without_bore(run_folder(results / "boreless", [layout()], project_text=PIPE) / "layouts" / "t00001.json")
    run_folder(results / "broken", [record], project_text=BROKEN)
    return results


@pytest.fixture(scope="module")
def client(results):
    with served(results) as client:
        yield client


@pytest.fixture(scope="module")
def place(record):
    return f"/runs/pipe/layouts/{record.id}"


def test_tolerance_is_told_as_the_program_finds_it(client, place, record):
    asked = {"samples": 50, "seed": 7, "within_cents": 5.0, "worth_cents": 0.4}
    answer = client.post(f"{place}/tolerance", asked)
    assert answer.status == 200, answer.text
    assert answer.json == tolerance(record, 50, 7, 5.0, 0.4).model_dump(mode="json")


def test_chances_and_shares_of_a_tolerance_hang_together(client, place):
    told = client.post(f"{place}/tolerance", {"samples": 400}).json
    chance, many = told["chance"], told["samples"]
    # Wilson (1927): the score interval about a share p of n draws, z = 1.96 for 95 %.
    p, z = chance["share"], 1.959964
    middle = (p + z * z / (2 * many)) / (1 + z * z / many)
    half = z / (1 + z * z / many) * math.sqrt(p * (1 - p) / many + z * z / (4 * many * many))
    assert (chance["low"], chance["high"]) == pytest.approx((middle - half, middle + half), abs=1e-6)
    for note in told["notes"]:
        low = NormalDist(note["cents"], note["linear"]["sd"]).inv_cdf(0.05)
        assert note["linear"]["p05"] == pytest.approx(low, abs=1e-6)


def test_prices_are_told_as_the_program_finds_them(client, place, record):
    answer = client.post(f"{place}/prices")
    assert answer.status == 200, answer.text
    alone = prices_of(pipe(), record, 45.0, lambda done, of: None).model_dump(mode="json")
    same = {"seconds": 0.0, "project_file": ""}
    assert answer.json | same == alone | same


def test_ways_out_are_kept_beside_the_run(client, results):
    told = client.post("/runs/pipe/reliefs", {})
    assert told.status == 200, told.text
    assert read_record(results / "pipe" / "reliefs.json", ReliefsRecord).model_dump(mode="json") == told.json
    marked = told.json | {"seconds": 4321.0}
    (results / "pipe" / "reliefs.json").write_text(ReliefsRecord.model_validate(marked).model_dump_json())
    assert client.post("/runs/pipe/reliefs", {}).json == marked  # read, not worked out again


def test_ways_out_are_kept_by_the_hand_named_and_those_for_a_hand_sent_along_are_not(tmp_path, record, monkeypatch):
    # How they are found does not matter for that: `tests/benchmarks/long` works them out.
    def found(loaded, *_):
        return ReliefsRecord(
            instrument="Pipe", project_file="pipe.toml", hand=loaded.project.hand.name, as_it_is=summary_of(record),
            made_for=mark_of(loaded.project, SOURCE_MARK), hand_limits=[], reliefs=[], seconds=1.0, cautions=[],
        )  # fmt: skip

    monkeypatch.setattr(reliefs, "relieved", found)
    folder = run_folder(tmp_path / "results" / "pipe", [record], project_text=PIPE)
    with served(tmp_path / "results") as client:
        own, other = (client.post("/runs/pipe/reliefs", asked).json for asked in ({}, {"hand": OTHER}))
        kept = {path.name: path.read_bytes() for path in folder.glob("reliefs*")}
        text = (PROJECTS / "hands" / OTHER).read_text(encoding="utf-8")
        assert client.post("/runs/pipe/reliefs", {"hand_text": text}).json == other
    assert own["hand"] != other["hand"]
    assert {name: json.loads(each) for name, each in kept.items()} == {
        "reliefs.json": own, "reliefs-large-adult.json": other,
    }  # fmt: skip
    assert {path.name: path.read_bytes() for path in folder.glob("reliefs*")} == kept


@pytest.mark.parametrize(
    ("what", "asked", "status"),
    [
        ("layouts/t00001/tolerance", {"samples": 19}, 422),
        ("layouts/t00001/tolerance", {"samples": 10**6}, 422),
        ("layouts/t00001/tolerance", {"within_cents": 0}, 422),
        ("layouts/t00001/tolerance", {"odd": 1}, 422),
        ("layouts/t99999/tolerance", {}, 404),
        ("layouts/t99999/prices", None, 404),
        ("reliefs", {"hand": "none.toml"}, 422),
        ("reliefs", {"hand": OTHER, "hand_text": "x"}, 422),
        ("reliefs", {"hand_text": "name = "}, 422),
        ("reliefs", {"odd": 1}, 422),
    ],
)
def test_what_cannot_be_found_out_is_refused(client, what, asked, status):
    answer = client.post(f"/runs/pipe/{what}", asked)
    assert (answer.status, answer.json["status"]) == (status, status)
    assert answer.headers["content-type"] == "application/problem+json"
    assert client.post(f"/runs/none/{what}", asked).status in (404, 422)


def test_a_layout_that_breaks_a_limit_has_no_prices_and_one_without_a_bore_no_tolerance(client):
    answer = client.post("/runs/limits/layouts/t00001/prices")
    assert answer.status == 422
    assert answer.json["detail"] == "layout t00001 does not keep its limits, so they have no price yet"
    answer = client.post("/runs/boreless/layouts/t00001/tolerance", {})
    assert answer.status == 404
    assert "does not fit its schema at the whole: the bore's points" in answer.json["detail"]


def test_a_run_whose_project_is_broken_says_where(client, record):
    for what, asked in ((f"layouts/{record.id}/prices", None), ("reliefs", {}), ("reliefs", {"hand": OTHER})):
        answer = client.post(f"/runs/broken/{what}", asked)
        assert answer.status == 422
        (problem,) = answer.json["problems"]
        assert (problem["path"], problem["line"]) == (
            "bore.wall_mm",
            BROKEN[: BROKEN.index("wall_mm")].count("\n") + 1,
        )


def test_what_takes_too_long_is_ended_and_leaves_nothing(tmp_path, place, record):
    folder = run_folder(tmp_path / "results" / "pipe", [record], project_text=PIPE)
    before = sorted(path.name for path in folder.iterdir())
    with served(tmp_path / "results", apart=True, work_seconds=0.001) as client:
        for what in (f"{place}/tolerance", f"{place}/prices", "/runs/pipe/reliefs"):
            assert client.post(what, {}).status == 504
    assert sorted(path.name for path in folder.iterdir()) == before


def test_fingerings_are_found_and_a_line_goes_into_the_chart(client, place, record):
    answer = client.post(f"{place}/fingerings", {"notes": ["C#5"], "within_cents": 50})
    assert answer.status == 200, answer.text
    (note,) = answer.json["notes"]
    own = next(way for way in note["ways"] if way["kind"] == "chart")
    assert own["cents"] == pytest.approx(next(each.cents for each in record.notes if each.written == "C#5"), abs=1e-6)
    line = next(way["line"] for way in note["ways"] if way["kind"] != "chart")
    text = client.post("/runs/pipe/chart-lines", {"lines": [line]}).json["project"]
    assert [
        f"{each.written}  {each.register}  {each.touches}  alternate" for each in pipe(text).notes if each.alternate
    ] == [line]
    assert client.post(f"{place}/fingerings", {"notes": ["A2"]}).status == 422
    assert client.post("/runs/pipe/chart-lines", {"lines": [line, "C#5 1 L9"]}).status == 422
    assert client.post("/runs/broken/chart-lines", {"lines": [line]}).status == 422
