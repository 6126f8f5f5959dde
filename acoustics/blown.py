"""Blown notes: the steady tones of a reed on a duct, over the pressure in the mouth.

A tone begins as a small sine where Y = zeta (sqrt(g) D - (1 - g) / (2 sqrt(g))), with g the mouth's pressure and D the
reed's answer: without inertia on the resonance, at 1/3 and some more for losses (Wilson & Beavers, JASA 56 (1974) 653;
Kergomard in *Mechanics of Musical Instruments*, CISM 1995, from memory). A full tone need not grow out of that sine: on
cones another takes over, a motion in two steps, open for a long while and shut for a short one (Helmholtz's; Dalmont,
Gilbert & Kergomard, Acta Acust. 86 (2000) 671, from memory). So tones are looked for from such steps, of several shares
of the period, at one pressure, and followed from there to the others; of those found the one counts that keeps itself
up (`steadiness`) and has the most of its first partial. No steady pressure stands in the bore.

| quantity | shape |
|---|---|
| cases: a note with a reed each | B |
| partials | N |
| mouth pressures | G |
"""

from typing import NamedTuple

import numpy as np

from acoustics.arrays import Complexes, Floats
from acoustics.balance import Balance, Impedance, Reeds, partials_of
from acoustics.steadiness import growing
from acoustics.valve import ROUNDED

PARTIALS, TOGETHER = 40, 12
"""Most partials that are balanced, and by how many apart cases are worked out together."""
HIGHEST_HZ = 6000.0
"""Partials beyond meet no impedance: there bores no longer carry plane waves alone."""
SHUT, TALL = (0.1, 0.16, 0.24, 0.34, 0.5), (0.8, 0.5)
"""For which shares of the period the reed is shut in the steps that tones are looked for from; how tall these are,
over the mouth's pressure, which they would reach without losses."""
SUBSTEPS = 12
"""From one pressure to the next."""
FAINT, SHARE, FAR, SAME = 0.005, 0.05, 0.12, 1e-6
"""A tone with less of its first partial, or with less of it over its tallest, is another's; so is one whose frequency
leaves the resonance by more (its logarithm; 200 cents); two that differ by less are one."""


class Blown(NamedTuple):
    """What is heard.

    starts : (B,) pressure at which a small tone starts by itself; nan where none below the closing pressure does
    starts_hz : (B,) its frequency there
    pressure : (B, G) pressures asked for
    hz : (B, G) frequency at each; nan where no tone was found
    steady : (B, G) whether it keeps itself up
    partials : (B, G, N) pressures at the reed, 0 for those that were not balanced; nan where no tone was found
    """

    starts: Floats
    starts_hz: Floats
    pressure: Floats
    hz: Floats
    steady: np.ndarray
    partials: Complexes

    def of(self, rows: slice) -> "Blown":
        """That of some cases."""
        return Blown(
            self.starts[rows], self.starts_hz[rows], self.pressure[rows], self.hz[rows], self.steady[rows],
            self.partials[rows],
        )  # fmt: skip


def blown(
    impedance: Impedance,
    resonance_hz: Floats,
    reeds: Reeds,
    ways: Floats,
    partials: int = PARTIALS,
    highest_hz: float = HIGHEST_HZ,
    rounded: float = ROUNDED,
    rough: Impedance | None = None,
) -> Blown:
    """Tones of some cases, each near a resonance, at some mouth pressures.

    Parameters
    ----------
    impedance : what the reed sees
    resonance_hz : (B,) upward zero of Im Y that the tone belongs to [Hz]
    reeds : theirs
    ways : (G,) pressures in the mouth, ascending, as shares of the way from where the tone starts to where the reed
        shuts
    partials : how many are balanced at the most
    highest_hz : of the partials that are balanced
    rounded : see `valve.valve_flow`
    rough : much like `impedance`, and soon at hand, to look for tones with
    """
    near, shape = np.asarray(resonance_hz, float), (len(resonance_hz), len(ways))
    every = Reeds(*(np.broadcast_to(np.asarray(each, float), near.shape) for each in reeds))
    count = np.clip(highest_hz // near, 1, partials).astype(int)
    together = np.minimum(-(-count // TOGETHER) * TOGETHER, partials)
    found = Blown(
        starts=np.full(near.shape, np.nan), starts_hz=np.full(near.shape, np.nan), pressure=np.full(shape, np.nan),
        hz=np.full(shape, np.nan), steady=np.zeros(shape, bool), partials=np.zeros((*shape, partials), complex),
    )  # fmt: skip
    for size in np.unique(together):
        rows = np.flatnonzero(together == size)
        balance = Balance(impedance, rows, near[rows], every.of(rows), count[rows], rounded)
        with np.errstate(all="ignore"):
            _sound(balance, balance if rough is None else balance.seeing(rough), np.asarray(ways, float), found)
    return found


def _sound(balance: Balance, rough: Balance, ways: Floats, found: Blown) -> None:
    """Work the tones of a balance out, and write them down among those of all cases."""
    starts, away = threshold(balance)
    rows = np.flatnonzero((starts > 0.0) & (starts < 1.0) & (np.abs(away) < FAR))
    pressure = starts[rows, None] + ways * (1.0 - starts[rows, None])
    x, steady = _tones(rough, rows, pressure)
    case, level = np.nonzero(~np.isnan(x[..., 0]))
    x[case, level] = _own(balance.settled(rows[case], x[case, level]))
    own = balance.cases[rows]
    found.starts[own], found.starts_hz[own] = starts[rows], balance.resonance_hz[rows] * np.exp(away[rows])
    found.pressure[own], found.steady[own] = pressure, steady
    found.hz[own] = balance.resonance_hz[rows, None] * np.exp(x[..., -2])
    found.partials[own, :, : balance.number.size] = partials_of(x)


def threshold(balance: Balance) -> tuple[Floats, Floats]:
    """Pressure (B,) at which a small tone starts, and its frequency's logarithm over the resonance (B,).

    Parameters
    ----------
    balance : of the cases
    """
    rows, drive = np.arange(balance.resonance_hz.size), balance.reeds.strength
    away, root = np.zeros(rows.size), np.zeros(rows.size)
    for step in range(8):
        f = balance.frequencies(rows, away)
        z, z_slope = (each[:, 0] for each in balance.seen(rows, f))
        d, d_slope = (each[:, 0] for each in balance.reeds.answer(f))
        if step == 0:  # without inertia that is all
            share = (1.0 / z).real / drive
            root = (share + np.sqrt(share**2 + 3.0)) / 3.0
        left = 1.0 / z - drive * (root * d - 0.5 / root + 0.5 * root)
        by_root, by_away = -drive * (d + 0.5 / root**2 + 0.5), -z_slope / z**2 - drive * root * d_slope
        both = by_root.real * by_away.imag - by_root.imag * by_away.real
        root = root - (left.real * by_away.imag - left.imag * by_away.real) / both
        away = away - (by_root.real * left.imag - by_root.imag * left.real) / both
    return root**2, away


def _tones(balance: Balance, rows: np.ndarray, pressure: Floats) -> tuple[Floats, np.ndarray]:
    """Tones (R, G, 2 N + 1) of some cases at their pressures (R, G), nan where none was found; whether each is steady.

    They are looked for at the middle pressure first, then at the greatest and the least, where that gave none.
    """
    levels = pressure.shape[1]
    x = np.full((*pressure.shape, 2 * balance.number.size + 1), np.nan)
    steady = np.zeros(pressure.shape, bool)
    for begin in dict.fromkeys((levels // 2, levels - 1, 0)):
        left = np.flatnonzero(~steady[:, begin])
        before, keeps = _looked_for(balance, rows[left], pressure[left, begin])
        _take(x, steady, left, begin, before, keeps)
        for way in (range(begin + 1, levels), range(begin - 1, -1, -1)):
            now = before
            for level in way:
                now = _carried(balance, rows[left], now, pressure[left, level])
                _take(x, steady, left, level, now, _keeps(balance, rows[left], now))
    return x, steady


def _take(x: Floats, steady: np.ndarray, rows: np.ndarray, level: int, new: Floats, keeps: np.ndarray) -> None:
    """Write tones of some cases down at a pressure, where there is none yet that keeps itself up."""
    better = ~steady[rows, level] & (keeps | np.isnan(x[rows, level, 0]))
    x[rows[better], level], steady[rows[better], level] = new[better], keeps[better]


def _looked_for(balance: Balance, rows: np.ndarray, pressure: Floats) -> tuple[Floats, np.ndarray]:
    """The fullest steady tone (R, 2 N + 1) of each case at a pressure (R,), and whether it is; nan for none at all."""
    steps = [_steps(balance.number, shut, tall * pressure, pressure) for shut in SHUT for tall in TALL]
    square = np.sqrt(np.clip((3.0 * pressure - 1.0) * (1.0 - pressure), 0.0, None))
    # Squares as on a cylinder without losses, whose reed shuts, or stays open; these less tall, too.
    squares = (pressure, square, 0.8 * square, 0.5 * square)
    guess = np.array([*steps, *(_steps(balance.number, 0.5, tall, pressure) for tall in squares)])
    every = _own(balance.settled(np.tile(rows, len(guess)), np.concatenate(guess))).reshape(guess.shape)
    fullest = np.argsort(np.where(np.isnan(every[..., 0]), np.inf, -every[..., 0]), axis=0)
    found, steady = np.full(every.shape[1:], np.nan), np.zeros(rows.size, bool)
    before = np.full(rows.size, np.nan)
    for rank in fullest:
        x = every[rank, np.arange(rows.size)]
        another = ~steady & ~np.isnan(x[:, 0]) & ~(np.abs(x[:, -2] - before) < SAME)
        before = x[:, -2]
        keeps = np.zeros(rows.size, bool)
        keeps[another] = _keeps(balance, rows[another], x[another])
        taken = keeps | (another & np.isnan(found[:, 0]))
        found[taken], steady = x[taken], steady | keeps
    return found, steady


def _steps(number: np.ndarray, shut: float, tall: Floats, pressure: Floats) -> Floats:
    """Tones (R, 2 N + 1) in two steps, so tall while the reed is open (R,), shut for a share of the period; rounded."""
    share = np.sin(number * np.pi * shut) / (number * np.pi * shut) * np.sinc(number / (number.size + 1.0))
    found = np.zeros((pressure.size, 2 * number.size + 1))
    found[:, : number.size] = -2.0 * tall[:, None] * (-1.0) ** number * share
    found[:, -1] = pressure
    return found


def _carried(balance: Balance, rows: np.ndarray, x: Floats, pressure: Floats) -> Floats:
    """Tones (R, 2 N + 1) followed to other pressures (R,)."""
    begin, last, x = x[:, -1:], x.copy(), x.copy()
    ahead = (pressure[:, None] - begin) / SUBSTEPS
    for step in range(1, SUBSTEPS + 1):
        guess = 2.0 * x - last
        guess[:, -1:] = begin + step * ahead
        last, x = x, _own(balance.settled(rows, guess))
    return x


def _own(x: Floats) -> Floats:
    """Tones (R, 2 N + 1), nan in place of those that belong elsewhere."""
    first, tallest = x[:, 0], np.max(np.abs(partials_of(x)), axis=1)
    own = (first > FAINT) & (first > SHARE * tallest) & (np.abs(x[:, -2]) < FAR)
    return np.where(own[:, None], x, np.nan)


def _keeps(balance: Balance, rows: np.ndarray, x: Floats) -> np.ndarray:
    """Whether tones (R, 2 N + 1) keep themselves up; False for none."""
    there = np.flatnonzero(~np.isnan(x[:, 0]))
    found, own = np.zeros(rows.size, bool), rows[there]
    hz = balance.frequencies(own, x[there, -2])[:, 0]
    of = balance.reeds.of(own)
    more = growing(balance.impedance, balance.cases[own], hz, partials_of(x[there]), x[there, -1], of, balance.rounded)
    found[there] = more == 0
    return found
