"""Signs of life of a command, by a clock that stands in."""

import io
import threading

from stand_in_clock import Clock

from optimizer.commands import progress as progress_module
from optimizer.commands.progress import Working


class Terminal(io.StringIO):
    """A stream that somebody watches."""

    def isatty(self):
        """It is one."""
        return True


def test_what_is_left_follows_from_what_was_done_and_never_beyond_the_time_given():
    clock = Clock()
    working = Working("pricing limits", 100.0, "limits", stream=io.StringIO(), now=clock)
    assert working.line() == "0:00 elapsed, about 1:40 to go | pricing limits"
    clock.now += 20.0
    working(1, 3)  # one in 20 s: two more in 40
    clock.now += 20.0
    working(1, 3)  # one in 40 s: two more in 80, but 60 are left
    clock.now += 5.0
    working(3, 3)
    assert working.stream.getvalue().splitlines() == [
        "0:20 elapsed, about 0:40 to go | pricing limits: 1 of 3 limits",
        "0:40 elapsed, about 1:00 to go | pricing limits: 1 of 3 limits",
        "0:45 elapsed, about 0:00 to go | pricing limits: 3 of 3 limits",
    ]


def test_what_is_passed_over_for_want_of_time_adds_no_lines():
    clock = Clock()
    working = Working("looking for ways out", 12.0, "projects", stream=io.StringIO(), now=clock)
    clock.now += 11.0
    for _ in range(41):
        working(1, 42)
    assert working.stream.getvalue() == "0:11 elapsed, about 0:01 to go | looking for ways out: 1 of 42 projects\n"


def test_nothing_is_foretold_where_nothing_tells():
    clock = Clock()
    working = Working("comparing", stream=io.StringIO(), now=clock)
    clock.now += 7.0
    assert working.line() == "0:07 elapsed | comparing"
    with working:
        pass
    assert working.stream.getvalue() == ""


def test_work_that_takes_long_is_told_while_it_lasts(monkeypatch):
    said, told = Terminal(), threading.Event()
    monkeypatch.setattr(progress_module, "FIRST_SECONDS", {True: 0.0, False: 3600.0})
    monkeypatch.setattr(progress_module, "EVERY_SECONDS", 0.001)
    working = Working("comparing", stream=said)
    say = working.say

    def once_more():
        say()
        if said.getvalue().count("comparing") >= 3:
            told.set()

    monkeypatch.setattr(working, "say", once_more)
    with working:
        assert told.wait(30)
    lines = said.getvalue().count("\n")
    assert lines >= 3
    with Working("comparing", stream=io.StringIO()) as quick:
        pass
    assert quick.stream.getvalue() == ""
