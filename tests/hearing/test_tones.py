"""What of a recording is a tone, what is not and why, and what is doubtful about it.

Checked against: what was played, by its formula.
"""

import numpy as np
import pytest

from optimizer.hearing.recording import RATE, STEP, Recording
from optimizer.hearing.session import RANGE_HZ
from optimizer.hearing.synthesis import Played, performance, tone, with_noise
from optimizer.hearing.tones import heard

REST = np.zeros(RATE // 2)


def listened(*parts, noise_db=45.0, clipped=None):
    rng = np.random.default_rng(1)
    sound = with_noise(np.concatenate([REST, *(each for part in parts for each in (part, REST))]), noise_db, rng)
    steps = np.zeros(-(-len(sound) // STEP)) if clipped is None else clipped
    return heard(Recording("a.wav", sound, steps), 70.0, 1500.0)


def blown(hz, seconds=1.0, **how):
    return tone(Played(hz, seconds, **how), np.random.default_rng(int(hz)))


def test_every_tone_is_found_with_its_time_and_pitch():
    pitches = [165.0, 220.0, 233.1, 587.0, 110.0]
    rng = np.random.default_rng(3)
    sound = with_noise(performance([Played(hz, 1.0) for hz in pitches], rng, 0.4), 40.0, rng)
    found = heard(Recording("a.wav", sound, np.zeros(len(sound))), 70.0, 1500.0)
    assert [each.hz for each in found.tones] == pytest.approx(pitches, rel=3e-5)
    assert [each.begin for each in found.tones] == pytest.approx([0.4 + 1.4 * n for n in range(5)], abs=0.06)
    assert [each.end for each in found.tones] == pytest.approx([1.4 + 1.4 * n for n in range(5)], abs=0.06)
    assert found.unheard == []
    assert {flag for each in found.tones for flag in each.flags} == set()


@pytest.mark.parametrize("hz", [25.3, 29.14, 36.71])
def test_the_lowest_tones_are_told_to_half_a_cent(hz):
    rng = np.random.default_rng(5)
    sound = with_noise(np.concatenate([REST, blown(hz, 1.5), REST]), 40.0, rng)
    found = heard(Recording("a.wav", sound, np.zeros(len(sound))), RANGE_HZ[0], 400.0)
    (only,) = found.tones
    assert 1200.0 * np.log2(only.hz / hz) == pytest.approx(0.0, abs=0.5)
    assert (only.flags, only.octave_alarm, found.unheard) == ((), False, [])


def test_notes_that_are_slurred_are_told_apart():
    found = listened(np.concatenate([blown(220.0)[:-1200], blown(233.1)[700:-1200], blown(246.9)[700:]]))
    assert [each.hz for each in found.tones] == pytest.approx([220.0, 233.1, 246.9], rel=5e-5)


def test_a_tone_20_db_below_the_others_is_none():
    quiet = [blown(hz, level=level) for hz, level in ((220.0, 0.3), (247.0, 0.3), (330.0, 0.3), (277.0, 0.3 * 0.06))]
    assert [each.hz for each in listened(*quiet).tones] == pytest.approx([220.0, 247.0, 330.0], rel=1e-4)


def test_what_is_no_tone_is_told_with_why():
    rng = np.random.default_rng(4)
    hiss = 0.05 * rng.standard_normal(RATE)
    found = listened(blown(220.0), blown(330.0, 0.42), hiss, blown(247.0))
    assert [each.hz for each in found.tones] == pytest.approx([220.0, 247.0], rel=1e-4)
    short, noisy = found.unheard
    assert short.at == pytest.approx(2.0, abs=0.06)
    assert short.hz == pytest.approx(330.0, rel=1e-3)
    assert "a tone needs" in short.why
    assert noisy.hz is None
    assert "without a pitch" in noisy.why


def test_a_pitch_that_jumps_is_never_averaged():
    warble = np.concatenate([blown(hz, 0.35)[:-1200] for hz in (220.0, 440.0, 311.0, 220.0, 440.0)])
    found = listened(blown(165.0), warble)
    assert [each.hz for each in found.tones] == pytest.approx([165.0], rel=1e-4)
    assert "its pitch jumps" in found.unheard[0].why


def test_a_note_that_cracks_is_marked():
    found = listened(np.concatenate([blown(220.0, 1.0)[:-1200], blown(440.0, 0.3)]), blown(247.0))
    assert [each.flags for each in found.tones] == [("cracked",), ()]


def test_a_wide_vibrato_and_a_pitch_that_slides_are_unsteady():
    parts = blown(220.0, 1.5), blown(247.0, 1.5, vibrato_cents=15.0), blown(277.0, 1.5, slope=15.0)
    found = listened(*parts, blown(311.0, 1.5, vibrato_cents=6.0)).tones
    assert [each.flags for each in found] == [(), ("unsteady",), ("unsteady",), ()]
    assert [each.vibrato_cents for each in found] == pytest.approx([0.0, 15.0, 0.0, 6.0], abs=0.5)
    assert found[2].slope == pytest.approx(15.0, abs=0.3)


def test_only_the_note_that_is_clipped_is_marked():
    clipped = np.zeros(-(-len(np.concatenate([REST, blown(220.0), REST, blown(247.0), REST])) // STEP))
    clipped[105:110] = 0.2
    assert [each.flags for each in listened(blown(220.0), blown(247.0), clipped=clipped).tones] == [("clipped",), ()]


def test_the_octave_alarm_sounds_where_the_two_ways_disagree():
    # With the second partial alone but for a trace of the first, periods T and T / 2 are nearly the same.
    at = np.arange(RATE) / RATE
    rich = 0.3 * np.sin(2 * np.pi * 440.0 * at) + 0.043 * np.sin(2 * np.pi * 220.0 * at + 1.0)
    assert [each.octave_alarm for each in listened(rich, blown(330.0)).tones] == [True, False]
