"""Whole charts at once: the chain's elements at a few frequencies, the sweeps at every note's own.

What depends on the duct alone - losses, cones, chimneys, radiation - is worked out at `Notes.nodes` frequencies and put
as polynomials in the square root of frequency, which wall losses follow; a sweep then only adds and multiplies.

| quantity | shape |
|---|---|
| nodes, powers of the polynomials | K |
| levels of openness that the chart uses | L |
| stations, notes, holes | M, N, H |
"""
from typing import NamedTuple

import jax
import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from acoustics.bore import Matrix
from acoustics.complexes import pair
from acoustics.network import Duct, hole_elements, segments, stations, with_reed, bell_load
from acoustics.resonances import _around, _phase_error

NODES_BASE = 4.0
NODES_PER_OCTAVE = 0.8
MARGIN = 1.001


class Notes(NamedTuple):
    """A chart as data: levels (L,), which of them each hole has, index (N, H), f_target (N,) [Hz].

    nodes (K,) [Hz]; centre, reach () of sqrt f; to_powers (K, K) from values at the nodes to powers of the variable
    """

    levels: Array
    index: Array
    f_target: Array
    nodes: Array
    centre: Array
    reach: Array
    to_powers: Array


def notes_of(openness: np.ndarray, f_target: np.ndarray) -> Notes:
    levels, index = np.unique(np.asarray(openness, float), return_inverse=True)
    f = np.asarray(f_target, float)
    low, high = np.sqrt(f.min() / MARGIN), np.sqrt(f.max() * MARGIN)
    count = int(np.ceil(NODES_BASE + NODES_PER_OCTAVE * 2.0 * np.log2(high / low)))
    count = 6
    t = np.cos((np.arange(count) + 0.5) * np.pi / count)
    centre, reach = 0.5 * (low + high), 0.5 * (high - low)
    return Notes(
        levels,
        index.reshape(np.shape(openness)),
        f,
        (centre + reach * t) ** 2,
        np.asarray(centre),
        np.asarray(reach),
        np.linalg.inv(np.vander(t, increasing=True)),
    )


class Cells(NamedTuple):
    """Polynomials of every station, sorted from the reed; each from the station to the next.

    segment (M, K, 8): A, B/f, C/f, D, real and imaginary; series (M, L): half series reactance over f; shunt
    (M, L, K, 2): f Y of an opening, Y/f of a closed hole; level (M, N)
    """

    segment: Array
    series: Array
    shunt: Array
    level: Array


def _powers(notes: Notes, values: Array) -> Array:
    """Complex values (K, ...) at the nodes to polynomials (..., K, 2)."""
    parts = jnp.stack([values.real, values.imag])
    return jnp.einsum("kq,pq...->...kp", notes.to_powers, parts)


def cells(duct: Duct, notes: Notes) -> Cells:
    order, rank, here, following = stations(duct)
    f = notes.nodes[:, None]
    a, b, c, d = segments(duct, here, following, f)
    rows = [_powers(notes, item) for item in (a, b / f, c / f, d)]
    ports, series, steps = hole_elements(duct, notes.levels[:, None, None], f)
    opened = notes.levels[:, None, None] > 0.0
    shunt = jnp.moveaxis(ports.admittance * jnp.where(opened, f, 1.0 / f), 1, 0)
    shunt = jnp.moveaxis(_powers(notes, shunt), 1, 0)
    slices, count = duct.slices.size, notes.levels.size
    plain = jnp.zeros((slices, *shunt.shape[1:]))
    all_series = jnp.concatenate([jnp.broadcast_to(steps[:, None], (slices, count)), series[:, 0].T])
    level = np.concatenate([np.zeros((slices, notes.index.shape[0]), int), notes.index.T])
    return Cells(
        jnp.concatenate(rows, axis=-1),
        all_series[order],
        jnp.concatenate([plain, shunt])[order],
        jnp.asarray(level)[order],
    )


def _polynomial(rows: Array, t: Array) -> Array:
    value = rows[-1]
    for k in range(rows.shape[0] - 2, -1, -1):
        value = value * t + rows[k]
    return value


def _elements(notes: Notes, cell: Cells, f: Array, t: Array, tile: int):
    level = jnp.tile(cell.level, tile)
    s = [_polynomial(cell.segment[:, i], t) for i in range(8)]
    x = cell.series[0]
    y = [_polynomial(cell.shunt[0, :, i], t) for i in range(2)]
    scale = jnp.where(notes.levels[0] > 0, 1.0 / f, f)
    y = [v * scale for v in y]
    for l in range(1, notes.levels.size):
        here = level == l
        x = jnp.where(here, cell.series[l], x)
        y = [jnp.where(here, _polynomial(cell.shunt[l, :, i], t) / f, y[i]) for i in range(2)]
    s[2:6] = [v * f for v in s[2:6]]
    return s, x * f, y


def sweep(notes: Notes, chain: Cells, load: Array, f: Array, t: Array) -> Array:
    tile = f.size // notes.f_target.size

    def step(state, cell):
        (ar, ai, br, bi, cr, ci, dr, di), x, (gr, gi) = _elements(notes, cell, f, t, tile)
        ur, ui = state.real, state.imag
        pr, pi = ar + br * ur - bi * ui, ai + br * ui + bi * ur
        vr, vi = cr + dr * ur - di * ui, ci + dr * ui + di * ur
        nr, ni = pr - x * vi, pi + x * vr
        vr, vi = vr + gr * nr - gi * ni, vi + gr * ni + gi * nr
        pr, pi = nr - x * vi, ni + x * vr
        w = 1.0 / (pr * pr + pi * pi)
        return jax.lax.complex((vr * pr + vi * pi) * w, (vi * pr - vr * pi) * w), None

    y, _ = jax.lax.scan(step, 1.0 / load, chain, reverse=True)
    return y


def errors(duct: Duct, notes: Notes) -> Array:
    f = jnp.concatenate([notes.f_target * 2.0 ** (c / 1200) for c in (-0.1, 0.1)])
    t = (jnp.sqrt(f) - notes.centre) / notes.reach
    y = sweep(notes, cells(duct, notes), bell_load(duct, f), f, t)
    n = notes.f_target.size
    Y = with_reed(duct, y, f)
    from acoustics.network import reflectance, reference_admittance
    R = reflectance(Y, reference_admittance(duct, f))
    below, above = R[:n], R[n:]
    phase, fall = jnp.angle(below + above), jnp.angle(below * jnp.conj(above))
    return 2.0 * 0.1 * phase / fall
