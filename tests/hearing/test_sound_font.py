"""Tones nobody here made: a freely licensed sound font, played by FluidSynth.

Neighbouring notes of one zone of a font are the same sample played faster, 100 cents apart by the MIDI key numbers
(SoundFont 2.01, scaleTuning 100, from memory), and a zone holds several keys. The samples move a little in time, so
that a step is good to about a cent: over 443 steps of this font and a larger one another phase estimator gave a median
of 0.11 cents, and 0.87 for 95 % of those that are a semitone to within a cent. The first track alone does as well on
them as the track that is refined by phases; what the refining is worth, the bound in `test_pitch` tells. Skipped where
the two packages (fluidsynth, timgm6mb-soundfont of Debian) are not installed.
"""

import shutil
import subprocess
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from optimizer.hearing.recording import RATE, read_recording
from optimizer.hearing.tones import heard

FONT = Path("/usr/share/sounds/sf2/TimGM6mb.sf2")
PRESETS = {"oboe": (68, 58), "english horn": (69, 52), "bassoon": (70, 40), "clarinet": (71, 50)}
"""Number of the preset (General MIDI, from 0), and the lowest key that is played."""

KEYS = 6
"""So many, semitone by semitone."""

TICKS = 480
SECONDS = 1.2

pytestmark = pytest.mark.skipif(
    not (shutil.which("fluidsynth") and FONT.exists()), reason="fluidsynth and timgm6mb-soundfont are not installed"
)


def midi_file(program, keys):
    """A standard MIDI file, 60 beats a minute: each key for `SECONDS`, then 0.4 s of rest."""

    def number(value):
        found = [value & 0x7F]
        while value := value >> 7:
            found.insert(0, 0x80 | (value & 0x7F))
        return bytes(found)

    track = b"\0\xff\x51\3" + (1_000_000).to_bytes(3, "big") + bytes([0, 0xC0, program])
    for key in keys:
        track += (
            number(int(0.4 * TICKS)) + bytes([0x90, key, 90]) + number(int(SECONDS * TICKS)) + bytes([0x80, key, 0])
        )
    track += number(TICKS) + b"\xff\x2f\0"
    head = b"MThd" + (6).to_bytes(4, "big") + b"\0\0\0\1" + TICKS.to_bytes(2, "big")
    return head + b"MTrk" + len(track).to_bytes(4, "big") + track


@pytest.fixture(scope="module")
def steps(tmp_path_factory):
    """Of every preset: the tones, and cents from each note to the next above."""
    found = {}
    for name, (program, lowest) in PRESETS.items():
        place = tmp_path_factory.mktemp("font")
        keys = range(lowest, lowest + KEYS)
        (place / "notes.mid").write_bytes(midi_file(program, keys))
        subprocess.run(
            ["fluidsynth", "-ni", "-q", "-R", "0", "-C", "0", "-r", str(2 * RATE), "-F", place / "notes.wav", FONT,
             place / "notes.mid"], check=True, capture_output=True,
        )  # fmt: skip
        tones = heard(read_recording(place / "notes.wav"), 45.0, 1900.0).tones
        found[name] = keys, tones
    return found


@pytest.mark.parametrize("name", PRESETS)
def test_every_note_is_heard_in_its_octave(steps, name):
    keys, tones = steps[name]
    assert len(tones) == KEYS
    off = [1200.0 * np.log2(tone.hz / 440.0) - 100.0 * (key - 69) for key, tone in zip(keys, tones, strict=True)]
    assert np.max(np.abs(off)) < 30.0
    assert abs(np.median(off)) < 10.0
    assert not any(tone.octave_alarm for tone in tones)


def test_neighbours_within_a_zone_are_a_semitone_apart(steps):
    pairs = [1200.0 * np.log2(upper.hz / lower.hz) for _, tones in steps.values() for lower, upper in pairwise(tones)]
    off = np.abs(np.array(pairs) - 100.0)
    assert len(off) == len(PRESETS) * (KEYS - 1)
    assert np.median(off) < 0.11
    assert np.quantile(off, 0.95) < 0.87
