"""Runs that are killed, refused, full or extended: nothing finished is lost, nothing is done twice, nobody is left.

`HOLEWRIGHT_KILLS` sets how often a run on local workers is killed (default 10); `tests/benchmarks/endurance.py` does so
by the hundred, and on Ray.
"""

import os
import random
import shutil
import time
from contextlib import suppress

import pytest
from commanded import told
from endurance import Endured
from optuna.trial import TrialState
from processes import ended, started, wait_for
from runs import ALONE, finished, only_run
from shelf import PIPE, pipe

from optimizer.project.objectives import OBJECTIVES
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.run import FrontRecord, ProgressRecord, RunRecord
from optimizer.records.sameness import widths
from optimizer.search.lock import RunInUseError, sole_writer
from optimizer.search.pareto import Front
from optimizer.search.run_folder import create_run
from optimizer.search.sampler import FrontSampler
from optimizer.search.study import enqueue_missing, finished_trials, new_study, reopened_study

SAMPLER = FrontSampler(tuple, 1)
FIRST = ({"stretch_share": 1e-4}, {"stretch_share": 1.0})
KILLS, SEED = int(os.environ.get("HOLEWRIGHT_KILLS", 10)), 19302
"""The dice of that seed kill of every kind, and begin the search three times only."""


def whole(folder):
    """Every file of a run folder reads as what it is; ids of the layouts on its front."""
    read_record(folder / "run.json", RunRecord)
    read_record(folder / "progress.json", ProgressRecord)
    front = read_record(folder / "pareto.json", FrontRecord)
    for entry in front.layouts:
        assert read_record(folder / entry.file, LayoutRecord).objectives == entry.objectives
    return {entry.id for entry in front.layouts}


@pytest.fixture(scope="module")
def killed(project, tmp_path_factory):
    """A run through so many kills: its folder, what was seen after each, what was wrong at its end."""
    run = Endured(project, tmp_path_factory.mktemp("killed"), ALONE, random.Random(SEED), pause=0.3)
    kills = [run.killed() for _ in range(KILLS)] + [run.held("driver", 0.5)]
    wrong = run.close()
    return only_run(run.place), kills, wrong


def test_a_killed_run_loses_no_finished_trial_and_repeats_none(killed):
    folder, kills, wrong = killed
    for kill in kills:
        assert (kill.lost, kill.repeated, kill.left, kill.wrong) == (0, 0, 0, []), kill
    assert wrong == []
    assert len({kill.kind for kill in kills}) == 5
    run = read_record(folder / "run.json", RunRecord)
    assert run.ended_by == "termination"
    assert run.trials_done == len(finished(folder)) > kills[-1].before
    assert whole(folder)


def test_a_second_search_on_one_folder_is_refused(killed, capsys):
    folder, _, _ = killed
    with sole_writer(folder):
        code, _, err = told(capsys, "resume", folder, "--trials", "1")
    assert code == 2
    assert f"{folder} is being written by process {os.getpid()}" in " ".join(err.split())
    with sole_writer(folder), pytest.raises(RunInUseError), sole_writer(folder):
        pass


def test_of_two_searches_that_begin_on_one_folder_at_the_same_instant_one_goes_on(killed):
    folder, _, _ = killed
    before = finished(folder)
    both = [started("resume", folder, "--trials", "4", "--workers", "1", "--no-report") for _ in range(2)]
    codes, _, said = zip(*(ended(process) for process in both), strict=True)
    assert sorted(codes) == [0, 2], said
    assert "is being written by process" in " ".join(said[codes.index(2)].split())
    assert before.items() < finished(folder).items()
    assert len(finished(folder)) == len(before) + 4


def test_a_finished_run_can_be_extended(killed, capsys):
    folder, _, _ = killed
    before = len(finished(folder))
    code, _, err = told(capsys, "resume", folder, "--trials", "3", "--workers", "1")
    assert code == 0, err
    assert len(finished(folder)) == before + 3
    assert read_record(folder / "run.json", RunRecord).ended_by == "trials"


def test_a_run_without_gain_ends(killed, capsys):
    folder, _, _ = killed
    begun = time.monotonic()
    code, _, err = told(capsys, "resume", folder, "--idle-minutes", "0.005", "--workers", "1")
    assert code == 0, err
    assert read_record(folder / "run.json", RunRecord).ended_by == "no gain"
    assert time.monotonic() - begun < 110


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


def test_a_trial_asked_for_and_no_more_waits_again(tmp_path):
    journal = tmp_path / "journal.log"
    study = new_study(journal, ("tuning", "stretch"), SAMPLER, FIRST)
    count = len(study.get_trials())
    study.ask()
    again = reopened_study(journal, ("tuning", "stretch"), SAMPLER, {})
    assert len(again.get_trials(states=(TrialState.WAITING,))) == count
    assert finished_trials(again) == (0, 0)


def test_a_trial_under_way_waits_with_its_numbers(tmp_path):
    journal = tmp_path / "journal.log"
    study = new_study(journal, ("tuning", "stretch"), SAMPLER, FIRST)
    trial = study.ask()
    numbers = {"stretch_share": trial.suggest_float("stretch_share", 1e-4, 30.0, log=True)}
    again = reopened_study(journal, ("tuning", "stretch"), SAMPLER, {})
    waiting = [frozen for frozen in again.get_trials() if frozen.state == TrialState.WAITING]
    assert again.get_trials()[0].state == TrialState.FAIL
    assert any(numbers.items() <= frozen.system_attrs["fixed_params"].items() for frozen in waiting)


def test_numbers_of_layouts_that_a_dying_machine_took_from_the_study_are_not_given_out_again(tmp_path, record):
    journal = tmp_path / "journal.log"
    new_study(journal, ("tuning", "stretch"), SAMPLER)
    again = reopened_study(journal, ("tuning", "stretch"), SAMPLER, {"t00004": record})
    assert again.ask().number == 5
    assert finished_trials(again) == (0, 0)


def test_a_trial_is_queued_again_once_however_often_resuming_is_killed(tmp_path):
    journal = tmp_path / "journal.log"
    study = new_study(journal, ("tuning", "stretch"), SAMPLER)
    study.ask().suggest_float("stretch_share", 1e-4, 30.0, log=True)
    reopened_study(journal, ("tuning", "stretch"), SAMPLER, {})
    text = journal.read_text().splitlines(keepends=True)
    journal.write_text("".join(text[:-1]))  # killed before the old one was told
    twice = reopened_study(journal, ("tuning", "stretch"), SAMPLER, {})
    assert len(twice.get_trials(states=(TrialState.WAITING,))) == 1


def test_trials_that_wait_are_not_queued_twice(tmp_path):
    study = new_study(tmp_path / "journal.log", ("tuning", "stretch"), SAMPLER, FIRST[:1])
    enqueue_missing(study, FIRST)
    assert [trial.system_attrs["fixed_params"] for trial in study.get_trials()] == list(FIRST)


def test_a_layout_that_comes_again_under_its_id_keeps_its_file(tmp_path, record):
    folder = create_run(tmp_path, pipe(PIPE), 1, None, 1, 1)
    for tuning in (5.0, 1.0):
        better = record.model_copy(update={"objectives": record.objectives | {"tuning": tuning}, "feasible": True})
        folder.keep(better, better.model_dump_json())
    front = read_record(folder.path / "pareto.json", FrontRecord)
    assert [entry.objectives["tuning"] for entry in front.layouts] == [1.0]
    assert read_record(folder.path / front.layouts[0].file, LayoutRecord).objectives["tuning"] == 1.0


def test_the_hypervolume_is_that_of_boxes():
    # One point at half of each side dominates a quarter; a second at (0.25, 0.75) adds 0.25 x 0.25.
    front = Front(widths(("tuning", "stretch"), None))
    assert front.hypervolume() == 0.0
    front.offer("a", {name: 0.5 * OBJECTIVES[name].reference for name in front.names})
    assert front.hypervolume() == pytest.approx(0.25)
    front.offer(
        "b", {"tuning": 0.25 * OBJECTIVES["tuning"].reference, "stretch": 0.75 * OBJECTIVES["stretch"].reference}
    )
    assert front.hypervolume() == pytest.approx(0.3125)
