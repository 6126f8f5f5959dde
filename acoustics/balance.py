"""The equations of harmonic balance, and Newton's way to a tone.

For every partial p_n = z_n U_n, with U_n of the flow that all of them together let through the reed, z_n of the
impedance at n times the tone's unknown frequency, and the first partial real (Gilbert, Kergomard & Ngoya, JASA 86
(1989) 35, from memory).

| quantity | shape |
|---|---|
| cases of one balance, tones that are worked out | B, R |
| partials, unknowns | N, 2 N + 1: real parts, imaginary parts but of the first, frequency, mouth's pressure |
"""

from collections.abc import Callable
from copy import copy
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Complexes, Floats
from acoustics.valve import valve_flow

Impedance = Callable[[np.ndarray, Floats], Complexes]
"""From numbers of cases (R,) and frequencies (R, n) [Hz] to impedances (R, n) over the one flows are measured by."""

FREQUENCY_STEP = 1e-5
MOST_NEWTONS, SETTLED = 40, 1e-9
LONGEST, ASTRAY = 0.3, 1.0
"""Of any unknown in one of Newton's steps; and how far its frequency may go astray (its logarithm)."""


class Reeds(NamedTuple):
    """Reeds of some cases: strength zeta (B,), resonance (B,) [Hz] (inf: no inertia), its 1/Q (B,)."""

    strength: Floats
    resonance_hz: Floats
    damping: Floats

    def of(self, rows: np.ndarray) -> "Reeds":
        """Those of some cases.

        Parameters
        ----------
        rows : (R,) which
        """
        return Reeds(*(each[rows] for each in self))

    def answer(self, f: Floats) -> tuple[Complexes, Complexes]:
        """How they answer pressure at f (B, ...) [Hz], 1 without inertia, and its slope by the logarithm of f."""
        shape = (-1, *(1,) * (f.ndim - 1))
        ratio, damping = f / self.resonance_hz.reshape(shape), self.damping.reshape(shape)
        found = np.asarray(1.0 / (1.0 - ratio**2 + 1j * ratio * damping), complex)
        return found, np.asarray(found**2 * (2.0 * ratio**2 - 1j * ratio * damping), complex)


def partials_of(x: Floats) -> Complexes:
    """Partials (..., N) of unknowns (..., 2 N + 1)."""
    count = (x.shape[-1] - 1) // 2
    p = x[..., :count].astype(complex)
    p[..., 1:] += 1j * x[..., count : 2 * count - 1]
    return p


def waves(count: int, least: int = 64) -> Complexes:
    """Partials (N, K) along one period, often enough for the corners of the flow.

    Parameters
    ----------
    count : how many
    least : samples at the least
    """
    samples = 2 ** int(np.ceil(np.log2(max(8 * count, least))))
    return np.asarray(np.exp(2j * np.pi / samples * np.arange(1, count + 1)[:, None] * np.arange(samples)))


class Balance:
    """The equations of some cases, and their slopes; frequencies as logarithms of how far they lie from the resonance.

    Parameters
    ----------
    impedance : what the reeds see
    cases : (B,) by what numbers `impedance` knows them
    resonance_hz : (B,) [Hz]
    reeds : theirs
    count : (B,) partials that are balanced; those beyond meet no impedance
    rounded : see `valve.valve_flow`
    """

    def __init__(
        self, impedance: Impedance, cases: np.ndarray, resonance_hz: Floats, reeds: Reeds, count: np.ndarray,
        rounded: float,
    ) -> None:  # fmt: skip
        self.impedance, self.cases, self.resonance_hz, self.reeds = impedance, cases, resonance_hz, reeds
        self.rounded = rounded
        self.number = np.arange(1, int(count.max()) + 1)
        self.heard = self.number <= count[:, None]
        self.wave = waves(self.number.size)
        self.apart = self.number[:, None] - self.number
        self.along = self.number[:, None] + self.number

    def seeing(self, impedance: Impedance) -> "Balance":
        """The same of reeds that see another impedance."""
        found = copy(self)
        found.impedance = impedance
        return found

    def frequencies(self, rows: np.ndarray, away: Floats) -> Floats:
        """Of the partials (R, N) [Hz]."""
        return np.asarray(self.number * (self.resonance_hz[rows] * np.exp(away))[:, None])

    def seen(self, rows: np.ndarray, f: Floats) -> tuple[Complexes, Complexes]:
        """Impedances (R, N) at the partials' frequencies, and their slopes by the logarithm of frequency."""
        heard = self.heard[rows]
        near = np.where(heard, f, f[:, :1])
        pair = np.concatenate([near * (1.0 - FREQUENCY_STEP), near * (1.0 + FREQUENCY_STEP)], axis=1)
        low, high = np.split(self.impedance(self.cases[rows], pair), 2, axis=1)
        slope = (high - low) / (2.0 * FREQUENCY_STEP)
        return np.where(heard, 0.5 * (low + high), 0.0), np.where(heard, slope, 0.0)

    def __call__(self, rows: np.ndarray, x: Floats) -> tuple[Floats, Floats]:
        """What is left (R, 2 N) of the equations, and its slopes (R, 2 N, 2 N + 1)."""
        p, mouth, f = partials_of(x), x[:, -1:], self.frequencies(rows, x[:, -2])
        (z, z_slope), (d, d_slope) = self.seen(rows, f), self.reeds.of(rows).answer(f)
        flow = valve_flow(mouth - (p @ self.wave).real, mouth - ((d * p) @ self.wave).real, self.rounded)
        drive = self.reeds.strength[rows, None] / self.wave.shape[1]
        value, slope, press = (np.fft.fft(each) * drive for each in flow)
        u = 2.0 * value[:, self.number]
        press_minus, press_plus = press[:, self.apart], press[:, self.along]
        minus = slope[:, self.apart] + press_minus * d[:, None, :]
        plus = slope[:, self.along] + press_plus * d.conj()[:, None, :]
        turn = (d_slope * p)[..., None]
        by_away = z[..., None] * (press_minus @ turn + press_plus @ turn.conj()) - (z_slope * u)[..., None]
        by_mouth = -2.0 * (z * (slope + press)[:, self.number])[..., None]
        one, each = np.eye(self.number.size), z[..., None]
        parts = [one + each * (minus + plus), 1j * (one + each * (minus - plus))[..., 1:], by_away, by_mouth]
        weight = 1.0 / (1.0 + np.abs(z))
        left, jacobian = (p - z * u) * weight, np.concatenate(parts, axis=-1) * weight[..., None]
        return np.concatenate([left.real, left.imag], axis=1), np.concatenate([jacobian.real, jacobian.imag], axis=1)

    def settled(self, rows: np.ndarray, guess: Floats) -> Floats:
        """Tones (R, 2 N + 1) near guesses, at the mouth's pressures of these; nan where none was found."""
        x, found = guess.copy(), np.full(guess.shape, np.nan)
        going = np.flatnonzero(np.all(np.isfinite(guess), axis=1))
        for _ in range(MOST_NEWTONS):
            if not going.size:
                break
            left, slope = self(rows[going], x[going])
            sound = np.all(np.isfinite(slope), axis=(1, 2)) & np.all(np.isfinite(left), axis=1)
            done = sound & (np.max(np.abs(left), axis=1, initial=0.0) < SETTLED)
            found[going[done]] = x[going[done]]
            sound &= ~done
            going = going[sound]
            moved = _solved(slope[sound, :, :-1], -left[sound, :, None])[..., 0]
            far = np.max(np.abs(moved), axis=1, initial=1e-300)
            x[going, :-1] += np.minimum(1.0, LONGEST / far)[:, None] * moved
            going = going[np.abs(x[going, -2]) < ASTRAY]
        return found


def _solved(matrices: Floats, wanted: Floats) -> Floats:
    """Solutions (R, m, k) of linear systems (R, m, m); nan for one that has none."""
    try:
        return np.asarray(np.linalg.solve(matrices, wanted))
    except np.linalg.LinAlgError:
        if len(matrices) == 1:
            return np.full(wanted.shape, np.nan)
        half = len(matrices) // 2
        return np.concatenate([_solved(matrices[:half], wanted[:half]), _solved(matrices[half:], wanted[half:])])
