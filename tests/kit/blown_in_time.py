"""A reed on a cylinder or a cone, blown sample by sample: waves in delay lines, without the code under test.

An open bore with losses that grow as the root of frequency sends waves back as R = -exp(-s tau - b sqrt(s)). Its
impulse response is known in closed form, -b / (2 sqrt(pi) t^(3/2)) exp(-b^2 / (4 t)) after the delay tau, with the
integral -erfc(b / (2 sqrt(t))) (Abramowitz & Stegun, *Handbook of Mathematical Functions*, 29.3.82 and 29.3.83, from
memory); between samples waves are taken as straight lines, so that no delay is rounded. A cone carries the same waves,
and beside them the air that moves at its truncated tip, as an inertance of the distance of its apex (Fletcher &
Rossing, *The Physics of Musical Instruments*, 1998, section 8.7, from memory). Flows are over Zc of the entry.
"""

from typing import NamedTuple

import numpy as np
from scipy.special import erfc

RATE = 44100


class Bore(NamedTuple):
    """Round trip [s], b [s^1/2]; one over the sound's time to the apex [1/s], 0 for a cylinder; cavity [s of sound]."""

    round_trip: float
    loss: float
    tip: float = 0.0
    cavity: float = 0.0

    def impedance(self, f):
        """At the reed, over Zc of the entry, of the shape of f."""
        s = 2j * np.pi * np.asarray(f, float)
        back = -np.exp(-s * self.round_trip - self.loss * np.sqrt(s))
        return 1.0 / ((1.0 - back) / (1.0 + back) + self.tip / s + s * self.cavity)


def bore(length_mm, radius_mm, apex_mm=np.inf, cavity_mm=0.0):
    """An open bore of smooth walls in air of 20 degC: sound speed 343.2 m/s; attenuation 3e-5 sqrt(f) / radius 1/m
    (Fletcher & Rossing 1998, section 8.2, from memory)."""
    c = 343.2
    per_root_omega = 3e-5 / (radius_mm * 1e-3) / np.sqrt(2.0 * np.pi)
    loss = 2.0 * length_mm * 1e-3 * per_root_omega * np.sqrt(2.0)
    return Bore(2e-3 * length_mm / c, loss, c / (apex_mm * 1e-3), cavity_mm * 1e-3 / c)


def flow(across, strength):
    """Through the reed, both ways, none once it is shut."""
    return strength * np.clip(1.0 - across, 0.0, None) * np.sign(across) * np.sqrt(np.abs(across))


def _twice_gathered(t, loss):
    """The response's integral, integrated from 0 to t."""
    after = np.where(t > 0.0, t, 1.0)
    found = (after + loss**2 / 2.0) * erfc(loss / (2.0 * np.sqrt(after)))
    found -= loss * np.sqrt(after / np.pi) * np.exp(-(loss**2) / (4.0 * after))
    return np.where(t > 0.0, found, 0.0)


def rate_for(shape, near=RATE):
    """The rate [1/s] nearest to one at which the round trip is a whole number of samples."""
    return round(shape.round_trip * near) / shape.round_trip


def _pressure(known, stiff, mouth, strength, low=-3.0, high=3.0):
    """Root of stiff p = known + flow(mouth - p), by halving and Newton's steps; one for a strength below 1."""
    p = min(max(known / stiff, low), high)
    for _ in range(60):
        across = mouth - p
        root = abs(across) ** 0.5
        free = 1.0 - across
        value = stiff * p - known - (strength * free * (root if across > 0 else -root) if free > 0.0 else 0.0)
        if abs(value) < 1e-12:
            break
        low, high = (p, high) if value < 0.0 else (low, p)
        slope = stiff + (strength * (0.5 * free / max(root, 1e-9) - root) if free > 0.0 else 0.0)
        p = p - value / slope
        if not low < p < high:
            p = 0.5 * (low + high)
    return p


def played(shape, mouth, strength, seconds, rate, start, tail=0.15):
    """Pressure at the reed over time; `start` is what went into the bore before, at times up to 0 [s]."""
    delay = shape.round_trip * rate
    count = int(tail * rate)
    gathered = _twice_gathered((np.arange(-1, count + 1) - delay) / rate, shape.loss)
    r = -np.diff(gathered, 2) * rate
    block = int(delay) - 1
    total = int(seconds * rate)
    out, p = np.zeros(total + count), np.zeros(total)
    out[:count] = start(np.arange(-count, 0) / rate)
    inertia, spring = 0.5 * shape.tip / rate, 2.0 * rate * shape.cavity
    stiff = 1.0 + inertia + spring
    gathered = last = rest = 0.0
    turned = r[::-1]
    for begin in range(0, total, block):
        end = min(begin + block, total)
        windows = np.lib.stride_tricks.sliding_window_view(out[begin + 1 : end + count], count)
        backs = windows @ turned
        for at, back in zip(range(begin, end), backs.tolist(), strict=True):
            known = 2.0 * back - gathered - inertia * last + spring * last + rest
            now = _pressure(known, stiff, mouth, strength)
            gathered += inertia * (last + now)
            rest = spring * (now - last) - rest
            last = now
            p[at] = now
            out[at + count] = now - back
    return p
