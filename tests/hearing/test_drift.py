"""Takes put together: a drift found through notes that come again, heights of takes, what differs between takes.

Checked against: what was planted; SciPy's least squares for a warm-up; the pooled variance by the statistics of groups.
"""

import re

import numpy as np
import pytest
import scipy

from optimizer.hearing.drift import Reading, together
from optimizer.records.measurement import PLAYED_CENTS

RNG = np.random.default_rng(1)
NOTES = RNG.normal(0.0, 10.0, 24)


def session(course, scatter=1.5, anchor_every=6, takes=1, seed=2):
    """Readings of all notes in a random order with note 0 as an anchor, a tone every 8 s."""
    rng = np.random.default_rng(seed)
    found = []
    for take in range(takes):
        order = list(rng.permutation(np.arange(1, len(NOTES))))
        for at in range(0, len(order) + len(order) // anchor_every + 1, anchor_every + 1):
            order.insert(at, 0)
        for number, note in enumerate(order):
            seconds = 8.0 * number
            found.append(
                Reading(int(note), take, seconds, NOTES[note] + course(take, seconds) + rng.normal(0, scatter))
            )
    return found


def off(readings, found, course=lambda reading: 0.0):
    return np.array(
        [value - NOTES[each.line] - course(each) for each, value in zip(readings, found.cents, strict=True)]
    )


def test_a_steady_drift_is_taken_out_to_the_middle_of_the_take():
    readings = session(lambda take, seconds: 0.08 * seconds)
    middle = np.mean([each.seconds for each in readings])
    found = together(readings)
    assert np.sqrt(np.mean((off(readings, found) - 0.08 * middle) ** 2)) < 2.0
    slope = float(re.match(r"the pitch drifts by ([+-][\d.]+) cents a minute", found.told[0])[1])
    assert slope == pytest.approx(0.08 * 60.0, abs=1.5)


def test_a_cold_instrument_is_told_as_it_is_when_warm():
    readings = session(lambda take, seconds: -20.0 * np.exp(-seconds / 60.0), scatter=0.8)
    found = together(readings)
    assert "warms by +" in found.told[0]
    assert np.sqrt(np.mean(off(readings, found) ** 2)) < 2.0
    anchors = [(each.seconds, each.cents) for each in readings if each.line == 0]
    fitted, _ = scipy.optimize.curve_fit(
        lambda at, note, rise: note - rise * np.exp(-np.array(at) / 60.0), *zip(*anchors, strict=True)
    )
    mine = [value for each, value in zip(readings, found.cents, strict=True) if each.line == 0]
    assert np.mean(mine) == pytest.approx(fitted[0], abs=0.7)


def test_no_drift_is_none():
    readings = session(lambda take, seconds: 0.0)
    found = together(readings)
    assert found.cents == pytest.approx([each.cents for each in readings])
    assert [each.partition(" lie ")[0] for each in found.told] == ["takes of a note"]


def test_a_take_that_is_higher_as_a_whole_counts_as_that():
    readings = session(lambda take, seconds: (-6.0, 0.0, 6.0)[take], takes=3)
    found = together(readings)
    assert np.sqrt(np.mean(off(readings, found) ** 2)) < 2.0
    apart = float(re.search(r"lie ([\d.]+) cents apart", found.told[0])[1])
    assert apart == pytest.approx(1.5, rel=0.25)
    freedom = len(readings) - len(NOTES) - 2
    assert found.between == pytest.approx(np.sqrt((freedom * apart**2 + 4.0 * 4.0**2) / (freedom + 4.0)), abs=0.05)


def test_files_of_one_note_give_the_pooled_variance_of_groups():
    rng = np.random.default_rng(5)
    readings = [
        Reading(note, 3 * note + n, 0.3, rng.normal(note, 4.0), alone=True) for note in range(8) for n in range(3)
    ]
    groups = np.array([each.cents for each in readings]).reshape(8, 3)
    found = together(readings)
    squares = np.sum(np.var(groups, axis=1, ddof=1)) * 2
    assert f"lie {np.sqrt(squares / 16):.1f} cents apart" in found.told[0]
    assert found.between == pytest.approx(np.sqrt((squares + 4.0 * 4.0**2) / (16 + 4.0)))
    assert found.cents == pytest.approx(groups.ravel())


def test_without_repeats_a_players_usual_scatter_is_taken_and_told():
    found = together([Reading(note, 0, 3.0 * note, 1.0) for note in range(6)])
    assert found.between == PLAYED_CENTS
    assert "no note came again: 4 cents" in found.told[0]
    assert together([]).told == []
