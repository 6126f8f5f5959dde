"""Target frequencies: written and sounding pitch kept apart, offsets and weights on written notes."""

import numpy as np
import pytest
from shelf import PIPE, changed, pipe

from optimizer.project.scale import frequencies, targets, weights


def made(text):
    loaded = pipe(text)
    return targets(loaded.project, loaded.notes)


def with_scale(lines, text=PIPE):
    return made(f"{text}\n[scale]\n{lines}\n")


def test_a4_sounds_at_440_hz():
    # ISO 16:1975.
    first = made(PIPE)[0]
    assert (first.written, first.sounding, first.frequency) == ("A4", "A4", 440.0)


def test_the_practice_pipe_has_the_usual_frequencies():
    # Equal-tempered table for A4 = 440 Hz: B4 493.883, C#5 554.365, D5 587.330, E5 659.255.
    assert frequencies(made(PIPE)) == pytest.approx([440.0, 493.883, 554.365, 587.330, 659.255], abs=5e-4)


def test_a_pipe_written_a_fifth_above_its_sound_keeps_its_written_names():
    # A4 - 7 semitones = D4, 293.665 Hz in the same table.
    found = made(changed("transposition_semitones = 0", "transposition_semitones = -7"))
    assert (found[0].written, found[0].sounding) == ("A4", "D4")
    assert found[0].frequency == pytest.approx(293.665, abs=5e-4)


def test_an_octave_transposition_halves_every_frequency():
    low = made(changed("transposition_semitones = 0", "transposition_semitones = -12"))
    assert frequencies(low) == pytest.approx(frequencies(made(PIPE)) / 2.0, rel=1e-14)


def test_the_reference_pitch_moves_all_targets_in_proportion():
    assert frequencies(with_scale("a4_hz = 442")) == pytest.approx(frequencies(made(PIPE)) * 442 / 440, rel=1e-14)


def test_a_temperament_applies_to_sounding_pitch():
    # Werckmeister III, cents above C (published table): A 888.3, D 192.2, C# 90.2, E 390.2. Pinned at A, a sounding D
    # lies 192.2 - 888.3 + 1200 = 503.9 cents above A4, 3.9 above equal temperament; written A4 of a pipe in D is one.
    text = changed("transposition_semitones = 0", "transposition_semitones = -7")
    found = with_scale('temperament = "werckmeister"', text)
    assert found[0].sounding == "D4"
    assert 1200 * np.log2(found[0].frequency / 293.6648) == pytest.approx(3.9, abs=0.1)
    untransposed = with_scale('temperament = "werckmeister"')
    assert untransposed[0].frequency == pytest.approx(440.0, rel=1e-14)
    assert 1200 * np.log2(untransposed[3].frequency / 587.3295) == pytest.approx(3.9, abs=0.1)


def test_an_offset_is_written_in_cents_on_a_written_note():
    # 1200 log2(f / 440) = -14 exactly.
    text = changed("transposition_semitones = 0", "transposition_semitones = -7")
    plain, bent = made(text), with_scale('offset_cents = { "A4" = -14 }', text)
    assert 1200 * np.log2(bent[0].frequency / plain[0].frequency) == pytest.approx(-14.0, abs=1e-9)
    assert bent[0].offset_cents == -14.0
    assert frequencies(bent)[1:].tolist() == frequencies(plain)[1:].tolist()


def test_weights_are_one_unless_given():
    assert weights(with_scale('weight = { "B4" = 2.5, E5 = 0 }')).tolist() == [1.0, 2.5, 1.0, 1.0, 0.0]


def test_a_weight_may_spell_its_note_the_other_way():
    # Db5 and C#5 are one key of the keyboard.
    assert weights(with_scale("weight = { Db5 = 3.0 }"))[2] == 3.0


def test_an_alternate_counts_a_fifth_unless_told_otherwise():
    text = changed("D5   1  L1", "D5   1  L1\nD5   1  L2  alternate")
    assert weights(made(text)).tolist() == [1.0, 1.0, 1.0, 1.0, 0.2, 1.0]
    half = changed("[chart]", "[chart]\nalternate_weight = 0.5", text)
    assert weights(with_scale("weight = { D5 = 4 }", half)).tolist() == [1.0, 1.0, 1.0, 4.0, 2.0, 1.0]
