"""The driver's loop with stand-ins for workers, and what a trial costs it."""

import itertools
import threading
import time
from datetime import datetime, timedelta

import commanded
import optuna
import pytest
from optuna.storages import JournalStorage
from optuna.storages.journal import JournalFileBackend
from processes import wait_for
from runs import finished, only_run
from shelf import PIPE, pipe
from stand_in_clock import Clock

from optimizer.records.files import read_record
from optimizer.records.run import ProgressRecord
from optimizer.search import driver as driver_module
from optimizer.search import run_folder
from optimizer.search.driver import Driver, SearchError
from optimizer.search.journal import Journal
from optimizer.search.outer_level import Asking
from optimizer.search.proposals import opening
from optimizer.search.run_folder import create_run
from optimizer.search.sampler import FrontSampler
from optimizer.search.search_limits import Limits
from optimizer.search.study import finished_trials, new_study, tell_failure

NAMES = ("tuning", "stretch")


class SilentWorkers:
    """Workers that take two trials, fail one and never come back with the other."""

    count, kind, trouble = 1, "local", ""

    def __init__(self):
        self.held = []

    def free(self):
        return len(self.held) < 2

    def busy(self):
        return self.held

    def submit(self, proposal):
        self.held.append(proposal.number)

    def finished(self, patience):
        time.sleep(min(patience, 0.05))
        if 0 in self.held and len(self.held) == 2:
            self.held.remove(0)
            yield 0, "it went wrong"


@pytest.mark.parametrize("idle_minutes", [None, 5.0])
def test_a_search_without_a_limit_of_time_waits_for_a_trial_no_longer_than_told(idle_minutes, tmp_path, monkeypatch):
    monkeypatch.setattr(driver_module, "SILENT_SECONDS", 0.6)
    loaded = pipe(PIPE)
    folder, asking = create_run(tmp_path, loaded, 1, None, 2, 1), Asking(loaded, 1)
    study = new_study(folder.journal, folder.front.names, asking.sampler, opening(asking.questions))
    limits, begun = Limits(None, 2, 1, 1, idle_minutes), time.monotonic()
    driver = Driver(folder, study, asking, SilentWorkers(), limits, lambda _: None, begun)
    with pytest.raises(SearchError, match=f"trials under way: 1; .*holewright resume {folder.path}"):
        driver.run(lambda: "termination" if time.monotonic() > begun + 20 else None)
    assert driver.failed == 1
    assert time.monotonic() - begun > 0.6


def test_a_search_whose_results_are_removed_says_so_and_makes_none_anew(project, tmp_path, capsys):
    results, found = tmp_path / "results", []

    def removed():
        if wait_for(lambda: any(finished(path.parent) for path in results.glob("*/journal.log"))):
            found.append(only_run(results))
            results.rename(tmp_path / "away")

    removes = threading.Thread(target=removed)
    removes.start()
    code, _, err = commanded.told(capsys, "search", project, "--results", results, "--minutes", "5", "--workers", "1")
    removes.join()
    (folder,) = found
    assert code == 2
    assert "Traceback" not in err
    assert f"{folder}, or a file in it, was removed while the search wrote to it" in " ".join(err.split())
    assert not results.exists()


def test_a_folder_that_was_removed_is_made_anew_by_no_write(tmp_path, record):
    folder = create_run(tmp_path / "results", pipe(PIPE), 1, None, 1, 1)
    asking = Asking(pipe(PIPE), 1)
    study = new_study(folder.journal, folder.front.names, asking.sampler)
    driver = Driver(folder, study, asking, SilentWorkers(), Limits(None, 1, 1, 1), lambda _: None, 0.0)
    (tmp_path / "results").rename(tmp_path / "away")
    for write in (
        lambda: folder.keep(record.model_copy(update={"feasible": True}), record.model_dump_json()),
        lambda: folder.note_progress(driver.progress(None)),
        lambda: folder.close(driver.progress("termination")),
        study.ask,
    ):
        with pytest.raises(FileNotFoundError):
            write()
        assert not (tmp_path / "results").exists()


@pytest.fixture
def study(tmp_path):
    """A study of a journal with two trials that wait."""
    first = ({"share": 0.5}, {"share": 0.25})
    return new_study(tmp_path / "journal.log", NAMES, FrontSampler(tuple, 1), first)


def told(study):
    """The share of a trial asked for and told."""
    trial = study.ask()
    share = trial.suggest_float("share", 0.0, 1.0), trial.suggest_categorical("kind", ("wide", "narrow"))
    study.tell(trial, share[:1] * 2)
    return share[0]


def test_asking_looks_through_earlier_trials_only_while_one_waits(study, monkeypatch):
    looks, look = [], JournalStorage.get_all_trials

    def counted(*given, **named):
        looks.append(given)
        return look(*given, **named)

    monkeypatch.setattr(JournalStorage, "get_all_trials", counted)
    assert [told(study), told(study)] == [0.5, 0.25]
    told(study)
    looks.clear()
    for _ in range(5):
        told(study)
    assert looks == []
    study.enqueue_trial({"share": 0.125})
    assert told(study) == 0.125


def test_the_driver_knows_of_its_journal_what_optuna_reads_in_the_file(study, tmp_path):
    first = study.ask()
    for _ in range(4):
        told(study)
    tell_failure(study, study.ask(), "it went wrong")
    study.ask()
    backend = JournalFileBackend(str(tmp_path / "journal.log"))
    entries, storage = list(backend.read_logs(0)), JournalStorage(backend)
    read = optuna.load_study(study_name=None, storage=storage)
    assert study.get_trials() == read.get_trials()
    assert len(study.get_trials()) == 7
    assert list(Journal(tmp_path / "journal.log").read_logs(0)) == entries
    study.tell(first, (1.0, 2.0))
    assert study.ask().number == 7
    assert study.get_trials() == read.get_trials()[6:]  # the oldest that is not finished, and later ones
    assert finished_trials(study) == finished_trials(read) == (5, 1)


class SlowWorkers:
    """A worker by a stand-in clock: each trial takes so many seconds, and comes back as the failure that it is, or
    never."""

    count, kind, trouble = 1, "local", ""

    def __init__(self, clock, seconds):
        self.clock, self.seconds, self.held, self.begun = clock, seconds, [], 0.0

    def free(self):
        """Whether it has no trial."""
        return not self.held

    def busy(self):
        """Its trial."""
        return self.held

    def submit(self, proposal):
        """Take a trial."""
        self.held, self.begun = [proposal.number], self.clock()

    def finished(self, patience):
        """Its trial, once the clock says so."""
        self.clock.now += patience
        if self.held and self.clock() - self.begun >= self.seconds:
            number, self.held = self.held[0], []
            yield number, "it went wrong"


def driven(place, monkeypatch, limits, workers, earlier=3):
    """How a search after so many earlier trials ended, seconds it took, and how many trials it asked for; workers: made
    with its clock."""
    loaded = pipe(PIPE)
    folder, asking = create_run(place, loaded, 1, None, 2, 1), Asking(loaded, 1)
    study = new_study(folder.journal, folder.front.names, asking.sampler, opening(asking.questions))
    folder.earlier = (earlier, 0)
    monkeypatch.setattr(driver_module, "MAX_FAILURES", 10**6)
    monkeypatch.setattr(folder, "note_progress", lambda progress: None)
    clock = Clock(monkeypatch)
    begun = clock()
    driver = Driver(folder, study, asking, workers(clock), limits, lambda _: None, begun)
    return driver.run(lambda: None), clock() - begun, driver.asked


@pytest.mark.parametrize("earlier", [0, 3])
@pytest.mark.parametrize("seconds", [2.0, 7.0, 1e9])
@pytest.mark.parametrize("minutes", [0.5, 5.0])
def test_minutes_are_kept_but_by_a_search_without_any_layout(minutes, seconds, earlier, tmp_path, monkeypatch):
    # A tenth or 5 s, whichever is more: of half a minute 5 s, of five minutes 30 s.
    limits = Limits(minutes, None, 1, 1)
    ended, took, _ = driven(tmp_path, monkeypatch, limits, lambda clock: SlowWorkers(clock, seconds), earlier)
    over = took - 60.0 * minutes
    assert ended == "time"
    if earlier:
        assert over <= max(5.0, 6.0 * minutes)
        assert over >= -7.0
    else:
        assert over == pytest.approx(driver_module.FIRST_SECONDS, abs=1.0)


def test_no_trial_is_begun_that_takes_longer_than_is_left(tmp_path, monkeypatch):
    # Four of 125 s end by 500 s of ten minutes; a fifth would by 625 s, when none is waited for any more.
    limits = Limits(10.0, None, 1, 1)
    ended, _, asked = driven(tmp_path, monkeypatch, limits, lambda clock: SlowWorkers(clock, 125.0))
    assert (ended, asked) == ("time", 4)


class HeldWorkers(SlowWorkers):
    """A worker whose trials take two seconds; at the third it, or the driver with it, is held still for so long."""

    def __init__(self, clock, still, driver_too):
        super().__init__(clock, 2.0)
        self.still, self.driver_too, self.given = still, driver_too, 0

    def submit(self, proposal):
        """Take a trial."""
        super().submit(proposal)
        self.given += 1
        self.seconds = self.still + 2.0 if self.given == 3 else 2.0

    def finished(self, patience):
        """Its trial, once the clock says so."""
        if self.given == 3 and self.driver_too:
            self.clock.now += self.still
            self.driver_too = False
        yield from super().finished(patience)


def test_a_search_that_was_held_still_for_hours_waits_for_its_trials_again(tmp_path, monkeypatch):
    # 10 minutes without any trial would end it.
    limits = Limits(None, 6, 1, 1)
    ended, _, asked = driven(tmp_path, monkeypatch, limits, lambda clock: HeldWorkers(clock, 7200.0, True))
    assert (ended, asked) == ("trials", 6)


@pytest.mark.parametrize("driver_too", [False, True])
def test_one_trial_that_was_held_still_ends_a_search_no_sooner(driver_too, tmp_path, monkeypatch):
    limits = Limits(1.0, None, 1, 1)
    ended, seconds, asked = driven(tmp_path, monkeypatch, limits, lambda clock: HeldWorkers(clock, 40.0, driver_too))
    assert ended == "time"
    assert seconds >= 55.0
    assert asked >= (60.0 - 40.0) / 2.5 - 2


class JumpingWall(datetime):
    """The clock on the wall, put forward and back by an hour and a day whenever it is looked at."""

    jumps = itertools.cycle((3600.0, -3600.0, 86400.0, -86400.0, 0.0))

    @classmethod
    def now(cls, tz=None):
        """Some time of day."""
        return datetime.now(tz) + timedelta(seconds=next(cls.jumps))


def told_of(place, monkeypatch):
    """All that a search of twelve seconds, whose trials fail after two seconds, tells of its progress."""
    loaded, statuses = pipe(PIPE), []
    folder, asking = create_run(place, loaded, 1, None, 2, 1), Asking(loaded, 1)
    study = new_study(folder.journal, folder.front.names, asking.sampler, opening(asking.questions))
    folder.earlier = (3, 0)
    monkeypatch.setattr(driver_module, "MAX_FAILURES", 10**6)
    clock = Clock(monkeypatch)
    workers, limits = SlowWorkers(clock, 2.0), Limits(0.2, None, 1, 1, 5.0)
    driver = Driver(folder, study, asking, workers, limits, statuses.append, clock())
    ended = driver.run(lambda: None)
    driver.close(ended)
    record = read_record(folder.path / "progress.json", ProgressRecord)
    return ended, record.elapsed_seconds, [(one.elapsed, one.failed, one.seconds_left, one.rate) for one in statuses]


def test_a_clock_that_is_put_forward_and_back_changes_nothing(tmp_path, monkeypatch):
    with monkeypatch.context() as patched:
        before = told_of(tmp_path / "still", patched)
    wall = time.time
    monkeypatch.setattr(run_folder, "datetime", JumpingWall)
    monkeypatch.setattr(time, "time", lambda: wall() + next(JumpingWall.jumps))
    assert told_of(tmp_path / "jumping", monkeypatch) == before
    assert before[0] == "time"
    assert len(before[2]) > 20
