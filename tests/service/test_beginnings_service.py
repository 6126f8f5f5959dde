"""Projects begun over the API: as the command line begins them, and each wrong answer told by its name."""

import pytest
from places import CONFIGS
from served import served

from optimizer.beginning.answers import Answers
from optimizer.beginning.written import project_text
from optimizer.service.api_beginnings import NewBeginning
from optimizer.service.beginning_work import begun_text
from optimizer.service.offered import SOURCE
from optimizer.service.refusals import RefusedError

TOLD = {"name": "Moth Pipe", "family": "six-hole", "lowest": "D4", "forks": False}


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    with served(tmp_path_factory.mktemp("hall") / "results") as client:
        yield client


def test_it_writes_what_the_command_line_would(client):
    hand = CONFIGS / "hands" / "small-adult.toml"
    begun = client.post("/beginnings", {**TOLD, "hand": "small-adult"})
    assert begun.status == 200, begun.text
    assert begun.json["project"] == project_text(Answers(**TOLD, hand=hand), CONFIGS / SOURCE)
    checked = client.post("/projects/check", begun.json)
    assert checked.status == 200, checked.text
    assert checked.json["instrument"] == "Moth Pipe"


def test_a_bore_is_taken_from_pasted_text(client):
    begun = client.post("/beginnings", {**TOLD, "bore_table": "from_reed_mm;diameter_mm\n0;3,4\n440;22\n"})
    assert "points_mm = [[0, 3.4], [440, 22]]" in begun.json["project"]


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        ({"lowest": "H9", "rows": True}, {"lowest": "must read like", "rows": "has no keys"}),
        ({"hand": "../hands/small-adult"}, {"hand": "there is no hand"}),
        ({"notes": 1}, {"notes": ""}),
        ({"name": "a\nb"}, {"name": "one line"}),
        ({"reed_end_mm": 40.0}, {"reed_end_mm": "more than half of its length"}),
        ({"bell_mm": 5.0}, {"bell_mm": "must widen"}),
        ({"bore_table": "from_reed_mm,diameter_mm\n0,4\n0,22\n"}, {"bore_table": "has no length"}),
        ({"bore_table": "from_reed_mm,diameter_mm\n5,4\n440,22\n"}, {"bore_table": "bore.csv, line 2"}),
        ({"bore_table": "from_reed_mm,diameter_mm\n0,1\n440,1.2\n"}, {"bore_table": "leaves its holes no room"}),
    ],
)
def test_each_wrong_answer_is_told_by_its_name(client, answers, said):
    refused = client.post("/beginnings", {**TOLD, **answers})
    assert refused.status == 422
    told = {each["path"]: each["message"] for each in refused.json["problems"]}
    assert told.keys() == said.keys()
    assert all(part in told[answer] for answer, part in said.items())


def test_an_offered_file_that_cannot_be_used_is_told_without_where_it_lies(tmp_path):
    (tmp_path / "printers").mkdir()
    (tmp_path / "printers" / "moth.toml").write_text("piece_max_mm = [")
    with pytest.raises(RefusedError, match="a file that is offered cannot be used") as refused:
        begun_text(tmp_path, NewBeginning(**TOLD, printer="moth").model_dump())
    (problem,) = refused.value.problems
    assert refused.value.status == 422
    assert problem.message.startswith("printers/moth.toml, line 1: ")


def test_the_questions_follow_the_family_and_name_what_is_offered(client):
    def asked(**of):
        query = "&".join(f"{name}={value}" for name, value in of.items())
        return {each["answer"]: each for each in client.get(f"/beginnings/questions?{query}").json}

    keyed, bare = asked(family="keyed-cylinder"), asked(family="six-hole", note_names="helmholtz")
    assert keyed.keys() - bare.keys() == {"side_keys", "rows"}
    assert bare.keys() - keyed.keys() == {"bore"}
    assert (keyed["lowest"]["usual"], bare["lowest"]["usual"]) == ("E3", "d'")
    assert ["small-adult", "small adult hand (estimate)"] in keyed["hand"]["choices"]
