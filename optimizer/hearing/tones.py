"""Tones in a recording: what sounds loud enough, holds a pitch long enough, and how high that is.

The level gate stands 20 dB under the level that a tenth of the sound exceeds; a stretch stays within 60 cents for half
a second or more; attack and end are left out. Whatever sounds and gives no tone is listed with why.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from acoustics.arrays import Array
from optimizer.hearing.recording import RATE, STEP, Recording, levels
from optimizer.hearing.seeds import HOP, Track, by_difference, pitch_track
from optimizer.hearing.steady import centre_of, phase_track
from optimizer.records.measurement import Flag

GATE_DB = 20.0
FAINTEST_DB = 60.0
"""Under the loudest step, what is no part of the playing at all."""

WITHIN_CENTS = 60.0
ATTACK_SECONDS, END_SECONDS = 0.25, 0.1
LEAST_SECONDS = 0.5
"""Of a stretch, so that some of it is left without attack and end."""

TOLD_SECONDS = 0.25
"""What sounds for less is no note, and not told."""

GAP_SECONDS = 0.06
VOICED, CLEAR = 0.5, 0.8
"""Autocorrelation from which a frame has a pitch, and has one beyond doubt."""

CRACK_SECONDS = 0.1
CRACK_CENTS = 150.0
UNSTEADY_CENTS, UNSTEADY_SLOPE, UNSTEADY_VIBRATO = 5.0, 10.0, 10.0
"""Deviation that a fit leaves, cents a second, and half of a vibrato's width; a tone beyond is called unsteady."""

CLIPPED_SHARE = 1e-3
OCTAVE_ALARM_CENTS = 300.0


@dataclass(frozen=True)
class Tone:
    """One tone.

    Attributes
    ----------
    begin, end : of its stretch, attack and end included [s]
    hz : its pitch: the axis of a vibrato
    sd_cents : one standard deviation of that, by what the fit leaves
    vibrato_cents : half of the vibrato's width
    slope : cents a second
    other_hz : the same by the difference function
    flags : what is doubtful
    """

    begin: float
    end: float
    hz: float
    sd_cents: float
    vibrato_cents: float
    slope: float
    other_hz: float
    flags: tuple[Flag, ...]

    @property
    def octave_alarm(self) -> bool:
        """Whether the two ways to tell the pitch disagree."""
        return abs(1200.0 * math.log2(self.other_hz / self.hz)) > OCTAVE_ALARM_CENTS


@dataclass(frozen=True)
class Unheard:
    """Something that sounds and is no tone: when [s], at about what pitch, and why."""

    at: float
    hz: float | None
    why: str


@dataclass(frozen=True)
class Heard:
    """What one recording holds.

    Attributes
    ----------
    source : name of the file
    seconds : how long it is [s]
    remarks : what is odd about the file
    track : pitch of every frame
    sounding : (n,) which frames pass the gate and have a pitch
    tones : in order of time
    unheard : what sounds and is no tone
    """

    source: str
    seconds: float
    remarks: list[str]
    track: Track
    sounding: Array
    tones: list[Tone]
    unheard: list[Unheard]


def heard(recording: Recording, low_hz: float, high_hz: float) -> Heard:
    """The tones of a recording.

    Parameters
    ----------
    recording : as it was read
    low_hz, high_hz : between which pitches are looked for
    """
    track = pitch_track(recording.samples, low_hz, high_hz)
    loud = _loud(recording.samples)
    at = np.minimum((track.seconds * RATE / STEP).astype(int), len(loud) - 1)
    gated = loud[at] if len(at) else np.zeros(0, bool)
    sounding = gated & (track.strength >= VOICED)
    stretches = list(_stretches(track, sounding))
    tones, unheard, used = list[Tone](), list[Unheard](), list[range]()
    for number, frames in enumerate(stretches):
        seconds = float(track.seconds[frames[-1]] - track.seconds[frames[0]])
        if seconds < LEAST_SECONDS:
            continue
        cracked = number + 1 < len(stretches) and _cracks(track, frames, stretches[number + 1])
        tones.append(_tone(recording, track, frames, cracked, (low_hz, high_hz)))
        used.append(range(frames[0], frames[-1] + 1))
    for first, last in _regions(gated):
        if not any(part.start <= last and first < part.stop for part in used):
            unheard += _no_tone(track, sounding, first, last)
    return Heard(recording.source, recording.seconds, recording.remarks, track, sounding, tones, unheard)


def _loud(samples: Array) -> Array:
    """Which steps of samples (n,) pass the gate, shape (steps,)."""
    level = levels(samples)
    played = level[level > np.max(level) * 10.0 ** (-FAINTEST_DB / 20.0)]
    return np.asarray(level > np.quantile(played, 0.9) * 10.0 ** (-GATE_DB / 20.0))


def _stretches(track: Track, sounding: Array) -> Iterator[list[int]]:
    """Frames, by number, that follow each other within `WITHIN_CENTS` of what came in the second before."""
    cents = 1200.0 * np.log2(np.maximum(track.hz, 1e-3))
    most = round(GAP_SECONDS * RATE / HOP)
    second = round(RATE / HOP)
    run: list[int] = []
    for frame in np.flatnonzero(sounding):
        if run and frame - run[-1] > most:
            yield run
            run = []
        if not run or abs(cents[frame] - np.median(cents[run[-second:]])) <= WITHIN_CENTS:
            run.append(int(frame))
    if run:
        yield run


def _regions(gated: Array) -> Iterator[tuple[int, int]]:
    """First and last frame of whatever passes the gate, gates (n,) open at a time."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], gated, [False]]).astype(int)))
    for first, after in edges.reshape(-1, 2):
        yield int(first), int(after) - 1


def _cracks(track: Track, frames: list[int], following: list[int]) -> bool:
    """Whether a tone breaks into another pitch that it does not hold."""
    gap = track.seconds[following[0]] - track.seconds[frames[-1]]
    held = track.seconds[following[-1]] - track.seconds[following[0]]
    away = abs(1200.0 * np.log2(np.median(track.hz[following]) / np.median(track.hz[frames])))
    clear = np.median(track.strength[following]) > CLEAR
    return bool(gap <= 2.0 * GAP_SECONDS and CRACK_SECONDS <= held < LEAST_SECONDS and away > CRACK_CENTS and clear)


def _tone(recording: Recording, track: Track, frames: list[int], cracked: bool, limits: tuple[float, float]) -> Tone:
    """The tone of a stretch, given by its frames."""
    begin, end = float(track.seconds[frames[0]]), float(track.seconds[frames[-1]])
    first, last = int((begin + ATTACK_SECONDS) * RATE), int((end - END_SECONDS) * RATE)
    part = recording.samples[first:last].astype(float)
    seconds, hz = phase_track(part, track.seconds[frames] - first / RATE, track.hz[frames])
    middle = float(np.median(hz))
    centre = centre_of(seconds, 1200.0 * np.log2(hz / middle))
    unsteady = centre.left > UNSTEADY_CENTS or abs(centre.slope) > UNSTEADY_SLOPE or centre.vibrato > UNSTEADY_VIBRATO
    clipped = np.mean(recording.clipped[first // STEP : last // STEP + 1]) > CLIPPED_SHARE
    told: dict[Flag, bool] = {"unsteady": unsteady, "cracked": cracked, "clipped": bool(clipped)}
    return Tone(
        begin, end, middle * 2.0 ** (centre.cents / 1200.0), centre.sd, centre.vibrato, centre.slope,
        by_difference(part, *limits), tuple(flag for flag, holds in told.items() if holds),
    )  # fmt: skip


def _no_tone(track: Track, sounding: Array, first: int, last: int) -> list[Unheard]:
    """Why a region is no tone; nothing where it is too short to be meant as one."""
    at, seconds = float(track.seconds[first]), float(track.seconds[last] - track.seconds[first])
    if seconds < TOLD_SECONDS:
        return []
    pitched = first + np.flatnonzero(sounding[first : last + 1])
    if len(pitched) < 0.5 * (last - first + 1):
        return [Unheard(at, None, f"sounds for {seconds:.1f} s without a pitch")]
    cents = 1200.0 * np.log2(track.hz[pitched])
    hz = float(2.0 ** (np.median(cents) / 1200.0))
    if np.quantile(cents, 0.9) - np.quantile(cents, 0.1) > WITHIN_CENTS:
        return [Unheard(at, None, f"sounds for {seconds:.1f} s, and its pitch jumps: unsteady, cracked or two at once")]
    return [Unheard(at, hz, f"sounds for {seconds:.1f} s; a tone needs {LEAST_SECONDS + 0.1:.1f} s")]
