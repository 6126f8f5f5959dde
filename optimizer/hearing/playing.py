"""A layout played: which tones follow each other, which sound at once, and the sound file of that.

A just noticeable step is 3 to 5 cents in a melody's middle, and ten pass there; against a tone that is held, 2 cents
show as beats (Fastl & Zwicker, *Psychoacoustics*, ch. 7, from memory). So tones are heard alone and beside each other.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np
import soundfile

from acoustics.arrays import Array
from optimizer.hearing.recording import RATE
from optimizer.hearing.synthesis import held
from optimizer.hearing.tracks import FORMATS
from optimizer.project.faults import Fault
from optimizer.records.files import write_bytes
from optimizer.records.sound import SoundedNote, SoundRecord

NINE_OF_TEN = 1.645
"""Standard deviations of a normal distribution from its middle to its 5 % and 95 % points."""

PEAK = 10.0 ** (-1.0 / 20.0)
"""Of a whole file, 1 dB below full scale."""

REST_SECONDS = 0.08


class Tone(NamedTuple):
    """A steady tone: pitch [Hz], and level of each partial [dB]."""

    hz: float
    level_db: Sequence[int]


Step = tuple[Tone, ...]
"""What sounds at once."""


@dataclass(frozen=True)
class Chosen:
    """Notes that are played, and which of those asked for do not sound."""

    notes: list[SoundedNote]
    silent: list[str]


def chosen(sound: SoundRecord, names: Sequence[str] = ()) -> Chosen:
    """The notes to play: of those named every line of the chart, of none named every main line.

    Parameters
    ----------
    sound : of a layout
    names : written names, in the order they are to be heard

    Raises
    ------
    Fault
        for a name that the chart does not have, and where nothing sounds
    """
    known = ", ".join(dict.fromkeys(note.written for note in sound.notes))
    strange = [name for name in names if all(name.lower() != note.written.lower() for note in sound.notes)]
    if strange:
        raise Fault(*(f"the layout has no note {name!r}; it has {known}" for name in strange))
    lines = [note for name in names for note in sound.notes if note.written.lower() == name.lower()]
    lines = lines if names else [note for note in sound.notes if not note.alternate]
    silent = [note.written for note in lines if note.frequency_hz is None]
    if len(silent) == len(lines):
        raise Fault("nothing to play: none of these notes sounds on this layout")
    return Chosen([note for note in lines if note.frequency_hz is not None], silent)


def steps(
    notes: Sequence[SoundedNote], track: str, drone: SoundedNote | None = None, other: SoundRecord | None = None
) -> list[Step]:
    """What sounds, one step after the other.

    Parameters
    ----------
    notes : that sound
    track : one of `tracks.TRACKS`
    drone : the note that is held in tune under a drone's track
    other : a layout whose line of the same note follows each
    """
    lines = [line for note in notes for line in (note, None if other is None else _same(note, other))]
    return [step for line in lines if line is not None for step in _of_note(line, track, drone)]


def _same(note: SoundedNote, other: SoundRecord) -> SoundedNote | None:
    """Another layout's line of a note, if it has one that sounds: one of the same fingering before others."""
    lines = [each for each in other.notes if each.written == note.written and each.frequency_hz is not None]
    order = [each for each in lines if each.touches == note.touches] + [
        each for each in lines if each.alternate == note.alternate
    ]
    return order[0] if order else None


def _of_note(note: SoundedNote, track: str, drone: SoundedNote | None) -> list[Step]:
    assert note.frequency_hz is not None
    own, wanted = Tone(note.frequency_hz, note.level_db), Tone(note.target_hz, note.level_db)
    if track == "in-tune":
        return [(wanted,)]
    if track == "beats":
        return [(own, wanted)]
    if track == "drone" and drone is not None:
        return [(own, Tone(drone.target_hz, drone.level_db))]
    if track == "doubt":
        ratio = 2.0 ** (NINE_OF_TEN * (note.sd_cents or 0.0) / 1200.0)
        return [(Tone(own.hz / ratio, own.level_db),), (Tone(own.hz * ratio, own.level_db),)]
    return [(own,)]


def played(score: Sequence[Step], seconds: float) -> Array:
    """Samples of all steps one after the other (n,) at `RATE`, the whole as loud as a file takes it.

    Parameters
    ----------
    score : the steps
    seconds : how long each lasts
    """
    rest = np.zeros(int(REST_SECONDS * RATE))
    parts = [part for step in score for part in (np.sum([held(*tone, seconds) for tone in step], axis=0), rest)]
    sound = np.concatenate([rest, *parts])
    return np.asarray(sound * (PEAK / np.max(np.abs(sound))))


def write_sound(path: Path, sound: Array, title: str, comment: str) -> None:
    """Write samples (n,) as WAV or FLAC, by the file's name, with a title and a comment in it.

    Parameters
    ----------
    path : ends in one of `tracks.FORMATS`
    sound : (n,) at `RATE`, full scale 1
    title, comment : what players show
    """
    kept = io.BytesIO()
    kind = FORMATS[path.suffix.lower()]
    with soundfile.SoundFile(kept, "w", RATE, 1, format=kind, subtype="PCM_16") as file:
        file.title, file.comment = title, comment
        file.write(sound)
    write_bytes(path, kept.getvalue())
