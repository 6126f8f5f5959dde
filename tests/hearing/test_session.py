"""Recordings of invented prototypes to a measurement: a small version of the benchmark, files by note, several takes.

Checked against: the pitch that was played.
"""

import numpy as np
import pytest
from takes import Prototype, chart, kept

from optimizer.hearing.session import measured
from optimizer.project.faults import Fault


@pytest.fixture(scope="module")
def prototype():
    """Off by 12 cents a note, and 6 as a whole."""
    return Prototype(chart("G3", 10, 6, alternates=("C4",)), np.random.default_rng(1), 12.0, 6.0)


def named(prototype, *labels):
    known = {line.label: line for line in prototype.lines}
    return [known[label] for label in labels]


def off(prototype, measurement):
    return np.array([note.cents - prototype.wanted_cents(prototype.lines[note.line]) for note in measurement.notes])


@pytest.mark.parametrize(("wet", "rms", "largest"), [(False, 0.3, 1.0), (True, 1.0, 3.0)], ids=["dry", "room"])
def test_a_chart_in_any_order_is_heard_to_a_fraction_of_a_cent(tmp_path, prototype, wet, rms, largest):
    rng = np.random.default_rng(2)
    order = [prototype.lines[n] for n in rng.permutation(10)]
    take = kept(tmp_path / "take.wav", prototype.played(order, rng, wet))
    found = measured(prototype.record, [take], order).measurement
    assert [note.line for note in found.notes] == list(range(10))
    errors = off(prototype, found)
    assert np.sqrt(np.mean(errors**2)) < rms
    assert np.max(np.abs(errors)) < largest
    assert found.unassigned == []
    assert {flag for note in found.notes for flag in note.flags} <= ({"unsteady"} if wet else set())
    nearest = measured(prototype.record, [take]).measurement
    assert [note.written for note in nearest.notes] == [note.written for note in found.notes if note.written != "C4"]
    (left,) = nearest.unassigned
    assert "may be C4 (k60) and C4' (k60a)" in left.why
    assert left.hz == pytest.approx(prototype.hz(named(prototype, "C4")[0]), rel=1e-3)


def test_files_named_after_their_notes_need_no_list(tmp_path, prototype):
    rng = np.random.default_rng(3)
    files = []
    for name, label in {
        "G3-1.wav": "G3",
        "G3-2.flac": "G3",
        "C4'.wav": "C4'",
        "Bb3.ogg": "A#3",
        "C4.wav": "C4",
    }.items():
        files.append(kept(tmp_path / name, prototype.played(named(prototype, label), rng)))
    found = measured(prototype.record, files).measurement
    assert [(note.written, note.fingering, len(note.takes)) for note in found.notes] == [
        ("G3", "k55", 2), ("A#3", "k58", 1), ("C4", "k60", 1), ("C4", "k60a", 1)
    ]  # fmt: skip
    assert np.max(np.abs(off(prototype, found))) < 0.3
    wrong = kept(tmp_path / "B3.wav", prototype.played(named(prototype, "E4"), rng))
    (left,) = measured(prototype.record, [wrong]).measurement.unassigned
    assert "from where B3 is expected" in left.why


def test_several_takes_give_the_scatter_between_them(tmp_path, prototype):
    rng = np.random.default_rng(4)
    order = named(prototype, "G3", "C4", "E4", "A3", "D4", "B3")
    files = []
    for take in range(3):
        played = Prototype(prototype.record, rng)
        played.cents = {
            n: cents + (-4.0, 0.0, 4.0)[take] + rng.normal(0.0, 3.0) for n, cents in prototype.cents.items()
        }
        files.append(kept(tmp_path / f"take-{take}.wav", played.played(order, rng, seconds=0.9)))
    found = measured(prototype.record, files, order).measurement
    assert [len(note.takes) for note in found.notes] == [3] * 6
    sd = found.notes[0].sd_cents
    assert 1.0 < sd < 3.0
    assert sd == pytest.approx(found.notes[5].sd_cents, rel=1e-3)
    assert np.sqrt(np.mean(off(prototype, found) ** 2)) < 3.0
    assert "take-0.wav, take-1.wav, take-2.wav" in found.source


def test_cents_count_from_the_pitch_that_was_played_to(tmp_path, prototype):
    take = kept(tmp_path / "G3.wav", prototype.played(named(prototype, "G3"), np.random.default_rng(5)))
    at = {
        a4: measured(prototype.record, [take], a4_hz=a4, bell_degC=21.0, bell_sd_K=0.5).measurement
        for a4 in (440.0, 442.0)
    }
    low, high = (at[a4].notes[0].cents for a4 in (440.0, 442.0))
    assert low - high == pytest.approx(1200.0 * np.log2(442.0 / 440.0))
    assert at[442.0].common.temperature_K == 0.5
    assert at[442.0].temperature_degC == 21.0
    assert measured(prototype.record, [take]).measurement.common.temperature_K is None


def test_a_take_that_is_odd_as_a_whole_is_told(tmp_path, prototype):
    rng = np.random.default_rng(6)
    order = named(prototype, "G3", "C4", "E4", "A3")
    lower = Prototype(prototype.record, rng)
    lower.cents = {number: cents - 1200.0 - 46.0 for number, cents in prototype.cents.items()}
    take = kept(tmp_path / "take.wav", lower.played(order, rng))
    found = measured(prototype.record, [take], order).measurement
    assert any("sounds 1 octave below the chart" in each for each in found.remarks)
    assert any("as a whole lies -" in each for each in found.remarks)
    assert off(prototype, found) == pytest.approx([-46.0] * 4, abs=0.3)


def test_every_recording_that_cannot_be_heard_is_told_at_once(tmp_path, prototype):
    (tmp_path / "a.wav").write_bytes(b"")
    with pytest.raises(Fault) as fault:
        measured(prototype.record, [tmp_path / "a.wav", tmp_path / "b.wav"])
    assert len(fault.value.problems) == 2
    hiss = kept(tmp_path / "hiss.wav", np.random.default_rng(7).normal(0.0, 0.1, 30_000))
    with pytest.raises(Fault, match="no tone was heard"):
        measured(prototype.record, [hiss])
    with pytest.raises(Fault, match="more than the 200"):
        measured(prototype.record, [hiss] * 201)
