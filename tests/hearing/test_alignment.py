"""Which note each tone was: by a list's order, a file's name, or the nearest prediction.

Checked against: all alignments of short takes, tried one by one; cents on paper.
"""

from itertools import product
from pathlib import Path

import numpy as np
import pytest
from takes import Prototype, chart

from optimizer.hearing import alignment
from optimizer.hearing.alignment import AGAIN, EXTRA, SKIPPED, as_one, in_any_order, in_order
from optimizer.hearing.wanted import line_named, line_of_file, lines_of, read_order
from optimizer.project.faults import Fault

LINES = lines_of(chart("G3", 20, alternates=("D4",)), 440.0)
NAMED = {line.label: line for line in LINES}


def hz(*names, off=0.0):
    return np.array([NAMED[name].expected_hz for name in names]) * 2.0 ** (np.asarray(off) / 1200.0)


def names(found):
    return [match.line and match.line.label for match in found.matches]


def test_the_nearest_note_is_taken_and_played_again_it_is_the_same():
    found = in_any_order(hz("C4", "A3", "G#4", "A3", off=[12.0, -20.0, 3.0, -15.0]), LINES)
    assert names(found) == ["C4", "A3", "G#4", "A3"]
    assert (found.octave, abs(found.shift) < 20.0) == (0, True)


def test_two_fingerings_of_one_note_are_both_named_and_none_taken():
    found = in_any_order(hz("C4", "D4", "E4"), LINES)
    assert names(found) == ["C4", None, "E4"]
    assert "may be D4 (k62) and D4' (k62a)" in found.matches[1].why
    order = [NAMED[name] for name in ("C4", "D4'", "E4")]
    assert names(in_order(hz("C4", "D4", "E4"), order)) == ["C4", "D4'", "E4"]
    assert names(as_one(hz("D4"), NAMED["D4'"])) == ["D4'"]


def test_what_lies_between_two_notes_or_beyond_all_is_left_out():
    found = in_any_order(hz("A3", "B3", "C4", "F4", "G3", off=[0.0, 0.0, 50.0, 0.0, -340.0]), LINES)
    assert names(found) == ["A3", "B3", None, "F4", None]
    assert "lies between C" in found.matches[2].why
    assert "is no note of the chart; the nearest, G3, lies 340 cents off" in found.matches[4].why


@pytest.mark.parametrize("octave", [-2, -1, 1, 2])
def test_a_take_in_another_octave_is_found_as_a_whole(octave):
    played = ("G3", "C4", "A4", "C5", "B3")
    heard = hz(*played, off=1200.0 * octave + 8.0)
    for found in (in_any_order(heard, LINES), in_order(heard, [NAMED[name] for name in played])):
        assert names(found) == list(played)
        assert found.octave == octave
        assert found.shift == pytest.approx(8.0, abs=0.11)
        assert not any(match.doubtful for match in found.matches)


def test_one_note_in_another_octave_is_marked_and_no_other():
    played = ["G3", "C4", "A4", "C5", "B3"]
    heard = hz(*played, off=[0.0, 5.0, -1200.0, 0.0, 3.0])
    found = in_order(heard, [NAMED[name] for name in played])
    assert names(found) == played
    assert [match.doubtful for match in found.matches] == [False, False, True, False, False]
    assert as_one(hz("A4", off=-1200.0), NAMED["A4"]).matches[0].doubtful


def test_a_take_that_may_be_every_note_or_its_neighbour_is_asked_about():
    # Off by half a semitone as a whole: each tone is as near to the one as to the other.
    inner = ["A3", "C4", "E4", "F4", "G#4", "B3"]
    found = in_any_order(hz(*inner, off=-47.0), LINES)
    assert names(found) == [None] * 6
    assert "say in which order the notes were played" in found.matches[0].why
    assert names(in_order(hz(*inner, off=-47.0), [NAMED[name] for name in inner])) == inner
    # Played at A4 = 415 Hz all notes but the lowest are their neighbours; a list settles that.
    baroque = in_order(hz(*inner, off=-101.3), [NAMED[name] for name in inner])
    assert names(baroque) == inner
    assert baroque.shift == pytest.approx(-101.3, abs=0.1)


def test_a_list_forgives_what_was_left_out_put_in_and_played_again():
    order = [NAMED[name] for name in ("C4", "E4", "G4", "B3", "A4", "F4")]
    heard = hz("C4", "C4", "E4", "G#3", "B3", "A4", "F4", off=[0, 4, -6, 0, 3, 0, 8])
    found = in_order(heard, order)
    assert names(found) == ["C4", "C4", "E4", None, "B3", "A4", "F4"]
    assert found.matches[3].why == "is none of the listed notes, or one too many"


def cheapest(away):
    """Cost of the best alignment among all: each tone none or any note, so that notes never go back."""
    tones, notes = away.shape
    best = np.inf
    for chosen in product([None, *range(notes)], repeat=tones):
        played = [note for note in chosen if note is not None]
        off = [abs(away[tone, note]) for tone, note in enumerate(chosen) if note is not None]
        if played == sorted(played) and max(off, default=0.0) <= alignment.FAR:
            again = AGAIN * (len(played) - len(set(played)))
            put_in, left_out = tones - len(played), notes - len(set(played))
            best = min(best, sum(off) + again + EXTRA * put_in + SKIPPED * left_out)
    return best


def test_the_alignment_is_the_cheapest_of_all():
    rng = np.random.default_rng(1)
    for _ in range(25):
        away = rng.normal(0.0, 90.0, (rng.integers(1, 5), rng.integers(1, 4)))
        assert alignment._path(away)[0] == pytest.approx(cheapest(away))


def test_notes_are_named_as_the_chart_writes_them(tmp_path):
    (tmp_path / "a.txt").write_text("# three\nC4\nA#3, Bb3; D4'\nD4 k62a\nG3 A3 D4\n")
    found = read_order(tmp_path / "a.txt", LINES)
    assert [line.label for line in found] == ["C4", "A#3", "A#3", "D4'", "D4'", "G3", "A3", "D4"]
    (tmp_path / "sheet.csv").write_text("# a4_hz = 440\nnote,register,fingering,pass_1_cents\nC4,1,k60,\nD4,1,k62a,3\n")
    assert [line.label for line in read_order(tmp_path / "sheet.csv", LINES)] == ["C4", "D4'"]
    (tmp_path / "b.txt").write_text("C4\nC9, D4 xoxo\n")
    with pytest.raises(Fault) as fault:
        read_order(tmp_path / "b.txt", LINES)
    first, second = fault.value.problems
    assert first.startswith("b.txt: line 2: the chart has no note 'C9'")
    assert second == "b.txt: line 2: D4 is not played 'xoxo' in the chart, but 'k62' and 'k62a'"
    (tmp_path / "c.txt").write_text("\n# nothing\n")
    with pytest.raises(Fault, match="names no note"):
        read_order(tmp_path / "c.txt", LINES)


@pytest.mark.parametrize(
    ("file", "label"),
    [("B3.wav", "B3"), ("C#4-2.flac", "C#4"), ("D4 k62a.wav", "D4'"), ("D4'_3.ogg", "D4'"), ("Bb3 (2).wav", "A#3")],
)
def test_a_file_is_named_after_its_note(file, label):
    assert line_of_file(Path(file), LINES).label == label


@pytest.mark.parametrize("file", ["take-1.wav", "C9.wav", "_.wav", "2026-11-28.wav", ".wav"])
def test_a_file_named_otherwise_is_a_take(file):
    assert line_of_file(Path(file), LINES) is None


def test_a_note_that_the_chart_lacks_is_none():
    assert line_named("  ", LINES) is None
    assert Prototype(chart(), np.random.default_rng(1)).lines[0].label == "G3"
