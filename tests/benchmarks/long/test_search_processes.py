"""Searches as processes of their own: side by side, with a worker killed, interrupted at work and while they start, and
in a folder made read-only."""

import os
import shutil
import signal
import time
from contextlib import suppress

import pytest
from commanded import told
from interruptions import interrupted, whole_after
from processes import PATIENCE, alive, descendants, ended, started, wait_for
from runs import ALONE, WAYS, finished, only_run, workers_of

from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.run import FrontRecord, ProgressRecord, RunRecord

TRIALS = ["--trials", "6", "--seed", "3", "--workers", "1"]


def searching(project, results, *options):
    """A search as its own process."""
    return started("search", project, "--results", results, *options)


@pytest.fixture(scope="module")
def side_by_side(project, tmp_path_factory):
    """The same search twice, both at once: results folder, exit code, output and messages of each."""
    places = [tmp_path_factory.mktemp(name) for name in ("first", "second")]
    both = [searching(project, place, *TRIALS) for place in places]
    return [(place, *ended(process)) for place, process in zip(places, both, strict=True)]


def test_two_searches_can_run_side_by_side(side_by_side):
    assert [code for _, code, *_ in side_by_side] == [0, 0]
    assert not any("Traceback" in err for *_, err in side_by_side)


def test_a_local_worker_killed_in_mid_run_costs_no_trial(project, tmp_path):
    process = searching(project, tmp_path, "--minutes", "30", "--workers", "2")
    assert wait_for(lambda: len(workers_of(process)) == 2 and finished(only_run(tmp_path)))
    for _ in range(2):
        worker, other = workers_of(process)
        before = len(finished(only_run(tmp_path)))
        os.kill(worker, signal.SIGKILL)
        assert wait_for(lambda: len(set(workers_of(process)) - {worker}) == 2)  # noqa: B023
        assert other in workers_of(process)
        assert wait_for(lambda: len(finished(only_run(tmp_path))) >= before + 2)  # noqa: B023
    process.send_signal(signal.SIGTERM)
    code, _, err = ended(process)
    assert code == 0, err
    run = read_record(only_run(tmp_path) / "run.json", RunRecord)
    assert (run.trials_done, run.trials_failed, run.workers) == (len(finished(only_run(tmp_path))), 0, 2)


@pytest.mark.parametrize("way", ALONE)
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_an_interrupted_search_ends_cleanly(how, way, project, tmp_path, capsys):
    # One by Ray's workers: in test_own_ray.py and test_cluster.py.
    options, environment, pool = WAYS[way]
    process = started("search", project, "--results", tmp_path, "--minutes", "10", *options, **environment)
    workers = 0 if way == "the driver itself" else int(options[1])
    assert wait_for(lambda: len(workers_of(process)) == workers and list(tmp_path.glob("*/pareto.json")))
    code, err = interrupted(process, how, tmp_path, workers + 1)
    assert code == 0, err
    assert "Traceback" not in err
    whole_after(how, tmp_path, pool, capsys)


def test_a_search_interrupted_while_its_workers_start_ends_cleanly(project, tmp_path):
    process = searching(project, tmp_path, "--minutes", "10", "--workers", "2")
    assert wait_for(lambda: workers_of(process))
    below = set(descendants(process.pid))
    os.killpg(process.pid, signal.SIGINT)
    code, _, err = ended(process, seconds=PATIENCE)
    assert code in (0, 1), err
    assert "Traceback" not in err
    assert read_record(only_run(tmp_path) / "run.json", RunRecord).ended_by == "interrupt"
    assert wait_for(lambda: not alive(below), 5)


def whole(folder):
    """Every file of a run folder reads as what it is; ids of the layouts on its front."""
    read_record(folder / "run.json", RunRecord)
    read_record(folder / "progress.json", ProgressRecord)
    front = read_record(folder / "pareto.json", FrontRecord)
    for entry in front.layouts:
        assert read_record(folder / entry.file, LayoutRecord).objectives == entry.objectives
    return {entry.id for entry in front.layouts}


def test_a_folder_made_read_only_stops_a_run_with_a_sentence(project, tmp_path, capsys):
    # Permission bits bind root, too, once it has given up its power to pass over them: setpriv starts the search so.
    powerless = ("setpriv", "--bounding-set=-dac_override,-dac_read_search") if os.geteuid() == 0 else ()
    if powerless and not shutil.which("setpriv"):
        pytest.skip("run by root, and there is no setpriv to give up root's power over permission bits")
    process = started("search", project, "--results", tmp_path, "--minutes", "5", "--workers", "1", under=powerless)
    assert wait_for(lambda: any(finished(path.parent) for path in tmp_path.glob("*/journal.log")))
    folder = next(path for path in tmp_path.iterdir() if path.is_dir())
    modes = {path: path.stat().st_mode for path in [folder, *folder.rglob("*")]}
    for path, mode in modes.items():
        with suppress(FileNotFoundError):  # a file that just moved into place
            path.chmod(mode & ~0o222)
    begun = time.monotonic()
    try:
        code, _, err = ended(process)
    finally:
        for path in [folder, *folder.rglob("*")]:
            path.chmod(modes.get(path, 0o644) | 0o200)
    assert time.monotonic() - begun < 60
    assert code == 2, err
    assert "Traceback" not in err
    assert f"{folder} cannot be written to: Permission denied" in err
    assert whole(folder)
    before = finished(folder)
    code, _, err = told(capsys, "resume", folder, "--trials", "2", "--workers", "1")
    assert code == 0, err
    assert before.items() <= finished(folder).items()
    assert len(finished(folder)) >= len(before) + 2


def test_of_two_searches_that_begin_on_one_folder_at_the_same_instant_one_goes_on(side_by_side):
    folder = only_run(side_by_side[0][0])
    before = finished(folder)
    both = [started("resume", folder, "--trials", "4", "--workers", "1", "--no-report") for _ in range(2)]
    codes, _, said = zip(*(ended(process) for process in both), strict=True)
    assert sorted(codes) == [0, 2], said
    assert "is being written by process" in " ".join(said[codes.index(2)].split())
    assert before.items() < finished(folder).items()
    assert len(finished(folder)) == len(before) + 4
