"""Tones of a reed as they may be played: partials under a formant, attack, vibrato, noise, and the room they sound in.

A conical double reed's fundamental is weak, 20 to 30 dB below the formant, and beyond that partials fall by 6 dB an
octave (Fletcher & Rossing, *The Physics of Musical Instruments*, ch. 15, from memory). A room is noise that decays
exponentially (Moorer, Computer Music J. 3 (1979) 13, from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.signal import fftconvolve

from acoustics.arrays import Array
from optimizer.hearing.recording import RATE

FORMANT_HZ = 1100.0
RISING, FALLING = 2.0, 1.0
"""Powers of the frequency by which partials rise below the formant, and fall above it."""

HIGHEST_HZ = 9000.0
ATTACK_SECONDS, RELEASE_SECONDS = 0.03, 0.05
SCOOP_SECONDS = 0.06


@dataclass(frozen=True)
class Played:
    """How one tone is played.

    Attributes
    ----------
    hz : pitch, of the axis under vibrato
    seconds : how long
    vibrato_cents, vibrato_hz : half of the vibrato's width, and its rate
    scoop_cents : how far below the pitch it begins
    slope : cents a second, none at the tone's middle
    level : peak, of full scale 1
    """

    hz: float
    seconds: float = 1.5
    vibrato_cents: float = 0.0
    vibrato_hz: float = 5.5
    scoop_cents: float = 0.0
    slope: float = 0.0
    level: float = 0.3


def tone(played: Played, rng: np.random.Generator) -> Array:
    """Samples of one tone.

    Parameters
    ----------
    played : how it is played
    rng : draws the partials' phases and where the vibrato begins

    Returns
    -------
    shape (n,), at `RATE`
    """
    at = np.arange(int(played.seconds * RATE)) / RATE
    swing = np.sin(2.0 * np.pi * (played.vibrato_hz * at + rng.random()))
    cents = played.vibrato_cents * swing + played.slope * (at - played.seconds / 2.0)
    cents -= played.scoop_cents * np.exp(-at / SCOOP_SECONDS)
    pitch = played.hz * 2.0 ** (cents / 1200.0)
    phase = 2.0 * np.pi * np.cumsum(pitch) / RATE
    partials = np.arange(1, max(1, int(HIGHEST_HZ / np.max(pitch))) + 1)
    sound = np.zeros(len(at))
    for number, amplitude in zip(partials, formed(partials * played.hz), strict=True):
        sound += amplitude * np.sin(number * phase + 2.0 * np.pi * rng.random())
    rise = np.clip(np.minimum(at / ATTACK_SECONDS, (played.seconds - at) / RELEASE_SECONDS), 0.0, 1.0)
    return played.level * sound / np.max(np.abs(sound)) * rise


def formed(hz: Array) -> Array:
    """Amplitudes of partials (n,) by their frequencies (n,), 1 about the formant."""
    ratio = hz / FORMANT_HZ
    return 2.0 / (ratio**-RISING + ratio**FALLING)


def performance(tones: Sequence[Played], rng: np.random.Generator, gap_seconds: float = 0.4) -> Array:
    """Tones one after the other with rests between.

    Parameters
    ----------
    tones : in the order they are played
    rng : as `tone` takes it
    gap_seconds : length of a rest

    Returns
    -------
    shape (n,), at `RATE`
    """
    rest = np.zeros(int(gap_seconds * RATE))
    return np.concatenate([rest, *(part for played in tones for part in (tone(played, rng), rest))])


def with_noise(sound: Array, below_db: float, rng: np.random.Generator) -> Array:
    """Sound (n,) with white noise so many dB below its root mean square."""
    return sound + rng.standard_normal(len(sound)) * np.sqrt(np.mean(sound**2)) * 10.0 ** (-below_db / 20.0)


def in_room(sound: Array, decay_seconds: float, rng: np.random.Generator, direct_db: float = 3.0) -> Array:
    """Sound (n,) as it reaches a recorder in a room.

    Parameters
    ----------
    sound : (n,) at `RATE`
    decay_seconds : in which the room's sound falls by 60 dB
    rng : draws the room
    direct_db : by how much the direct sound is stronger than all that the room adds
    """
    at = np.arange(int(decay_seconds * RATE)) / RATE
    tail = rng.standard_normal(len(at)) * 10.0 ** (-3.0 * at / decay_seconds)
    tail *= 10.0 ** (-direct_db / 20.0) / np.sqrt(np.sum(tail**2))
    tail[0] += 1.0
    heard = fftconvolve(sound, tail)[: len(sound)]
    return np.asarray(heard * (np.max(np.abs(sound)) / np.max(np.abs(heard))))
