"""Instruments that are made, over the API: a run like others, as the program itself makes it, and refusals."""

import pytest
from served import served
from shelf import PIPE

from optimizer.prototype.present_layout import present_layout
from optimizer.prototype.present_project import Told, present_project


def tables(record):
    """The tables of a print of a layout: its holes and its bore."""
    holes = "".join(
        f"{hole.id},{hole.position_mm},{hole.diameter_mm},{hole.top_diameter_mm},{hole.chimney_mm}\n"
        for hole in record.holes
    )
    bore = "".join(f"{place!r},{wide!r}\n" for place, wide in record.bore.points_mm)
    return (
        f"hole,from_reed_mm,bore_end_mm,outer_end_mm,chimney_mm\n{holes}",
        f"from_reed_mm,diameter_mm\n{bore}",
    )


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    with served(tmp_path_factory.mktemp("hall") / "results") as client:
        yield client


@pytest.fixture
def asked(record):
    holes, bore = tables(record)
    return {
        "project": PIPE, "holes": {"name": "holes.csv", "text": holes}, "bore": {"name": "bore.csv", "text": bore},
        "reed_cm3": record.reed.volume_cm3,
    }  # fmt: skip


def test_an_instrument_that_is_made_becomes_a_run_like_others(client, asked, tmp_path):
    answer = client.post("/present", asked)
    assert answer.status == 201, answer.text
    run = answer.json["run"]
    assert (run["state"], run["ended_by"]) == ("ended", "no search")
    assert answer.headers["location"] == f"/api/v1/runs/{run['id']}"
    assert [each["id"] for each in client.get("/runs").json["runs"]] == [run["id"]]
    told = client.get(f"/runs/{run['id']}/layouts/present").json
    for name in ("holes", "bore"):
        (tmp_path / f"{name}.csv").write_text(asked[name]["text"])
    (tmp_path / "pipe.toml").write_text(PIPE)
    said = Told(tmp_path / "holes.csv", tmp_path / "bore.csv", asked["reed_cm3"])
    alone = present_layout(present_project(tmp_path / "pipe.toml", said)).model_dump(mode="json")
    assert told["notes"] == alone["notes"]
    assert told["holes"] == alone["holes"]
    kept = client.get(f"/runs/{run['id']}/files/run.json").json
    assert kept["project_file"] == "project.toml"
    assert client.get(f"/runs/{run['id']}/layouts/present/sheet").status == 200
    assert client.get(f"/runs/{run['id']}/layouts/present/bench-sheet").status == 200


def test_two_of_one_name_are_two_runs(client, asked):
    one, other = (client.post("/present", asked).json["run"]["id"] for _ in range(2))
    assert one != other


def test_a_full_shelf_takes_no_further_instrument(asked, tmp_path):
    with served(tmp_path / "results", runs_most=1) as client:
        assert client.post("/present", asked).status == 201
        refused = client.post("/present", asked)
        assert (refused.status, "the shelf is full" in refused.json["detail"]) == (503, True)
        assert len(client.get("/runs").json["runs"]) == 1


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            {"holes": {"name": "holes.csv", "text": "hole,from_reed_mm\ng1,abc\n"}},
            "holes.csv, line 1: must have the headers",
        ),
        ({"holes": {"name": "holes.csv", "text": ""}}, "holes.csv"),
        ({"reed_cm3": None}, "reed.volume_cm3 is a range"),
        ({"project": "name = "}, "not valid TOML"),
        ({"project": PIPE.replace("[air]", "[aer]")}, "aer"),
        ({"project": PIPE + '\n[present]\nbore = "/etc/passwd"\n', "bore": None}, "send it along"),
        ({"holes": {"name": "../holes.csv", "text": "x"}}, "holes.name"),
    ],
)
def test_what_is_wrong_with_it_is_told_and_nothing_is_left(client, asked, change, words):
    before = [each["id"] for each in client.get("/runs").json["runs"]]
    answer = client.post("/present", asked | change)
    assert answer.status == 422, answer.text
    assert words in answer.text
    assert "uploads" not in answer.text
    assert "root:" not in answer.text
    assert [each["id"] for each in client.get("/runs").json["runs"]] == before


def test_a_table_of_the_holes_that_the_project_names_is_not_read(client, asked):
    """The one that was sent counts."""
    named = PIPE + '\n[present]\nholes = "/etc/passwd"\n'
    assert client.post("/present", asked | {"project": named}).status == 201
