"""Runs that are killed, refused, full or extended: nothing finished is lost, nothing is done twice, nobody is left.

`HOLEWRIGHT_KILLS` sets how many random moments the driver is killed at (default 1; at more, it solves by itself now and
then, and at more than 3 so does Ray).
"""

import errno
import itertools
import os
import random
import resource
import signal
import time
from itertools import pairwise

import pytest
from commanded import told
from optuna.trial import TrialState
from processes import alive, descendants, ended, started, wait_for
from runs import ALONE, WAYS, finished, trials
from shelf import PIPE, pipe

from optimizer.project.objectives import OBJECTIVES
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.run import FrontRecord, ProgressRecord, RunRecord
from optimizer.records.sameness import widths
from optimizer.search.lock import RunInUseError, sole_writer
from optimizer.search.pareto import Front
from optimizer.search.run_folder import RunFolder, create_run
from optimizer.search.sampler import FrontSampler
from optimizer.search.study import enqueue_missing, finished_trials, new_study, reopened_study

SAMPLER = FrontSampler(tuple, 1)
FIRST = ({"stretch_share": 1e-4}, {"stretch_share": 1.0})
KILLS = int(os.environ.get("HOLEWRIGHT_KILLS", 1))
SOLVING = ("local workers",) if KILLS == 1 else ALONE if KILLS <= 3 else tuple(WAYS)


def trials_of(folder, state):
    """The trials of a run in a state."""
    return [trial for trial in trials(folder) if trial.state == state]


def broken_limits(trial):
    """By how much a trial broke what must hold."""
    marks = [value for name, value in trial.system_attrs.items() if name.startswith("constraints")]
    assert len(marks) == 2
    return max(marks)


def whole(folder):
    """Every file of a run folder reads as what it is; ids of the layouts on its front."""
    read_record(folder / "run.json", RunRecord)
    read_record(folder / "progress.json", ProgressRecord)
    front = read_record(folder / "pareto.json", FrontRecord)
    for entry in front.layouts:
        assert read_record(folder / entry.file, LayoutRecord).objectives == entry.objectives
    return {entry.id for entry in front.layouts}


@pytest.fixture(params=SOLVING)
def way(request):
    """Every way to solve."""
    return WAYS[request.param]


@pytest.fixture(scope="module")
def killed(project, tmp_path_factory):
    """A run whose driver was killed at random moments and resumed each time, every time with others to solve: folder,
    history of finished trials, what it said last."""
    dice, place, history = random.Random(4), tmp_path_factory.mktemp("killed"), [{}]
    ways = itertools.cycle(WAYS[name] for name in SOLVING)

    def begun(*words):
        options, environment, _ = next(ways)
        return started(*words, "--minutes", "30", *options, **environment)

    process = begun("search", project, "--results", place)
    for _ in range(KILLS):
        assert wait_for(lambda: list(place.glob("*/progress.json")))
        folder = next(iter(place.iterdir()))
        before = len(history[-1])
        assert wait_for(lambda: len(finished(folder)) > before), process.communicate(timeout=1)  # noqa: B023
        time.sleep(dice.uniform(0.0, 2.0))
        below = set(descendants(process.pid))
        os.kill(process.pid, signal.SIGKILL)
        process.communicate()
        assert wait_for(lambda: not alive(below), 30), "orphans"  # noqa: B023
        history.append(finished(folder))
        process = begun("resume", folder)
    assert wait_for(lambda: len(finished(folder)) > len(history[-1]))
    process.send_signal(signal.SIGTERM)
    code, out, err = ended(process)
    assert code == 0, err
    history.append(finished(folder))
    return folder, history, out + err


def test_a_killed_run_loses_no_finished_trial(killed):
    folder, history, _ = killed
    for before, after in pairwise(history):
        assert before.items() <= after.items()
        assert len(after) > len(before)
    run = read_record(folder / "run.json", RunRecord)
    assert 1 <= len(run.resumed) <= KILLS  # a start killed before it took up the folder leaves no trace
    assert run.ended_by == "termination"
    assert run.trials_done == len(history[-1])


def test_a_killed_run_ends_with_the_front_of_all_its_trials(killed):
    # Every finished trial that broke no limit is on the front, or a layout on it beats or matches it within the
    # thinning's box.
    folder, history, said = killed
    ids = whole(folder)
    assert {path.stem for path in (folder / "layouts").iterdir()} == ids
    assert not list(folder.rglob("*.part"))
    assert "finished trial" in said
    front = read_record(folder / "pareto.json", FrontRecord)
    archive = Front(front.thinned_to)
    for entry in front.layouts:
        assert archive.offer(entry.id, entry.objectives)[0]
    sound = [trial for trial in trials_of(folder, TrialState.COMPLETE) if broken_limits(trial) <= 0.0]
    assert len(sound) >= len(ids)
    for trial in sound:
        assert not archive.offer("other", dict(zip(front.objectives, trial.values, strict=True)))[0]
    assert len(trials_of(folder, TrialState.COMPLETE)) == len(history[-1])


def test_a_second_search_on_one_folder_is_refused(killed, capsys):
    folder, _, _ = killed
    with sole_writer(folder):
        code, _, err = told(capsys, "resume", folder, "--trials", "1")
    assert code == 2
    assert f"{folder} is being written by process {os.getpid()}" in " ".join(err.split())
    with sole_writer(folder), pytest.raises(RunInUseError), sole_writer(folder):
        pass


def test_a_finished_run_can_be_extended(killed, capsys):
    folder, history, _ = killed
    code, _, err = told(capsys, "resume", folder, "--trials", "3", "--workers", "1")
    assert code == 0, err
    assert len(finished(folder)) == len(history[-1]) + 3
    assert read_record(folder / "run.json", RunRecord).ended_by == "trials"


def test_a_run_without_gain_ends(killed, capsys):
    folder, _, _ = killed
    begun = time.monotonic()
    code, _, err = told(capsys, "resume", folder, "--idle-minutes", "0.005", "--workers", "1")
    assert code == 0, err
    assert read_record(folder / "run.json", RunRecord).ended_by == "no gain"
    assert time.monotonic() - begun < 110


def test_a_full_disk_stops_a_run_with_a_sentence_and_an_intact_folder(way, project, tmp_path, capsys):
    # Files that the driver writes may grow no further than the journal is, as on a full disk.
    process = started("search", project, "--results", tmp_path, "--minutes", "5", *way.options, **way.environment)
    assert wait_for(lambda: any(finished(path.parent) for path in tmp_path.glob("*/journal.log")))
    size = next(tmp_path.glob("*/journal.log")).stat().st_size
    resource.prlimit(process.pid, resource.RLIMIT_FSIZE, (size + 100, resource.RLIM_INFINITY))
    code, _, err = ended(process)
    assert code == 2, err
    assert "Traceback" not in err
    assert "the search could not go on" in err
    folder = next(path for path in tmp_path.iterdir() if path.is_dir())
    assert whole(folder)
    assert not list(folder.rglob("*.part"))
    done = len(finished(folder))
    code, _, err = told(capsys, "resume", folder, "--trials", "2", "--workers", "1")
    assert code == 0, err
    assert len(finished(folder)) >= done + 2


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
