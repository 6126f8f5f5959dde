"""Fingerings that hands can hold, against the chart's own rules tried on every set of touches, and what they cost."""

from itertools import combinations

import numpy as np
import pytest
from shelf import KEYED, PIPE, pipe

from optimizer.project import reachable as room
from optimizer.project.chart import ChartError, openness_of_touches, read_chart
from optimizer.project.demos import demo_names, demo_path
from optimizer.project.faults import Fault
from optimizer.project.linkage import finger_conflict
from optimizer.project.loading import load_project
from optimizer.project.reachable import by_finger, differ, effort, in_words, reachable


def every_state(project, touches):
    """States of the holes for every set of touches that the chart takes."""
    found = set()
    for count in range(len(touches) + 1):
        for pressed in combinations(touches, count):
            if finger_conflict(set(pressed), project.holes, project.keys) is None:
                try:
                    found.add(openness_of_touches(set(pressed), project.holes, project.keys))
                except ChartError:
                    continue
    return found


@pytest.mark.parametrize(
    ("text", "touches"),
    [(PIPE, ["L1", "L2", "L3", "R1"]), (KEYED, ["LT", "L1", "L3", "R1", "R2", "kLow", "octave"])],
    ids=["bare", "keyed"],
)
def test_they_are_all_that_the_chart_would_take(text, touches):
    loaded = pipe(text)
    project, found = loaded.project, reachable(loaded.project, loaded.notes)
    states = [tuple(row) for row in found.openness]
    assert len(set(states)) == len(states)
    assert set(states) == every_state(project, touches)
    for number, state in enumerate(states):
        assert openness_of_touches(set(found.touches(number)), project.holes, project.keys) == state


@pytest.mark.parametrize("name", demo_names())
def test_every_line_of_a_demos_chart_is_among_them(name):
    loaded = load_project(demo_path(name), rule_out=False)
    found = reachable(loaded.project, loaded.notes)
    states = found.openness
    assert [note.touches for note in loaded.notes if not np.any(np.all(states == note.openness, axis=1))] == []
    half = np.flatnonzero(np.any((states > 0.0) & (states < 1.0), axis=1))
    assert bool(half.size) == any(0.0 < share < 1.0 for note in loaded.notes for share in note.openness)
    for row in half[:20]:
        words = in_words(found.touches(row), loaded.project)
        (line,), problems = read_chart(
            loaded.project.chart.model_copy(update={"lines": f"C5 1 {words}"}),
            loaded.project.holes,
            loaded.project.keys,
        )
        assert (line.openness, problems) == (tuple(states[row]), [])


def test_touches_are_worded_as_the_chart_reads_them():
    project = pipe(KEYED).project
    assert in_words(frozenset({"LT", "L1", "L3", "R1", "octave"}), project) == "LT L13 R1 octave"
    assert in_words(frozenset(), project) == "none"
    assert by_finger(frozenset({"LT", "octave", "R1"}), project) == {"LT": {"LT", "octave"}, "R1": {"R1"}}


def test_effort_counts_fingers_slides_and_contrary_motion():
    # By the rules of thumb that stand with it (no source): a finger 1, a thumb's slide 2, one up and one down 2 more.
    project = pipe(KEYED).project

    def between(one, other):
        assert effort(frozenset(one), frozenset(other), project) == effort(frozenset(other), frozenset(one), project)
        return effort(frozenset(one), frozenset(other), project)

    assert between({"L1", "L3"}, {"L1", "L3"}) == 0
    assert between({"L1", "L3"}, {"L1"}) == 1
    assert between({"LT"}, {"LT", "octave"}) == 2
    assert between({"R1"}, {"R2"}) == 1 + 1 + 2
    assert between({"L3"}, {"R2"}) == 1 + 1
    assert differ(frozenset({"R1", "L3"}), frozenset({"R2", "L3"}), project) == 2


def test_more_than_can_be_looked_through_are_refused(monkeypatch):
    # Four fingers on four holes: 2^4.
    monkeypatch.setattr(room, "MOST", 15)
    with pytest.raises(Fault, match="hands can hold 16 fingerings of it, and 15 at the most"):
        reachable(pipe().project, pipe().notes)


@pytest.mark.parametrize(("most", "together"), [(1, [1]), (room.SETS_MOST, [room.TOGETHER])])
def test_sets_of_keys_are_counted_before_they_are_listed(monkeypatch, most, together):
    # A finger with a single key has two sets: none, and that key.
    asked, choices = [], room._choices

    def spied(finger, project, notes, at_once):
        asked.append(at_once)
        return choices(finger, project, notes, at_once)

    monkeypatch.setattr(room, "SETS_MOST", most)
    monkeypatch.setattr(room, "_choices", spied)
    reachable(pipe(KEYED).project, pipe(KEYED).notes)
    assert list(dict.fromkeys(asked)) == together
