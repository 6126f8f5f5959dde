"""Resonances of very many fingerings of one duct at once, roughly: a tree from the bell to the reed.

Fingerings that agree from the bell up to a hole share everything below it, and each step of the tree is worked out once
for all that share it. External interaction is left out, and a resonance lies where a straight line between two
frequencies of the grid crosses zero: good to tens of cents, to choose what `resonances.spectrum` is then asked of.

| quantity | shape |
|---|---|
| fingerings, holes, frequencies | N, H, F |
| resonances found | R |
"""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Complexes, Floats
from acoustics.chain import Chain, chain_of
from acoustics.elements import bell_element, hole_element, segment_element
from acoustics.network import Duct, as_arrays
from acoustics.scan import with_reed

AT_ONCE = 1024


class Rough(NamedTuple):
    """Resonances (R,): of which fingering, at which frequency [Hz], which of it from the lowest, 1 first."""

    row: np.ndarray
    frequency: Floats
    number: np.ndarray


class _Step(NamedTuple):
    """From below a hole to above it: matrix (4, F) to the hole, its number, and shunts and series halves (L, F) at each
    level of openness; without a hole, number -1."""

    matrix: Complexes
    hole: int
    shunt: Complexes
    half: Complexes


def rough_resonances(duct: Duct, openness: Floats, f: Floats) -> Rough:
    """Resonances of each fingering between the least and the greatest of some frequencies.

    Parameters
    ----------
    duct : one
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    f : (F,) rising [Hz]
    """
    chain = chain_of(as_arrays(duct))
    levels, which = np.unique(np.asarray(openness, float), return_inverse=True)
    steps = list(_steps(chain, levels, f))
    order = [step.hole for step in steps if step.hole >= 0]
    opened = which.reshape(np.shape(openness))[:, order]
    rows = np.lexsort(opened.T[::-1]) if order else np.arange(len(opened))
    load = bell_element(f, *chain.given("bell"))
    found = []
    for begin in range(0, len(rows), AT_ONCE):
        mine = rows[begin : begin + AT_ONCE]
        p, flow = _climbed(steps, opened[mine], load)
        found.append(_crossings(mine, with_reed(duct, flow / p, f).imag, f))
    return Rough(*(np.concatenate(parts) for parts in zip(*found, strict=True)))


def _steps(chain: Chain, levels: Floats, f: Floats) -> Iterator[_Step]:
    """The chain from the bell to the reed, stations without a hole joined to what comes after them."""
    a, b, c, d = segment_element(f, *chain.given("segment"))
    ports = [hole_element(f, *chain.given("hole"), openness=float(level)) for level in levels]
    scale = [1.0 / f if level > 0.0 else f for level in levels]
    inertance = chain.part("step")
    none = np.zeros((1, f.size), complex)
    nothing = np.eye(2, dtype=complex).reshape(4, 1) + none
    whole = nothing
    for m in range(chain.sizes.stations - 1, -1, -1):
        whole = _times((a[m], b[m] * f, c[m] * f, d[m]), whole)
        hole = int(chain.hole[m])
        if hole < 0:
            whole = _times((1.0, 2j * np.pi * f * inertance[m], 0.0, 1.0), whole)
            continue
        shunt = np.stack([port.shunt[hole] * by for port, by in zip(ports, scale, strict=True)])
        half = np.stack([1j * f * port.half_series[hole, 0] for port in ports])
        yield _Step(whole, hole, shunt, half)
        whole = nothing
    yield _Step(whole, -1, none, none)


def _times(first: tuple[Complexes | float, ...], second: Complexes) -> Complexes:
    """Product of two two-ports, the second (4, F)."""
    a, b, c, d = first
    p, q, r, s = second
    return np.stack([a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s])


def _climbed(steps: list[_Step], opened: np.ndarray, load: Complexes) -> tuple[Complexes, Complexes]:
    """Pressure and flow at the bore's entry (n, F) of some fingerings (n, H), sorted along the chain from the bell."""
    p, flow = load[None], np.ones_like(load)[None]
    group = np.zeros(len(opened), int)
    level = 0
    for step in steps:
        a, b, c, d = step.matrix
        p, flow = a * p + b * flow, c * p + d * flow
        if step.hole < 0:
            continue
        level += 1
        news = np.append(True, np.any(opened[1:, :level] != opened[:-1, :level], axis=1))
        first = np.flatnonzero(news)
        parent, state = group[first], opened[first, level - 1]
        group = np.cumsum(news) - 1
        p, flow = p[parent], flow[parent]
        half = step.half[state]
        p = p + half * flow
        flow = flow + step.shunt[state] * p
        p = p + half * flow
    return p[group], flow[group]


def _crossings(rows: np.ndarray, susceptance: Floats, f: Floats) -> Rough:
    """Where susceptances (n, F) of some fingerings rise through zero."""
    upward = (susceptance[:, :-1] < 0.0) & (susceptance[:, 1:] >= 0.0)
    row, cell = np.nonzero(upward)
    below, above = susceptance[row, cell], susceptance[row, cell + 1]
    at = f[cell] * (f[cell + 1] / f[cell]) ** (below / (below - above))
    return Rough(rows[row], at, np.cumsum(upward, axis=1)[row, cell])
