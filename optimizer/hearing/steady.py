"""The pitch of one steady tone to a hundredth of a cent: all partials followed by their phases, then a robust fit.

A blown tone is periodic, so each partial k tells the same pitch, by k times the phase: in white noise the best weight
is k^2 A_k^2 (Christensen & Jakobsson, *Multi-Pitch Estimation*, 2009, from memory). The sound is turned back by the
phase of a first track, so that little is left to follow even under vibrato. A vibrato's values crowd at its ends, so
that a median errs; centre, slope and one sinusoid are fitted instead, by Huber's weights (Ann. Math. Statist. 35 (1964)
73).
"""

from dataclasses import dataclass

import numpy as np
import scipy
from numpy.lib.stride_tricks import sliding_window_view

from acoustics.arrays import Array
from optimizer.hearing.recording import RATE, STEP

HIGHEST_HZ = (2000.0, 5000.0, 8000.0)
"""Up to where partials are followed in each round: the first track is coarse, and high ones wind too fast for it."""

PARTIALS = 24
WINDOW = int(0.08 * RATE)
VIBRATO_HZ = np.arange(3.5, 8.01, 0.1)
ROUNDS = 4
HUBER = 1.345
"""Deviations beyond which a value counts less: 95 % of the efficiency of least squares for normal errors."""

WORTH = 0.7
"""A vibrato is one where it leaves less than this share of the deviation."""

LEAST_SWINGS = 1.5
"""So many times must a vibrato swing within a stretch to be told from a slope."""

APART = WINDOW / STEP / 2.0
"""Figures of a track that overlap so far that they count as one."""


@dataclass(frozen=True)
class Centre:
    """A tone's pitch as fitted.

    Attributes
    ----------
    cents : of the axis that the pitch swings about, at the stretch's middle, above the track's reference
    sd : one standard deviation of that
    slope : cents a second
    vibrato : half of its width [cents], 0 where there is none
    left : root mean square of what the fit leaves [cents]
    """

    cents: float
    sd: float
    slope: float
    vibrato: float
    left: float


def phase_track(samples: Array, seconds: Array, hz: Array) -> tuple[Array, Array]:
    """Pitch of a tone by the advance of its partials' phases.

    Parameters
    ----------
    samples : (n,) of the stretch, at `RATE`
    seconds, hz : (m,), a first track, its times counted from the stretch's begin

    Returns
    -------
    times [s] and pitch [Hz], each (k,)
    """
    at = np.arange(len(samples)) / RATE
    count = (len(samples) - WINDOW) // STEP
    middles = ((np.arange(count) + 0.5) * STEP + (WINDOW - 1) / 2.0) / RATE
    track_at, track = seconds, hz
    for highest in HIGHEST_HZ:
        pitch = np.interp(at, track_at, track)
        partials = int(np.clip(highest / np.max(pitch), 1, PARTIALS))
        rest = _residual(samples, pitch, partials, count)
        track = np.interp(middles, at, pitch) + rest
        track_at = middles
    return middles, track


def _residual(samples: Array, pitch: Array, partials: int, count: int) -> Array:
    """How far the partials run ahead of a pitch (n,), as a pitch (count,) [Hz]."""
    turn = np.exp(-2j * np.pi * np.cumsum(pitch) / RATE)
    window = scipy.signal.windows.hann(WINDOW)
    ahead, weight, wound = np.zeros(count), np.zeros(count), np.ones(len(samples), complex)
    for k in range(1, partials + 1):
        wound = wound * turn
        steady = sliding_window_view(samples * wound, WINDOW)[::STEP] @ window
        advance = steady[1:] * np.conj(steady[:-1])
        ahead += k * np.abs(advance) * np.angle(advance)
        weight += k**2 * np.abs(advance)
    return ahead / np.maximum(weight, 1e-30) * RATE / (2.0 * np.pi * STEP)


def centre_of(seconds: Array, cents: Array) -> Centre:
    """Centre, slope and vibrato of a track.

    Parameters
    ----------
    seconds, cents : (n,), a track of one tone
    """
    time = seconds - seconds.mean()
    plain = np.stack([np.ones_like(time), time], axis=1)
    straight, left, weights = _robust(plain[None], cents)
    slow = LEAST_SWINGS / max(time[-1] - time[0], 1e-9)
    swings = VIBRATO_HZ[slow <= VIBRATO_HZ]
    vibrato, best = 0.0, straight[0]
    if len(swings):
        angles = 2.0 * np.pi * swings[:, None] * time
        each = np.stack(
            [*np.broadcast_arrays(plain[None, :, 0], plain[None, :, 1], np.cos(angles), np.sin(angles))][2:], -1
        )
        designs = np.concatenate([np.broadcast_to(plain, (len(swings), *plain.shape)), each], axis=2)
        found, rests, weighed = _robust(designs, cents)
        chosen = int(np.argmin(rests))
        if rests[chosen] < WORTH * left[0]:
            best, left, weights = found[chosen], rests[chosen : chosen + 1], weighed[chosen : chosen + 1]
            vibrato = float(np.hypot(best[2], best[3]))
    many = max(float(weights.sum()) / APART, 1.0)
    return Centre(float(best[0]), float(left[0]) / np.sqrt(many), float(best[1]), vibrato, float(left[0]))


def _robust(designs: Array, values: Array) -> tuple[Array, Array, Array]:
    """Huber's fits of values (n,) by designs (m, n, p): parameters (m, p), deviations left (m,), weights (m, n)."""
    weights = np.ones(designs.shape[:2])
    for _ in range(ROUNDS):
        weighted = designs * weights[:, :, None]
        normal = np.swapaxes(weighted, 1, 2) @ designs
        found = np.linalg.solve(normal, np.swapaxes(weighted, 1, 2) @ values[None, :, None])[..., 0]
        rest = values - (designs @ found[..., None])[..., 0]
        scale = np.maximum(1.4826 * np.median(np.abs(rest), axis=1, keepdims=True), 1e-6)
        weights = np.minimum(1.0, HUBER * scale / np.maximum(np.abs(rest), 1e-12))
    return found, np.sqrt(np.sum(weights * rest**2, axis=1) / np.sum(weights, axis=1)), weights
