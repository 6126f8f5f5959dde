"""Whether a blown tone keeps itself up, or another takes over from it.

A small disturbance of a periodic tone grows where det(I + z(s + j n w) G) = 0 with a positive real part of s (Hill's
method; G are the Fourier coefficients of the reed's slope along the tone, z the impedances beside every partial). How
many do is counted as in Nyquist's criterion, by how far the determinant turns as s goes up the imaginary axis for half
the distance of partials; a tone may always be shifted in time, which is the zero at s = 0 that the way begins beside.
"""

import numpy as np

from acoustics.arrays import Complexes, Floats
from acoustics.balance import Impedance, Reeds, waves
from acoustics.valve import valve_flow

SIDES = (10, 40)
"""Partials on either side whose neighbourhood counts; the second where the first do not tell."""
WAY = np.concatenate([np.geomspace(0.002, 0.02, 6)[:-1], np.linspace(0.02, 0.5, 56)])
"""Places along it, in shares of the tone's frequency: several in the width of any resonance."""
TOGETHER = 24
"""Tones that are worked out at once."""


def growing(
    impedance: Impedance, rows: np.ndarray, hz: Floats, partials: Complexes, pressure: Floats, reeds: Reeds,
    rounded: float,
) -> np.ndarray:  # fmt: skip
    """How many disturbances of each tone (R,) grow: 0 of one that keeps itself up, less where that cannot be told.

    Parameters
    ----------
    impedance : what the reeds see
    rows : (R,) numbers of the cases
    hz, partials, pressure : of the tones (R,) [Hz], (R, N), (R,); pressures in shares of the closing pressure
    reeds : (R,) of the tones
    rounded : see `valve.valve_flow`

    How the determinant turns is counted from place to place, so that a tone whose flow has sharp corners may not be
    told.
    """
    found, left = np.full(rows.size, -1), np.arange(rows.size)
    for sides in SIDES:
        for begin in range(0, left.size, TOGETHER):
            at = left[begin : begin + TOGETHER]
            tones = (rows[at], hz[at], partials[at], pressure[at], reeds.of(at))
            found[at] = _growing(impedance, *tones, rounded, sides)
        left = np.flatnonzero(found < 0)
    return found


def _growing(
    impedance: Impedance, rows: np.ndarray, hz: Floats, partials: Complexes, pressure: Floats, reeds: Reeds,
    rounded: float, sides: int,
) -> np.ndarray:  # fmt: skip
    count = partials.shape[1]
    order = np.arange(-min(sides, count), min(sides, count) + 1)
    wave, mouth = waves(count), pressure[:, None]
    pressed = (reeds.answer(np.arange(1, count + 1) * hz[:, None])[0] * partials) @ wave
    flow = valve_flow(mouth - (partials @ wave).real, mouth - pressed.real, rounded)
    slope, press = (np.fft.fft(each) * (reeds.strength[:, None] / wave.shape[1]) for each in flow[1:])
    f = (order + WAY[:, None]) * hz[:, None, None]
    z = impedance(rows, np.abs(f).reshape(rows.size, -1)).reshape(f.shape)
    z, apart = np.where(f < 0.0, z.conj(), z), order[:, None] - order
    loop = slope[:, None, apart] + press[:, None, apart] * reeds.answer(f)[0][:, :, None, :]
    sign = np.linalg.slogdet(np.eye(order.size) + z[..., None] * loop)[0]
    turned = np.sum(np.angle(sign[:, 1:] * sign[:, :-1].conj()), axis=1)
    return np.where(np.isfinite(turned), np.rint(-turned / np.pi - 0.5), -1.0).astype(int)
