"""Runs that are killed, refused, full or extended: nothing finished is lost, nothing is done twice, nobody is left.

`HOLEWRIGHT_KILLS` sets how often one run is killed (default 10); `tests/benchmarks/endurance.py` kills by the hundred,
and on Ray.
"""

import errno
import itertools
import os
import random
import time

import pytest
from commanded import told
from endurance import Endured, looked_at
from optuna.trial import TrialState
from runs import ALONE, finished, only_run
from shelf import PIPE, pipe

from optimizer.project.objectives import OBJECTIVES
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.run import FrontRecord, ProgressRecord, RunRecord
from optimizer.records.sameness import widths
from optimizer.search import run_folder
from optimizer.search.journal import Journal
from optimizer.search.lock import RunInUseError, sole_writer
from optimizer.search.pareto import Front
from optimizer.search.run_folder import RunFolder, create_run
from optimizer.search.runs import Limits, search
from optimizer.search.sampler import FrontSampler
from optimizer.search.study import enqueue_missing, finished_trials, new_study, reopened_study

SAMPLER = FrontSampler(tuple, 1)
FIRST = ({"stretch_share": 1e-4}, {"stretch_share": 1.0})
KILLS, SEED = int(os.environ.get("HOLEWRIGHT_KILLS", 10)), 2392
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
    kills = [run.held("driver", 0.5), *(run.killed() for _ in range(KILLS))]
    wrong = run.close()
    return only_run(run.place), kills, wrong


def test_a_killed_run_loses_no_finished_trial_and_repeats_none(killed):
    folder, kills, wrong = killed
    for kill in kills:
        assert (kill.lost, kill.repeated, kill.left, kill.wrong) == (0, 0, 0, []), kill
    assert wrong == []
    assert len({kill.kind for kill in kills}) == 5
    assert len(finished(folder)) >= kills[-1].before > KILLS
    assert len(finished(folder)) >= read_record(folder / "run.json", RunRecord).trials_done > 0
    assert whole(folder)


def test_a_second_search_on_one_folder_is_refused(killed, capsys):
    folder, _, _ = killed
    with sole_writer(folder):
        code, _, err = told(capsys, "resume", folder, "--trials", "1")
    assert code == 2
    assert f"{folder} is being written by process {os.getpid()}" in " ".join(err.split())
    with sole_writer(folder), pytest.raises(RunInUseError), sole_writer(folder):
        pass


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


def test_a_folder_that_takes_no_more_files_stops_a_run_with_a_sentence(killed, monkeypatch, capsys):
    def refused(folder, *_):
        raise PermissionError(errno.EACCES, "Permission denied", str(folder.path / "progress.json"))

    folder, _, _ = killed
    with monkeypatch.context() as patched:
        patched.setattr(RunFolder, "note_progress", refused)
        code, _, err = told(capsys, "resume", folder, "--trials", "2", "--workers", "1")
    assert code == 2
    assert "cannot be written to: Permission denied" in " ".join(err.split())
    code, _, err = told(capsys, "resume", folder, "--trials", "2", "--workers", "1")
    assert code == 0, err


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


def test_first_trials_under_way_at_a_kill_wait_again_once(tmp_path):
    journal = tmp_path / "journal.log"
    study = new_study(journal, ("tuning", "stretch"), SAMPLER, FIRST)
    for _ in FIRST:
        study.ask().suggest_float("size", 0.0, 1.0)
    again = reopened_study(journal, ("tuning", "stretch"), SAMPLER, {})
    enqueue_missing(again, FIRST)
    waiting = [one.system_attrs["fixed_params"] for one in again.get_trials(states=(TrialState.WAITING,))]
    assert [one["stretch_share"] for one in waiting] == [one["stretch_share"] for one in FIRST]


@pytest.mark.parametrize(("of", "name"), [(run_folder, "write_text"), (Journal, "settle_first")])
def test_a_second_interrupt_in_the_middle_of_a_write_costs_nothing_that_was_finished(of, name, tmp_path, monkeypatch):
    whole, times = getattr(of, name), itertools.count(1)

    def interrupted(*given):
        if next(times) == 2:
            raise KeyboardInterrupt
        whole(*given)

    with monkeypatch.context() as patched:
        patched.setattr(of, name, interrupted)
        folder = search(pipe(PIPE), Limits(None, 30, 1, 1), tmp_path, lambda status: None).path
    assert read_record(folder / "run.json", RunRecord).ended_by == "interrupt"
    front = read_record(folder / "pareto.json", FrontRecord)
    assert {path.stem for path in (folder / "layouts").iterdir()} == {entry.id for entry in front.layouts}
    _, lost, repeated, wrong = looked_at(folder, finished(folder))
    assert (lost, repeated, wrong) == (0, 0, [])


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
