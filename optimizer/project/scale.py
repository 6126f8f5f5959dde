"""Target scale: written notes to sounding frequencies, with weights."""

from typing import NamedTuple

import numpy as np

from acoustics.pitch import midi_number, note_frequency, note_name
from optimizer.project.chart import ChartNote
from optimizer.project.model import Project


class Target(NamedTuple):
    """What one chart line should sound: written and sounding names, frequency [Hz], weight, offset [cents]."""

    written: str
    sounding: str
    frequency: float
    weight: float
    offset_cents: float


def targets(project: Project, notes: list[ChartNote]) -> list[Target]:
    """A target for each chart line; temperament applies to sounding pitch, offsets and weights to written notes."""
    scale = project.scale
    weight = {midi_number(name): value for name, value in scale.weight.items()}
    offset = {midi_number(name): value for name, value in scale.offset_cents.items()}
    found = []
    for note in notes:
        written = midi_number(note.written)
        sounding = written + project.instrument.transposition_semitones
        shift = offset.get(written, 0.0)
        frequency = note_frequency(sounding, scale.a4_hz, scale.temperament) * 2.0 ** (shift / 1200.0)
        value = weight.get(written, 1.0) * (project.chart.alternate_weight if note.alternate else 1.0)
        found.append(Target(note.written, note_name(sounding), frequency, value, shift))
    return found


def frequencies(found: list[Target]) -> np.ndarray:
    """Target frequencies (N,) [Hz]."""
    return np.array([target.frequency for target in found])


def weights(found: list[Target]) -> np.ndarray:
    """Note weights (N,) [1], alternates already reduced."""
    return np.array([target.weight for target in found])
