"""The search from end to end: repeatable, whole at every moment, and gone when it is gone."""

import io
import json
import re
import signal
import zipfile
from contextlib import redirect_stderr, redirect_stdout

import jsonschema
import pytest
from interruptions import interrupted, layouts, whole_after
from places import ROOT, tracked
from processes import started, wait_for
from runs import only_run, workers_of
from shelf import PIPE, pipe

from optimizer.commands.cli import main
from optimizer.records.files import read_record
from optimizer.records.kinds import RECORDS, schema_text
from optimizer.records.layout import LayoutRecord
from optimizer.records.recommendation import RecommendationRecord
from optimizer.records.run import FrontRecord, RunRecord
from optimizer.records.sameness import widths
from optimizer.search.cluster import LOCAL, NOT_SENT, opened
from optimizer.search.pareto import dominates
from optimizer.solving.doubt import sameness
from optimizer.solving.real_resonances import predict

TRIALS = ["--trials", "6", "--seed", "3", "--workers", "1"]


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    path = tmp_path_factory.mktemp("shelf") / "pipe.toml"
    path.write_text(PIPE)
    return path


@pytest.fixture(scope="module")
def twice(project, tmp_path_factory):
    """The same search twice: results folder, exit code, output and messages of each."""
    found = []
    for name in ("first", "second"):
        place, out, err = tmp_path_factory.mktemp(name), io.StringIO(), io.StringIO()
        with redirect_stdout(out), redirect_stderr(err):
            code = main(["search", str(project), "--results", str(place), *TRIALS])
        found.append((place, code, out.getvalue(), err.getvalue()))
    return found


@pytest.fixture(scope="module")
def first(twice):
    """The first of them."""
    return twice[0]


def test_a_search_ends_well(first):
    _, code, _, err = first
    assert code == 0, err
    assert "Traceback" not in err


def test_the_same_seed_gives_the_same_layouts(twice):
    once, again = (layouts(only_run(place)) for place, *_ in twice)
    assert once
    assert once == again


def test_a_run_folder_is_whole(first):
    folder = only_run(first[0])
    front = read_record(folder / "pareto.json", FrontRecord)
    run = read_record(folder / "run.json", RunRecord)
    names = {f"{entry.id}.json" for entry in front.layouts}
    assert {path.name for path in folder.iterdir()} - {"journal.mark"} == {  # which a longer run has
        "journal.log", "layouts", "lock", "pareto.json", "progress.json", "recommendation.json", "report.html",
        "run.json",
    }  # fmt: skip
    assert {path.name for path in (folder / "layouts").iterdir()} == names
    assert (run.trials_done, run.trials_failed, run.ended_by, run.seed, run.workers, run.pool) == (
        6, 0, "trials", 3, 1, "local",
    )  # fmt: skip
    assert run.finished is not None
    assert run.started <= run.finished
    assert run.project_text == PIPE
    assert run.sameness == sameness(pipe(PIPE))
    assert front.thinned_to == widths(front.objectives, run.sameness)
    for kind, paths in {
        "run": [folder / "run.json"],
        "front": [folder / "pareto.json"],
        "recommendation": [folder / "recommendation.json"],
        "progress": [folder / "progress.json"],
        "layout": [folder / "layouts" / name for name in names],
    }.items():
        for path in paths:
            jsonschema.validate(json.loads(path.read_text()), json.loads(schema_text(kind)))
    assert {"run", "front", "layout", "progress"} <= set(RECORDS)


def test_no_layout_of_a_front_beats_another(first):
    front = read_record(only_run(first[0]) / "pareto.json", FrontRecord)
    rows = [tuple(entry.objectives[name] for name in front.objectives) for entry in front.layouts]
    assert len(rows) > 1
    assert not any(dominates(a, b) for a in rows for b in rows)
    assert rows == sorted(rows)


def test_every_layout_of_a_front_fits_and_sounds_as_it_says(first):
    folder = only_run(first[0])
    for entry in read_record(folder / "pareto.json", FrontRecord).layouts:
        record = read_record(folder / entry.file, LayoutRecord)
        assert record.feasible
        assert min(record.margins_mm.values()) >= 0
        assert record.objectives == entry.objectives
        for note, again in zip(record.notes, predict(record), strict=True):
            assert note.status == again.status == "ok"
            assert again.cents == pytest.approx(note.cents, abs=0.01)


def test_a_search_prints_what_it_recommends_and_where_its_report_lies(first):
    place, _, out, err = first
    folder = only_run(place)
    found = read_record(folder / "recommendation.json", RecommendationRecord)
    told = " ".join(out.split())
    for pick in found.picks:
        figure = f"{pick.objectives['tuning']:.2f}"
        assert re.search(rf"(?m)^{pick.id} +{re.escape(', '.join(pick.roles))} +{figure}", out)
        assert f"{pick.id}: {pick.sentence}" in told
    assert f"report:           {folder / 'report.html'}\n" in out
    page = (folder / "report.html").read_text()
    assert re.findall(r'<section class="layout" id="(\w+)"', page) == [pick.id for pick in found.picks]
    assert str(folder) in out.replace("\n", "")
    assert "elapsed" in err


def test_an_interrupted_search_ends_cleanly(project, tmp_path, capsys):
    # In a terminal, on local workers; ended otherwise: in test_endurance.py; one by Ray's workers: in test_own_ray.py.
    process = started("search", project, "--results", tmp_path, "--minutes", "10", "--workers", "2")
    assert wait_for(lambda: len(workers_of(process)) == 2 and list(tmp_path.glob("*/pareto.json")))
    code, err = interrupted(process, signal.SIGINT, tmp_path, 3)
    assert code == 0, err
    assert "Traceback" not in err
    whole_after(signal.SIGINT, tmp_path, "local", capsys)


def test_results_that_cannot_be_written_are_told_before_anything_starts(project, tmp_path, capsys):
    place = tmp_path / "taken"
    place.write_text("a file, not a folder")
    code = main(["search", str(project), "--results", str(place), *TRIALS])
    err = capsys.readouterr().err
    assert code == 2
    assert err.splitlines()[0] == "the search could not go on"
    assert str(place) in err
    assert "Traceback" not in err
    assert "[Errno" not in err


def test_ray_starts_on_this_machine_when_asked_to_whatever_cluster_runs_on_it(monkeypatch):
    # A cluster that happens to run here (`ray start`) belongs to someone else, and refuses our settings.
    import ray

    asked = []

    def init(address=None, **settings):
        asked.append(address)
        raise ConnectionError("stop here")

    monkeypatch.setattr(ray, "init", init)
    with pytest.raises(ConnectionError, match="stop here"):
        opened(LOCAL, 1)
    assert asked == ["local"]


def test_a_cluster_is_sent_the_rooms_that_workers_enter_and_nothing_that_other_processes_write(tmp_path):
    # As Ray itself packs it. What Python keeps of modules is written anew by whoever runs next, in the middle of it.
    from ray._private.runtime_env.packaging import create_package

    place = tmp_path / "optimizer.zip"
    create_package(str(ROOT / "optimizer"), place, True, include_parent_dir=True, excludes=NOT_SENT)
    with zipfile.ZipFile(place) as packed:
        sent = set(packed.namelist())
    rooms = ("project", "records", "geometry", "limits", "solving", "search", "analysis")
    code = {str(name) for room in rooms for name in tracked() if name.match(f"optimizer/{room}/*.py")}
    assert code
    assert code <= sent
    assert not [
        name for name in sent if "__pycache__" in name or name.split("/")[1] in ("commands", "service", "views")
    ]
