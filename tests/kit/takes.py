"""Invented prototypes of the shelf and how they are played and recorded, so that what is heard can be held against what
was played."""

import numpy as np
import soundfile
from made_records import layout, note

from acoustics.pitch import midi_number, note_frequency, note_name
from optimizer.hearing.recording import RATE
from optimizer.hearing.synthesis import Played, in_room, performance, with_noise
from optimizer.hearing.wanted import lines_of

LEVEL = 0.8


def chart(lowest="G3", many=20, low_register=12, alternates=()):
    """A layout whose notes climb by semitones from the lowest, every one as wanted, and alternates by their names."""
    first = midi_number(lowest)
    lines = [(midi, 1 if midi - first < low_register else 2, False) for midi in range(first, first + many)]
    lines += [(midi_number(name), 1, True) for name in alternates]
    notes = [
        note(
            note_name(midi), 0.0, register=register, alternate=alternate, written_midi=midi, sounding_midi=midi,
            touches=f"k{midi}{'a' if alternate else ''}", target_hz=note_frequency(midi),
            frequency_hz=note_frequency(midi),
        )
        for midi, register, alternate in lines
    ]  # fmt: skip
    return layout(notes=notes)


class Prototype:
    """A layout as it came out: each note off by so many cents."""

    def __init__(self, record, rng, sd_cents=12.0, common_cents=0.0):
        self.record = record
        self.lines = lines_of(record, record.reference.a4_hz)
        self.cents = {line.number: common_cents + rng.normal(0.0, sd_cents) for line in self.lines}

    def hz(self, line):
        """What a line sounds."""
        return line.expected_hz * 2.0 ** (self.cents[line.number] / 1200.0)

    def wanted_cents(self, line):
        """How far it lies above what is wanted."""
        return 1200.0 * np.log2(self.hz(line) / line.wanted_hz)

    def played(self, lines, rng, wet=False, seconds=1.2):
        """Samples of lines one after the other; wet: with vibrato, in a room."""
        tones = [
            Played(
                self.hz(line), seconds, rng.uniform(8.0, 20.0) if wet else 0.0, rng.uniform(4.5, 6.5), scoop_cents=30.0
            )
            for line in lines
        ]  # fmt: skip
        sound = performance(tones, rng)
        return with_noise(in_room(sound, 0.5, rng) if wet else sound, 40.0, rng)


def kept(path, sound, rate=RATE, **more):
    """A sound as a file."""
    soundfile.write(path, LEVEL * sound / np.max(np.abs(sound)), rate, **more)
    return path
