"""Target scale: written notes to sounding frequencies, with weights."""

from typing import NamedTuple

import numpy as np

from acoustics.pitch import note_frequency
from optimizer.project.chart import ChartNote
from optimizer.project.model import Project
from optimizer.project.note_names import name_of, number_of, prefers_flats


class Target(NamedTuple):
    """What one chart line should sound: written and sounding names, as the project names notes, the sounding one's MIDI
    key number, frequency [Hz], weight, offset [cents]."""

    written: str
    sounding: str
    midi: int
    frequency: float
    weight: float
    offset_cents: float


def targets(project: Project, notes: list[ChartNote]) -> list[Target]:
    """A target for each chart line; temperament applies to sounding pitch, offsets and weights to written notes."""
    scale = project.scale
    names = project.chart.note_names
    weight = {number_of(name, names): value for name, value in scale.weight.items()}
    offset = {number_of(name, names): value for name, value in scale.offset_cents.items()}
    flats = prefers_flats((note.written for note in notes), names)
    found = []
    for note in notes:
        written = note.midi
        sounding = written + project.instrument.transposition_semitones
        shift = offset.get(written, 0.0)
        frequency = note_frequency(sounding, scale.a4_hz, scale.temperament) * 2.0 ** (shift / 1200.0)
        value = weight.get(written, 1.0) * (project.chart.alternate_weight if note.alternate else 1.0)
        found.append(Target(note.written, name_of(sounding, names, flats), sounding, frequency, value, shift))
    return found


def frequencies(found: list[Target]) -> np.ndarray:
    """Target frequencies (N,) [Hz]."""
    return np.array([target.frequency for target in found])


def weights(found: list[Target]) -> np.ndarray:
    """Note weights (N,) [1], alternates already reduced."""
    return np.array([target.weight for target in found])
