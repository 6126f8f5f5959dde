"""What runs recommend: written into their folders, read again, and of older runs worked out."""

import json
import shutil

import pytest
from made_records import PAD, hole, layout, piece, run_folder
from places import ROOT
from told_picks import true_sentence

from optimizer.analysis.recommendation import recommendation_of
from optimizer.commands.report import finish
from optimizer.records.files import Folder, read_record
from optimizer.records.recommendation import FILE, REPORT, RecommendationRecord
from optimizer.records.run import FrontRecord
from optimizer.search.run_folder import reopen_run, saved_layouts

NAMES = ("tuning", "stretch", "unevenness")
ROLES = ("best compromise", "in tune", "in reach", "simplest to build")


@pytest.fixture
def run(tmp_path):
    """A run folder of four layouts that differ in everything."""

    def made(number, tuning, stretch, unevenness, joints, plates, settle):
        figures = {"tuning": tuning, "worst_note": 2 * tuning, "stretch": stretch, "unevenness": unevenness}
        covers = [{"cover": "plate", "pad": PAD}] * plates + [{}] * (3 - plates)
        return layout(
            f"t{number:05d}",
            objectives=figures,
            holes=[hole(f"g{at}", 240.0 - 20.0 * at, by=f"L{3 - at}", **cover) for at, cover in enumerate(covers)],
            pieces=[piece(100.0 * at, 100.0 * (at + 1)) for at in range(joints + 1)],
            to_settle=[f"the axle of k{at} crosses joint 1" for at in range(settle)],
        )

    return run_folder(
        tmp_path / "run",
        [
            made(1, 1.234, 61.7, 50.3, 2, 2, 3), made(2, 4.96, 0.4, 41.2, 2, 1, 4), made(3, 3.3, 21.1, 20.9, 2, 3, 5),
            made(14, 5.92, 88.8, 10.1, 1, 0, 2),
        ],
        NAMES,
    )  # fmt: skip


def test_what_is_written_re_reads_as_true(run):
    assert finish(run, page=False) == []
    found = json.loads((run / FILE).read_text())
    files = {path.stem: json.loads(path.read_text()) for path in (run / "layouts").iterdir()}
    told = {
        name: {
            **kept["objectives"],
            "joints": len(kept["pieces"]) - 1,
            "plates": sum(each["cover"] == "plate" for each in kept["holes"]),
            "to_settle": len(kept["to_settle"]),
        }
        for name, kept in files.items()
    }
    assert found["of_layouts"] == len(files) == 4
    assert [pick["id"] for pick in found["picks"]] == ["t00003", "t00001", "t00002", "t00014"]
    compromise = told[found["picks"][0]["id"]]
    for pick in found["picks"]:
        mine = told[pick["id"]]
        assert {**pick["objectives"], **{name: pick[name] for name in ("joints", "plates", "to_settle")}} == mine
        assert pick["file"] == f"layouts/{pick['id']}.json"
        if pick["id"] != "t00003":
            assert pick["against_compromise"] == {name: mine[name] - compromise[name] for name in mine}
            true_sentence(pick, mine, compromise, found["same_within"])
    assert found["picks"][0]["against_compromise"] == {}


@pytest.mark.parametrize("kept", ["run_0_1_0", "run_1_6"])
def test_an_older_run_is_recommended_of_by_what_its_layouts_hold(kept, tmp_path):
    # Neither front tells joints, plates or what is to settle: the layouts' files do.
    folder = shutil.copytree(ROOT / "tests/reference" / kept, tmp_path / "run")
    assert "joints" not in json.loads((folder / "pareto.json").read_text())["layouts"][0]
    found = recommendation_of(read_record(folder / "pareto.json", FrontRecord), Folder(folder))
    assert {role for pick in found.picks for role in pick.roles} == set(ROLES)
    for pick in found.picks:
        held = json.loads((folder / pick.file).read_text())
        assert (pick.joints, pick.to_settle) == (max(0, len(held["pieces"]) - 1), len(held["to_settle"]))


def test_an_older_front_with_a_layout_that_cannot_be_read_says_what_it_cannot_tell(run):
    made = read_record(run / "pareto.json", FrontRecord)
    older = [
        each.model_copy(update=dict.fromkeys(("joints", "plates", "to_settle", "finger_pairs")))
        for each in made.layouts
    ]
    (run / "layouts/t00002.json").write_text("{}")
    found = recommendation_of(made.model_copy(update={"layouts": older}), Folder(run))
    assert found.left_out == {
        "simplest to build": "layouts/t00002.json cannot be read, which alone says what there is to build"
    }
    assert {pick.id: pick.joints for pick in found.picks} == {"t00003": 2, "t00001": 2, "t00002": None}


def test_a_run_that_cannot_be_written_to_costs_a_sentence(run):
    (run / "report.html").mkdir()
    (said,) = finish(run, page=True)
    assert said == (
        f"report.html could not be written: Is a directory. The run is whole; `holewright report {run}` tries again."
    )
    assert read_record(run / FILE, RecommendationRecord).picks


def test_a_run_folder_that_is_gone_is_not_made_anew(run):
    shutil.rmtree(run)
    (said,) = finish(run, page=True)
    assert said.startswith("recommendation.json could not be written: No such file or directory.")
    assert not run.exists()


def test_a_run_that_goes_on_recommends_nothing_until_it_ends(run):
    assert finish(run, page=False) == []
    (run / REPORT).write_text("of then")
    reopen_run(run, NAMES, saved_layouts(run), {})
    assert not (run / FILE).exists()
    assert not (run / REPORT).exists()
