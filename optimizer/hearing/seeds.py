"""Where a pitch lies, frame by frame: the autocorrelation, and beside it the difference function as octave alarm.

Autocorrelation of a windowed frame over that of the window (Boersma, Proc. Inst. Phonetic Sciences Amsterdam 17 (1993)
97), its spectrum padded fourfold so that a parabola through three lags is good to a hundredth of a cent of a steady
tone. Longer lags pay a little for each octave, as a tone of period T has the period 2 T, too. The difference function
is that of de Cheveigne & Kawahara, J. Acoust. Soc. Am. 111 (2002) 1917, cumulative mean normalised; the two err at
different notes.
"""

from dataclasses import dataclass

import numpy as np
import scipy

from acoustics.arrays import Array
from optimizer.hearing.recording import RATE, STEP

FRAME_SECONDS = (0.08, 0.2)
PERIODS = 5.0
"""Periods of the lowest pitch that a frame holds, within `FRAME_SECONDS`."""

HOP = 2 * STEP
BATCH = 128
LONE = 5
"""Of so many frames less than half may be in another octave by chance."""

PADDING = 4
OCTAVE_COST = 0.03
FINER = 4
DIFFERENCES = 5
"""Frames of the difference function, and samples within one of the recording's."""

AS_DEEP = 0.05
"""By so much may a shorter period's dip be shallower than the deepest one and still be the period."""


@dataclass(frozen=True)
class Track:
    """Pitch in time.

    Attributes
    ----------
    seconds : (n,) middles of the frames
    hz : (n,) pitch of each
    strength : (n,) autocorrelation at that period, 1 for a tone without noise
    """

    seconds: Array
    hz: Array
    strength: Array


def frame_length(low_hz: float) -> int:
    """Samples of a frame in which pitches down to low_hz can be told."""
    return int(RATE * np.clip(PERIODS / low_hz, *FRAME_SECONDS))


def pitch_track(samples: Array, low_hz: float, high_hz: float) -> Track:
    """Pitch of every frame, whether there is a tone in it or not; a lone one goes with those around it.

    Parameters
    ----------
    samples : (n,) at `RATE`
    low_hz, high_hz : range that is searched
    """
    length = frame_length(low_hz)
    count = max(0, (len(samples) - length) // HOP + 1)
    parts = [
        _by_autocorrelation(_frames(samples, first, min(first + BATCH, count), length), low_hz, high_hz)
        for first in range(0, count, BATCH)
    ]
    hz = np.concatenate([np.zeros(0), *(each[0] for each in parts)])
    strength = np.concatenate([np.zeros(0), *(each[1] for each in parts)])
    return Track(
        (np.arange(count) * HOP + length / 2.0) / RATE, scipy.ndimage.median_filter(hz, LONE, mode="nearest"), strength
    )


def _frames(samples: Array, first: int, last: int, length: int) -> Array:
    """Frames by number, shape (last - first, length), each without its mean."""
    starts = np.arange(first, last)[:, None] * HOP
    frames = samples[starts + np.arange(length)].astype(float)
    return frames - frames.mean(axis=1, keepdims=True)


def _by_autocorrelation(frames: Array, low_hz: float, high_hz: float) -> tuple[Array, Array]:
    """Pitch and strength, each (n,), of frames (n, length)."""
    length = frames.shape[1]
    window = scipy.signal.windows.hann(length)
    size = scipy.fft.next_fast_len(length + int(RATE / low_hz) + 2, real=True)
    least, most = int(PADDING * RATE / high_hz), int(PADDING * RATE / low_hz) + 2
    of_window = _autocorrelations(window[None], size, most)
    found = _autocorrelations(frames * window, size, most)
    heights = found / np.maximum(found[:, :1], 1e-12) * (of_window[:, :1] / of_window)
    lags = np.arange(least, most - 1)
    middle = heights[:, least : most - 1]
    peak = (middle >= heights[:, least - 1 : most - 2]) & (middle > heights[:, least + 1 : most])
    cost = OCTAVE_COST * np.log2(lags / least)
    best = least + np.argmax(np.where(peak, middle - cost, -2.0), axis=1)
    rows = np.arange(len(frames))
    before, top, after = (heights[rows, best + shift] for shift in (-1, 0, 1))
    bend = before - 2.0 * top + after
    shift = np.where(bend < 0.0, 0.5 * (before - after) / np.where(bend < 0.0, bend, -1.0), 0.0)
    return PADDING * RATE / (best + shift), np.clip(top, 0.0, 1.0)


def _autocorrelations(windowed: Array, size: int, most: int) -> Array:
    """Autocorrelation at `PADDING` lags a sample, shape (n, most), of rows (n, length)."""
    power = np.abs(scipy.fft.rfft(windowed, size, axis=1)) ** 2
    return np.asarray(scipy.fft.irfft(power, PADDING * size, axis=1)[:, :most])


def by_difference(samples: Array, low_hz: float, high_hz: float) -> float:
    """Pitch [Hz] of a stretch by the difference function, the median of a few frames.

    Parameters
    ----------
    samples : (n,) of the stretch, at `RATE`
    low_hz, high_hz : range that is searched
    """
    longest = min(int(RATE / low_hz) + 2, len(samples) // 3)
    length = 3 * longest
    starts = np.linspace(0, len(samples) - length, DIFFERENCES).astype(int)
    finer = [scipy.signal.resample_poly(samples[at : at + length].astype(float), FINER, 1) for at in starts]
    return float(np.median([FINER * RATE / _period(part, FINER * longest, FINER * RATE / high_hz) for part in finer]))


def _period(part: Array, longest: int, least: float) -> float:
    """Lag of the first dip of part, (n,), about as deep as the deepest one between two lags."""
    width = len(part) - longest
    size = scipy.fft.next_fast_len(len(part) + width, real=True)
    products = scipy.fft.irfft(scipy.fft.rfft(part, size) * np.conj(scipy.fft.rfft(part[:width], size)), size)[:longest]
    energy = np.cumsum(np.concatenate([[0.0], part**2]))
    difference = energy[width] + (energy[width : width + longest] - energy[:longest]) - 2.0 * products
    normal = difference[1:] * np.arange(1, longest) / np.maximum(np.cumsum(difference[1:]), 1e-12)
    low = max(int(least) - 1, 1)
    inner = normal[low:-1]
    dips = np.flatnonzero((inner <= normal[low - 1 : -2]) & (inner < normal[low + 1 :]))
    first = dips[np.argmax(inner[dips] <= inner[dips].min() + AS_DEEP)] if len(dips) else np.argmin(inner)
    return float(low + first + 1)
