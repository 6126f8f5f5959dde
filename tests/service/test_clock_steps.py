"""A clock that is set while searches run and wait, as on a machine that asks for the time after it has begun.

A step moves three things on Linux: what the time of day is, that of files written from then on, and when every process
began, which the kernel tells in ticks since the machine started (proc(5), `btime` and field 22 of `stat`).
"""

import os
import time
from datetime import UTC, datetime, timedelta

import psutil
import pytest
from made_records import layout, run_folder
from processes import wait_for
from served import PROJECTS, being_written, with_ticket
from shelf import progress

from optimizer.records.files import write_record
from optimizer.search.birth import birth_of
from optimizer.search.lock import sole_writer
from optimizer.service import launching
from optimizer.service.queue import Queue
from optimizer.service.settings import Settings
from optimizer.service.shelf import Shelf
from optimizer.service.tickets import new_ticket, read_ticket
from optimizer.service.writers import SILENT_SECONDS, written_elsewhere

HOURS = (-24.0, -1.0, 1.0, 24.0)
DONE = "2026-11-02T10:01:00+00:00"
LASTS, FAILS = "import time; time.sleep(60)", "raise SystemExit('no room')"
ENDS = """
import json, sys
path = sys.argv[2] + "/run.json"
run = json.load(open(path))
run |= {"resumed": [*run["resumed"], TIME], "finished": TIME, "ended_by": "trials"}
json.dump(run, open(path, "w"))
"""


@pytest.fixture
def stepped(monkeypatch):
    """Set the clock by so many hours."""
    created, told = psutil.Process.create_time, time.time

    def step(hours):
        monkeypatch.setattr(psutil.Process, "create_time", lambda process: created(process) + 3600.0 * hours)
        monkeypatch.setattr(time, "time", lambda: told() + 3600.0 * hours)

    return step


@pytest.fixture
def queue(tmp_path):
    """A queue that starts what waits; what it started ends with it."""
    settings = Settings(results=tmp_path, projects=PROJECTS, running_most=1, closing_seconds=0.2)
    queue = Queue(settings, Shelf(settings))
    yield queue
    for child in queue._children:
        child.kill()
        child.wait(30)


@pytest.mark.parametrize("hours", HOURS)
def test_a_search_that_runs_is_seen_after_a_step(queue, tmp_path, stepped, hours):
    folder = run_folder(tmp_path / "pipe", [layout()])
    with sole_writer(folder):
        stepped(hours)
        assert queue.shelf.state("pipe") == "running"


@pytest.mark.parametrize("hours", HOURS)
def test_a_process_that_the_queue_started_is_known_after_a_step(queue, tmp_path, monkeypatch, stepped, hours):
    monkeypatch.setattr(launching, "COMMAND", LASTS)
    folder = with_ticket(run_folder(tmp_path / "pipe", [layout()]), state="waiting")
    queue.look()
    stepped(hours)
    queue.look()
    assert read_ticket(folder).alive
    assert (read_ticket(folder).state, queue.shelf.state("pipe")) == ("started", "starting")


def test_another_process_of_the_same_number_is_told_from_it(queue, tmp_path):
    folder = being_written(run_folder(tmp_path / "pipe", [layout()]))
    for birth, state in ((birth_of(os.getpid()), "running"), (birth_of(os.getppid()), "stopped")):
        note = (folder / "lock").read_text().removesuffix("}")
        (folder / "lock").write_text(f'{note}, "birth": "{birth}"}}')
        assert queue.shelf.state("pipe") == state


def resumed(queue, hours):
    """The folder of a run that had ended, resumed in a queue whose clock was set by so many hours since."""
    begun = datetime.fromisoformat(DONE) + timedelta(hours=hours)
    folder = run_folder(queue.settings.results / "pipe", [layout()], finished=DONE)
    queue.resume("pipe", new_ticket(trials=1, asked=begun.isoformat(timespec="seconds")))
    queue.look()
    return folder


@pytest.mark.parametrize("hours", HOURS)
def test_a_resumed_run_starts_until_it_ends_anew(queue, monkeypatch, hours):
    monkeypatch.setattr(launching, "COMMAND", LASTS)
    resumed(queue, hours)
    assert queue.shelf.state("pipe") == "starting"


@pytest.mark.parametrize("hours", [*HOURS, 0.0])
def test_a_resumed_run_that_ended_is_done_by_whatever_clock(queue, monkeypatch, hours):
    ended = (datetime.fromisoformat(DONE) + timedelta(hours=hours)).astimezone(UTC).isoformat(timespec="seconds")
    monkeypatch.setattr(launching, "COMMAND", ENDS.replace("TIME", repr(ended)))
    folder = resumed(queue, 0.0)
    assert wait_for(lambda: not read_ticket(folder).alive)
    queue.look()
    assert (read_ticket(folder).state, queue.shelf.state("pipe")) == ("done", "ended")


@pytest.mark.parametrize("hours", HOURS)
def test_a_resumed_run_that_could_not_begin_failed_by_whatever_clock(queue, monkeypatch, hours):
    monkeypatch.setattr(launching, "COMMAND", FAILS)
    folder = resumed(queue, hours)
    assert wait_for(lambda: not read_ticket(folder).alive)
    queue.look()
    assert read_ticket(folder).message == "no room"
    assert queue.shelf.state("pipe") == "failed"


def test_who_comes_after_the_clock_was_set_back_waits_behind_the_others(queue, tmp_path, stepped):
    for name, hours in (("first", 0.0), ("second", -1.0), ("third", -24.0), ("fourth", 1.0)):
        stepped(hours)
        run_folder(tmp_path / name, [layout()], finished=DONE)
        queue.resume(name, new_ticket(trials=1))
    assert queue.waiting() == ["first", "second", "third", "fourth"]


@pytest.mark.parametrize("hours", [*HOURS, 0.0])
def test_a_search_of_another_machine_goes_on_as_long_as_it_writes_by_whatever_clock(tmp_path, monkeypatch, hours):
    now = [1000.0]
    monkeypatch.setattr(time, "monotonic", lambda: now[0])
    folder = being_written(run_folder(tmp_path / "afar", [layout()]), os.getpid(), "another host")
    write_record(folder / "progress.json", progress(None))
    written = time.time() + 3600.0 * hours

    def noted(seconds):
        os.utime(folder / "progress.json", (written + seconds, written + seconds))

    noted(0.0)
    assert written_elsewhere(folder) == (hours == 0.0)  # nothing else is known at the first look
    for _ in range(3):
        now[0] += 2.0
        noted(now[0] - 1000.0)
        assert written_elsewhere(folder)
    now[0] += SILENT_SECONDS - 1.0
    assert written_elsewhere(folder)
    now[0] += 2.0
    assert not written_elsewhere(folder)
