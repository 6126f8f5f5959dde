"""Ways out of a reach that binds over HTTP, for other hands than the project's own."""

import pytest
from made_records import run_folder
from served import PROJECTS, served
from shelf import PIPE

from optimizer.records.files import read_record
from optimizer.records.fits import ReliefsRecord

OTHER = "large-adult.toml"


@pytest.fixture(scope="module")
def results(tmp_path_factory, record):
    """A results folder with a run of the practice pipe, its one layout the solved one."""
    results = tmp_path_factory.mktemp("hall") / "results"
    run_folder(results / "pipe", [record], project_text=PIPE)
    return results


@pytest.fixture(scope="module")
def client(results):
    with served(results) as client:
        yield client


def test_ways_out_are_kept_beside_the_run_by_hand(client, results):
    own, other = (client.post("/runs/pipe/reliefs", asked) for asked in ({}, {"hand": OTHER}))
    assert (own.status, other.status) == (200, 200), own.text + other.text
    for answer, name in ((own, "reliefs.json"), (other, "reliefs-large-adult.json")):
        assert read_record(results / "pipe" / name, ReliefsRecord).model_dump(mode="json") == answer.json
    assert own.json["hand"] != other.json["hand"]
    assert own.json["made_for"] != other.json["made_for"]
    marked = own.json | {"seconds": 4321.0}
    (results / "pipe" / "reliefs.json").write_text(ReliefsRecord.model_validate(marked).model_dump_json())
    assert client.post("/runs/pipe/reliefs", {}).json == marked  # read, not worked out again


def test_ways_out_for_a_hand_sent_along_are_not_kept(client, results):
    before = sorted(path.name for path in (results / "pipe").iterdir())
    text = (PROJECTS / "hands" / OTHER).read_text()
    told = client.post("/runs/pipe/reliefs", {"hand_text": text})
    assert told.status == 200, told.text
    assert told.json["hand"] == client.post("/runs/pipe/reliefs", {"hand": OTHER}).json["hand"]
    assert sorted(path.name for path in (results / "pipe").iterdir()) in (
        before,
        sorted([*before, "reliefs-large-adult.json"]),
    )
