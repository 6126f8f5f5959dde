"""The search from end to end, with real workers: repeatable, whole at every moment, and gone when it is gone."""

import json
import os
import re
import signal
import time

import jsonschema
import pytest
from processes import alive, descendants, ended, started
from shelf import PIPE, pipe

from optimizer.cli import main
from optimizer.pareto import dominates
from optimizer.records import LayoutRecord, read_record
from optimizer.run_records import RECORDS, FrontRecord, RunRecord, schema_text
from optimizer.verify import predict

TRIALS = ["--trials", "6", "--seed", "3", "--workers", "1"]


def searching(project, results, *options):
    """A search as its own process."""
    return started("search", project, "--results", results, *options)


def only_run(results):
    folders = [path for path in results.iterdir() if path.is_dir()]
    assert len(folders) == 1
    return folders[0]


def layouts(folder):
    """The front of a run: id to objectives and geometry."""
    found = {}
    for entry in read_record(folder / "pareto.json", FrontRecord).layouts:
        record = read_record(folder / entry.file, LayoutRecord)
        found[entry.id] = (record.objectives, record.holes, record.bore, record.reed)
    return found


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    path = tmp_path_factory.mktemp("shelf") / "pipe.toml"
    path.write_text(PIPE)
    return path


@pytest.fixture(scope="module")
def first(project, tmp_path_factory):
    """A search: its results folder, exit code, output and messages."""
    place = tmp_path_factory.mktemp("first")
    return (place, *ended(searching(project, place, *TRIALS)))


@pytest.fixture(scope="module")
def side_by_side(project, first, tmp_path_factory):
    """The same search twice more, both at once; the worker of one is killed while it starts up."""
    places = [tmp_path_factory.mktemp(name) for name in ("second", "killed")]
    processes = [searching(project, place, *TRIALS) for place in places]
    worker, deadline = None, time.monotonic() + 60
    while worker is None and processes[1].poll() is None and time.monotonic() < deadline:
        time.sleep(0.1)
        below = descendants(processes[1].pid)
        worker = next((pid for pid, line in below.items() if line.startswith("ray::Solver")), None)
    assert worker is not None
    time.sleep(1.0)
    os.kill(worker, signal.SIGKILL)  # as the kernel does when memory runs out
    return [(place, *ended(process)) for place, process in zip(places, processes, strict=True)]


def test_a_search_ends_well(first):
    _, code, _, err = first
    assert code == 0, err
    assert "Traceback" not in err


def test_two_searches_can_run_side_by_side(side_by_side):
    assert [code for _, code, _, _ in side_by_side] == [0, 0]
    assert not any("Traceback" in err for *_, err in side_by_side)


def test_the_same_seed_gives_the_same_layouts(first, side_by_side):
    once, again = layouts(only_run(first[0])), layouts(only_run(side_by_side[0][0]))
    assert once
    assert once == again


def test_a_run_folder_is_whole(first):
    folder = only_run(first[0])
    front = read_record(folder / "pareto.json", FrontRecord)
    run = read_record(folder / "run.json", RunRecord)
    names = {f"{entry.id}.json" for entry in front.layouts}
    assert {path.name for path in folder.iterdir()} == {
        "journal.log", "layouts", "lock", "pareto.json", "progress.json", "run.json",
    }  # fmt: skip
    assert {path.name for path in (folder / "layouts").iterdir()} == names
    assert (run.trials_done, run.trials_failed, run.ended_by, run.seed, run.workers) == (6, 0, "trials", 3, 1)
    assert run.finished is not None
    assert run.started <= run.finished
    assert run.project_text == PIPE
    for kind, paths in {
        "run": [folder / "run.json"],
        "front": [folder / "pareto.json"],
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


def test_a_search_prints_its_front(first):
    place, _, out, err = first
    folder = only_run(place)
    for entry in read_record(folder / "pareto.json", FrontRecord).layouts:
        assert re.search(rf"(?m)^{entry.id} +{entry.objectives['tuning']:.2f}", out)
    assert str(folder) in out.replace("\n", "")
    assert "elapsed" in err


def test_a_worker_killed_in_mid_run_costs_no_trial(first, side_by_side):
    folder = only_run(side_by_side[1][0])
    run = read_record(folder / "run.json", RunRecord)
    assert (run.trials_done, run.trials_failed) == (6, 0)
    assert layouts(folder) == layouts(only_run(first[0]))


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_an_interrupted_search_ends_cleanly(how, project, first, tmp_path, capsys):
    # Ctrl-C reaches the whole process group, as in a terminal.
    process = searching(project, tmp_path, "--minutes", "10", "--workers", "1", "--seed", "3")
    below, deadline = set(), time.monotonic() + 90
    while process.poll() is None and time.monotonic() < deadline:
        time.sleep(0.2)
        below |= set(descendants(process.pid))
        if list(tmp_path.glob("*/pareto.json")):
            break
    assert list(tmp_path.glob("*/pareto.json")), "no layout within 90 s"
    if how == signal.SIGINT:
        os.killpg(process.pid, how)
    else:
        process.send_signal(how)
    asked = time.monotonic()
    code, _, err = ended(process, seconds=40)
    assert time.monotonic() - asked < 25
    assert code == 0, err
    assert "Traceback" not in err
    folder = only_run(tmp_path)
    run = read_record(folder / "run.json", RunRecord)
    assert run.ended_by == {signal.SIGINT: "interrupt", signal.SIGTERM: "termination"}[how]
    assert run.finished is not None
    assert run.trials_done >= 1
    assert layouts(folder)
    assert not list(folder.rglob("*.part"))
    assert main(["show", str(folder)]) == 0
    assert f"ended by {run.ended_by}" in capsys.readouterr().out
    time.sleep(1.0)
    assert alive(below) == []


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


def test_without_an_address_no_other_cluster_is_sought(monkeypatch):
    # A cluster that happens to run on this machine (`ray start`) belongs to someone else, and refuses our settings.
    import ray

    from optimizer.cluster import open_workers

    asked = []

    def init(address=None, **settings):
        asked.append(address)
        raise ConnectionError("stop here")

    monkeypatch.setattr(ray, "init", init)
    with pytest.raises(ConnectionError), open_workers(pipe(PIPE), 1):
        pass
    assert asked == ["local"]
