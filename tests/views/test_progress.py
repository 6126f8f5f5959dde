"""The progress line: what a watcher reads at each stage of a search."""

import io
import os

import pytest

from optimizer.records.run import FrontEntry
from optimizer.search.driver import Status
from optimizer.search.search_limits import Limits
from optimizer.views.progress import ProgressLine, describe
from optimizer.words import clock

LIMITS = Limits(minutes=2.0, trials=None, workers=None, seed=1)


def status(**changes):
    plain = {"elapsed": 30.0, "limits": LIMITS, "done": 0, "failed": 0, "workers": 2, "front": 0, "best": {},
             "nearest": None, "first_after": None}  # fmt: skip
    return Status(**{**plain, **changes})


def test_the_clock_reads_as_clocks_do():
    assert [clock(seconds) for seconds in (0, 5, 65, 3599, 3600, 7325)] == [
        "0:00", "0:05", "1:05", "59:59", "1:00:00", "2:02:05",
    ]  # fmt: skip


def test_before_the_first_trial_it_says_what_it_waits_for():
    assert describe(status()) == "0:30 elapsed, 1:30 to go | solving the first trials on 2 workers"
    assert describe(status(workers=1)).endswith("on 1 worker")


def test_it_says_whose_workers_solve_and_that_there_is_none_yet():
    assert describe(status(workers=1, pool="ray")).endswith("on 1 Ray worker")
    assert describe(status(workers=0, pool="ray")).endswith("| solving the first trials in this process alone")
    assert "| 7 trials (0.5/s on 2 Ray workers) |" in describe(status(done=7, first_after=18.0, pool="ray"))
    assert "| 7 trials (0.5/s in this process alone) |" in describe(status(done=7, first_after=18.0, workers=0))
    assert describe(status(workers=0, trouble="none start")).endswith("in this process alone; none start")
    assert "none start" not in describe(status(workers=1, trouble="none start"))


def test_the_time_to_go_follows_the_limit_that_comes_first():
    # The first of 20 trials came after 12 s, nine more in 18 s: ten times 2 s are left, sooner than the clock's 90 s;
    # without limits, or before the second trial, there is nothing to go by.
    both = Limits(minutes=2.0, trials=20, workers=None, seed=1)
    assert "0:20 to go" in describe(status(limits=both, done=10, first_after=12.0))
    assert "0:10 to go" in describe(status(limits=both, done=10, failed=5, first_after=12.0))
    neither = Limits(minutes=None, trials=20, workers=None, seed=1)
    assert "to go" not in describe(status(limits=neither))


def test_the_best_of_each_objective_is_shown_with_its_unit():
    found = {"best": {"tuning": 1.234, "stretch": 20.0}, "hypervolume": 0.25}
    line = describe(status(done=7, failed=1, front=3, first_after=18.0, **found))
    assert "| 7 trials, 1 failed (0.5/s on 2 workers) |" in line
    assert line.endswith("3 on the front, hypervolume 0.250 | best: tuning 1.23 cents, stretch 20.00 %")


@pytest.mark.parametrize(
    ("wrong", "violation", "words"),
    [(0, 1.5, "a limit is broken by 1.50 mm"), (1, 0.0, "1 note does not sound as wanted"),
     (3, 0.25, "3 notes do not sound as wanted, a limit is broken by 0.25 mm")],
)  # fmt: skip
def test_what_is_lacking_is_said_while_nothing_is_feasible(wrong, violation, words):
    entry = FrontEntry(
        id="a", file="layouts/a.json", objectives={}, wrong_notes=wrong, violation_mm=violation, binds=[]
    )
    assert describe(status(done=1, nearest=entry)).endswith(f"| nothing feasible yet; {words}")


def test_without_a_terminal_a_line_comes_when_workers_come_or_go(monkeypatch):
    stream = io.StringIO()
    monkeypatch.setattr("time.monotonic", lambda: 0.0)
    line = ProgressLine(stream)
    for workers in (1, 1, 3, 3, 1):
        line(status(done=0, workers=workers))
    assert [text[-9:].strip() for text in stream.getvalue().splitlines()] == ["1 worker", "3 workers", "1 worker"]


def test_without_a_terminal_a_line_comes_when_something_keeps_workers_from_coming(monkeypatch):
    stream = io.StringIO()
    monkeypatch.setattr("time.monotonic", lambda: 0.0)
    line = ProgressLine(stream)
    for trouble in ("", "", "none start", "none start", ""):
        line(status(done=0, workers=0, trouble=trouble))
    assert [text.rpartition("alone")[2] for text in stream.getvalue().splitlines()] == ["", "; none start", ""]


def test_without_a_terminal_a_line_comes_at_once_with_the_first_trial_and_then_each_minute(monkeypatch):
    stream, clock = io.StringIO(), [0.0]
    monkeypatch.setattr("time.monotonic", lambda: clock[0])
    line = ProgressLine(stream)
    for second in range(200):
        clock[0] = float(second)
        line(status(done=max(0, second - 9)))
    line.close()
    assert stream.getvalue().count("\n") == 2 + 3  # at 0 and 10 s, then at 70, 130 and 190 s


@pytest.mark.parametrize("live", [False, True])
def test_a_reader_who_has_gone_stops_nothing(live):
    # The far end of a pipe is closed: what the system says of it is a lost connection, too, and no word of a worker.
    read, write = os.pipe()
    os.close(read)
    with open(write, "w", buffering=1) as stream:
        stream.isatty = lambda: live
        line = ProgressLine(stream)
        line.say("found 3 finished trials")
        line(status(done=7, first_after=18.0))
        line.close()
        with pytest.raises(BrokenPipeError):
            stream.flush()
        os.dup2(os.open(os.devnull, os.O_WRONLY), write)
    line.say("the stream is closed by now")


def test_a_search_past_its_time_says_why():
    assert describe(status(elapsed=125.0)) == (
        "2:05 elapsed, past its time as it has no layout yet | solving the first trials on 2 workers"
    )
    assert "0:00 to go" in describe(status(elapsed=125.0, done=3, front=1))
