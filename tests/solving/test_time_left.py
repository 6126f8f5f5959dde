"""Work keeps to its time, by a clock that stands in: what overruns is no more than one thing that took longer than all
before it."""

import pytest
from stand_in_clock import Clock

from optimizer.analysis.hands import deadlines
from optimizer.solving.fitting import solved_until
from optimizer.solving.time_left import TimeLeft, grace


@pytest.mark.parametrize(("seconds", "most"), [(10.0, 5.0), (50.0, 5.0), (120.0, 12.0)])
def test_work_may_overrun_by_a_tenth_or_five_seconds(seconds, most):
    assert grace(seconds) == most


def test_nothing_begins_that_would_likely_end_too_late():
    clock = Clock()
    left = TimeLeft(clock() + 60.0, clock)
    assert left.for_more()
    for took, more in ((10.0, True), (20.0, True), (9.0, True), (5.0, False)):  # 10, 30, 39, 44 of 60 s; 20 at most
        clock.now += took
        left.done()
        assert left.for_more() is more
    assert not TimeLeft(clock() - 1.0, clock).for_more()
    two = TimeLeft(clock() + 50.0, clock)
    clock.now += 20.0
    two.done()
    assert two.for_more(1)
    assert not two.for_more(2)


@pytest.mark.parametrize("seconds", [3.0, 60.0, 100.0])
@pytest.mark.parametrize("each", [1.0, 7.0, 30.0])
def test_solves_from_many_starts_end_in_time_and_are_one_at_least(seconds, each, monkeypatch):
    clock = Clock(monkeypatch)
    begun = clock()
    solves = solved_until(clock.takes(each, lambda number: number), begun + seconds, 1000)
    assert solves == list(range(max(1, -(-int(seconds) // int(each)) - 1)))
    assert clock() - begun <= max(seconds, each)


def test_what_is_solved_already_is_enough_when_time_is_up(monkeypatch):
    clock = Clock(monkeypatch)
    assert solved_until(clock.takes(5.0, lambda number: number), clock() - 1.0, 10, ["first"]) == ["first"]


@pytest.mark.parametrize(("tasks", "workers", "ends"), [
    (1, 1, [60]), (4, 2, [30, 30, 60, 60]), (3, 2, [30, 30, 60]), (4, 1, [15, 30, 45, 60]), (4, 4, [60, 60, 60, 60]),
])  # fmt: skip
def test_tasks_of_several_turns_end_together_with_their_time(tasks, workers, ends):
    assert deadlines(0.0, 60.0, tasks, workers) == ends
