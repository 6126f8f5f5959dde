"""Tones of a reed: as a layout predicts them, steady, with levels of its own; and as they may be played, with partials
under a formant, attack, vibrato, noise, and the room they sound in.

A conical double reed's fundamental is weak, 20 to 30 dB below the formant, and beyond that partials fall by 6 dB an
octave (Fletcher & Rossing, *The Physics of Musical Instruments*, ch. 15, from memory). A room is noise that decays
exponentially (Moorer, Computer Music J. 3 (1979) 13, from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy
from numpy.polynomial.polynomial import polyval

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
    sound = summed(phase, formed(partials * played.hz), 2.0 * np.pi * rng.random(len(partials)))
    return played.level * sound / np.max(np.abs(sound)) * _faded(at, played.seconds)


def summed(phase: Array, amplitude: Array, start: Array) -> Array:
    """Partials added up (n,).

    Parameters
    ----------
    phase : (n,) of the first partial [rad]
    amplitude, start : (P,) of each partial; where its phase begins [rad]
    """
    turn = np.exp(1j * phase)
    return np.asarray((turn * polyval(turn, amplitude * np.exp(1j * start))).imag)


def _faded(at: Array, seconds: float) -> Array:
    """How far a tone is up (n,), at times (n,) of so many seconds."""
    return np.clip(np.minimum(at / ATTACK_SECONDS, (seconds - at) / RELEASE_SECONDS), 0.0, 1.0)


def held(hz: float, level_db: Sequence[float], seconds: float) -> Array:
    """A steady tone of root mean square 1 but for its ends, shape (n,), at `RATE`.

    Parameters
    ----------
    hz : its pitch
    level_db : of each partial, from the first
    seconds : how long

    Nothing is drawn: its partials begin at phases that spread its power over the period (Schroeder, IEEE Trans. Inf.
    Theory 16, 1970, from memory), and those beyond `HIGHEST_HZ` are left out.
    """
    at = np.arange(int(seconds * RATE)) / RATE
    number = np.arange(1, max(1, min(len(level_db), int(HIGHEST_HZ / hz))) + 1)
    amplitude = 10.0 ** (np.asarray(level_db, float)[: len(number)] / 20.0)
    start = -np.pi * number * (number - 1) / len(number)
    sound = summed(2.0 * np.pi * hz * at, amplitude, start)
    return sound / np.sqrt(0.5 * np.sum(amplitude**2)) * _faded(at, seconds)


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
    heard = scipy.signal.fftconvolve(sound, tail)[: len(sound)]
    return np.asarray(heard * (np.max(np.abs(sound)) / np.max(np.abs(heard))))
