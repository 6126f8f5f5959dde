"""Whole charts fast, for batches of layouts: the chain's elements at a few frequencies, the sweep at every note's own.

What costs most - wall losses, cones, chimneys, radiation - depends on frequency smoothly. It is worked out by the same
functions as ever, at a few Chebyshev nodes in the square root of frequency, which wall losses follow, for every hole
at every openness that the chart uses. Between the nodes polynomials give the elements of each note, and one sweep from
bell to reed carries the admittance alone. External interaction is left out.

| quantity | shape |
|---|---|
| nodes, levels of openness, stations | K, L, M |
| notes, holes | N, H |
| frequencies: two to a note, see `resonances.around` | (2, N) |
"""

from typing import NamedTuple, TypeAlias

import jax
import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array, Floats
from acoustics.complexes import pair
from acoustics.network import Duct, bell_load, hole_elements, segments, stations, with_reed
from acoustics.resonances import around, phase_error

NODES = 5.0
NODES_PER_OCTAVE = 0.75
MARGIN = 1.01

Parts: TypeAlias = tuple[Array, ...]
"""Real arrays kept apart: one array of them all would be written to memory and read back at every step."""


class Notes(NamedTuple):
    """A chart as data.

    levels (L,) ascending and which of them each hole has, which (N, H); nodes (K,) [Hz]; f (2, N) [Hz] and the share
    of each node there, weights (K, 2, N)
    """

    levels: Floats
    which: np.ndarray
    nodes: Floats
    f: Floats
    weights: Floats


def notes_of(openness: np.ndarray, f_target: np.ndarray) -> Notes:
    """The data of fingerings openness (N, H) at targets (N,) [Hz]."""
    levels, index = np.unique(np.asarray(openness, float), return_inverse=True)
    with jax.ensure_compile_time_eval():
        f = np.asarray(around(np.asarray(f_target, float)[:, None])).T
    low, high = np.sqrt(f.min() / MARGIN), np.sqrt(f.max() * MARGIN)
    count = int(np.ceil(NODES + NODES_PER_OCTAVE * 2.0 * np.log2(high / low)))
    place = np.cos((np.arange(count) + 0.5) * np.pi / count)
    wanted = (2.0 * np.sqrt(f) - low - high) / (high - low)
    orders = np.arange(count)
    at_nodes = np.cos(orders * np.arccos(place)[:, None])
    weights = np.moveaxis(np.cos(orders * np.arccos(wanted)[..., None]) @ np.linalg.inv(at_nodes), -1, 0)
    nodes = (0.5 * (low + high) + 0.5 * (high - low) * place) ** 2
    return Notes(levels, index.reshape(np.shape(openness)), nodes, f, weights)


class Cells(NamedTuple):
    """Every station, sorted from the reed, and what follows it up to the next; arrays at the nodes (M, K).

    segment : A, B/f, C/f, D, each real and imaginary; series : (M,) for every level, half the series reactance over f
    shunt : for every level, real and imaginary: f Y of an opening, Y/f of a closed hole; level : (M, N), as a number
    """

    segment: Parts
    series: Parts
    shunt: Parts
    level: Array


def _cells(duct: Duct, notes: Notes) -> Cells:
    order, _, here, following = stations(duct)
    f, levels, slices = notes.nodes[:, None], notes.levels[:, None, None], duct.slices.size
    a, b, c, d = segments(duct, here, following, f)
    port, series, steps = hole_elements(duct, levels, f)
    shunt = port.admittance * jnp.where(levels > 0.0, f, 1.0 / f)
    shunt = jnp.pad(shunt, ((0, 0), (0, 0), (slices, 0)))[..., order]
    series = jnp.concatenate([jnp.broadcast_to(steps, (len(levels), slices)), series[:, 0]], axis=1)[:, order]
    level = np.concatenate([np.zeros((slices, len(notes.which))), notes.which.T])
    return Cells(
        tuple(part.T for item in (a, b / f, c / f, d) for part in (item.real, item.imag)),
        tuple(series),
        tuple(part.T for item in shunt for part in (item.real, item.imag)),
        jnp.asarray(level)[order],
    )


def _between(rows: Parts, weights: Array) -> list[Array]:
    """Values (2, N) of parts (K,) at the nodes, weights (K, 2, N)."""
    return [sum((row[k] * weights[k] for k in range(1, len(weights))), row[0] * weights[0]) for row in rows]


def _hole(notes: Notes, cell: Cells, weights: Array, f: Array) -> tuple[Array, Array, Array]:
    """Half the series reactance of a station, conductance and susceptance of its shunt, each (2, N)."""
    found: list[Array] = []
    for number, level in enumerate(notes.levels):
        scale = 1.0 / f if level > 0.0 else f
        shunt = _between(cell.shunt[2 * number : 2 * number + 2], weights)
        mine = [cell.series[number] * f, shunt[0] * scale, shunt[1] * scale]
        found = [jnp.where(cell.level == number, *both) for both in zip(mine, found, strict=True)] if found else mine
    return found[0], found[1], found[2]


def _admittance(notes: Notes, cells: Cells, load: Array) -> Array:
    """Admittance (2, N) [m3/(Pa s)] at the input of the bore, load (2, N) [Pa s/m3] at its end.

    In real parts, p = 1 and U = Y at the far side of each segment: one output, which compilers make one loop of.
    """
    f, weights = jnp.asarray(notes.f), jnp.asarray(notes.weights)

    def step(state: Array, cell: Cells) -> tuple[Array, None]:
        ar, ai, br, bi, cr, ci, dr, di = _between(cell.segment, weights)
        x, gr, gi = _hole(notes, cell, weights, f)
        br, bi, cr, ci, yr, yi = br * f, bi * f, cr * f, ci * f, state.real, state.imag
        pr, pi = ar + br * yr - bi * yi, ai + br * yi + bi * yr
        ur, ui = cr + dr * yr - di * yi, ci + dr * yi + di * yr
        pr, pi = pr - x * ui, pi + x * ur
        ur, ui = ur + gr * pr - gi * pi, ui + gr * pi + gi * pr
        pr, pi = pr - x * ui, pi + x * ur
        scale = 1.0 / (pr * pr + pi * pi)
        return pair((ur * pr + ui * pi) * scale, (ui * pr - ur * pi) * scale), None

    found: Array = jax.lax.scan(step, 1.0 / load, cells, reverse=True)[0]
    return found


def chain_errors(ducts: Duct, openness: np.ndarray, f_target: np.ndarray) -> Array:
    """Tuning errors (B, N) [cents] of whole charts without external interaction; see `tuning_error_cents`.

    Parameters
    ----------
    ducts : a Duct whose every field has a leading batch axis (B, ...)
    openness : (N, H); f_target : (N,) [Hz]; both data, not traced

    Within 0.01 cent of `tuning_error_cents` for errors below 200 cents on the tenor demos.
    Differentiable in every field of the ducts;
    batches of 64 to 256 keep within a processor's cache.
    """
    notes = notes_of(openness, f_target)

    def one(duct: Duct) -> Array:
        f = jnp.asarray(notes.f)
        bore = _admittance(notes, _cells(duct, notes), bell_load(duct, f))
        return phase_error(duct, with_reed(duct, bore, f), f)

    errors: Array = jax.vmap(one)(ducts)
    return errors
