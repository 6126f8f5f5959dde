"""A chart as data, and the elements of a duct's chain as it needs them.

What costs most - wall losses, cones, chimneys, radiation - depends on frequency smoothly. It is worked out at a few
Chebyshev nodes in the square root of frequency, which wall losses follow, for every hole at every openness that the
chart uses, with slopes by each element's own few numbers.

| quantity | shape |
|---|---|
| nodes, levels of openness, stations | K, L, M |
| notes, holes | N, H |
| openings (holes and the bell, last), pairs of them | P = H + 1, Q |
| columns: all notes at the lower frequency of the secant, then all at the upper | 2 N |
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from acoustics.arrays import Array, Complexes, Floats
from acoustics.chain import Chain
from acoustics.duals import value_of, variables
from acoustics.elements import (
    HoleElement,
    ReedElement,
    bell_element,
    hole_element,
    own_element,
    pair_element,
    reed_element,
    segment_element,
)
from acoustics.sweeps import reflectance

SECANT_CENTS = 0.1
NODES = 4.0
NODES_PER_OCTAVE = 2.0
MARGIN = 1.01


@dataclass(frozen=True, eq=False)
class Notes:
    """A chart as data; one object for each chart, see `notes_of`.

    openness (N, H); levels (L,) ascending and which of them each hole has, which (N, H); nodes (K,) [Hz]; f (2 N,) [Hz]
    and the share of each node there, weights (K, 2 N)
    """

    openness: Floats
    levels: Floats
    which: np.ndarray
    nodes: Floats
    f: Floats
    weights: Floats


def around(f: Floats) -> Floats:
    """The two frequencies (2, ...) [Hz] of the secant about f (...) [Hz]."""
    shape = (2, *(1,) * np.ndim(f))
    found: Floats = f * 2.0 ** (np.array([-SECANT_CENTS, SECANT_CENTS]).reshape(shape) / 1200.0)
    return found


def notes_of(openness: Floats, f_target: Floats) -> Notes:
    """The data of a chart; the same object for the same chart.

    Parameters
    ----------
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    f_target : (N,) [Hz]
    """
    openness, f_target = np.asarray(openness, float), np.asarray(f_target, float)
    return _notes(openness.shape, openness.tobytes(), f_target.tobytes())


@lru_cache(maxsize=64)
def _notes(shape: tuple[int, ...], states: bytes, targets: bytes) -> Notes:
    openness, f_target = np.frombuffer(states).reshape(shape), np.frombuffer(targets)
    levels, index = np.unique(openness, return_inverse=True)
    f = around(f_target).ravel()
    low, high = np.sqrt(f.min() / MARGIN), np.sqrt(f.max() * MARGIN)
    count = int(np.ceil(NODES + NODES_PER_OCTAVE * 2.0 * np.log2(high / low)))
    place = np.cos((np.arange(count) + 0.5) * np.pi / count)
    wanted = (2.0 * np.sqrt(f) - low - high) / (high - low)
    orders = np.arange(count)
    at_nodes = np.cos(orders * np.arccos(place)[:, None])
    weights = (np.cos(orders * np.arccos(wanted)[:, None]) @ np.linalg.inv(at_nodes)).T
    nodes = (0.5 * (low + high) + 0.5 * (high - low) * place) ** 2
    return Notes(openness, levels, index.reshape(openness.shape), nodes, f, np.ascontiguousarray(weights))


class Parts(NamedTuple):
    """Elements, as duals by their own numbers where slopes are wanted: segment (M, K), holes (H, K) for each level,
    bell (2 N,), reed (2 N,), mutual (N, P, P), pairs (Q, N) and own (H, N) that it is made of."""

    segment: Any
    holes: list[HoleElement]
    bell: Any
    reed: ReedElement
    mutual: Complexes
    pairs: Any
    pairs_with_bell: Any
    own: Any


def _free(numbers: Sequence[Array], slopes: bool) -> Sequence[Any]:
    """Numbers of an element, as the variables of duals where slopes are wanted."""
    return variables(numbers) if slopes else numbers


def elements_of(chain: Chain, notes: Notes, slopes: bool) -> Parts:
    """The elements of a chain at the nodes, or at the notes where they are cheap: see `Parts`.

    Parameters
    ----------
    chain : of one duct
    notes : the chart as data
    slopes : whether they are wanted as duals by their own numbers
    """
    f, upper = notes.nodes, notes.f[len(notes.openness) :]
    segment = segment_element(f, *_free(np.broadcast_arrays(*chain.given("segment")), slopes))
    free = _free(np.broadcast_arrays(*chain.given("hole")), slopes)
    holes = [hole_element(f, *free, openness=float(level)) for level in notes.levels]
    load = bell_element(notes.f, *_free(chain.given("bell"), slopes))
    reed = reed_element(notes.f, *_free(chain.given("reed"), slopes))
    among, with_the_bell, alone = outside_numbers(chain)
    numbers = _free(np.broadcast_arrays(*among), slopes)
    pairs = pair_element(upper, *numbers)
    if (apart := ways_outside(chain).apart[: len(among[0])]).any():
        pairs = np.where(apart[:, None], pair_element(upper, *numbers, with_bell=True), pairs)
    with_bell = pair_element(upper, *_free(np.broadcast_arrays(*with_the_bell), slopes), with_bell=True)
    own = own_element(upper, *_free(np.broadcast_arrays(*alone), slopes))
    mutual = mutual_matrix(value_of(pairs), value_of(with_bell), value_of(own))
    return Parts(segment, holes, load, reed, mutual, pairs, with_bell, own)


def pair_table(holes: int) -> tuple[np.ndarray, np.ndarray]:
    """Both openings of every pair (Q,), those with the bell last."""
    one, other = np.triu_indices(holes, 1)
    every = np.arange(holes)
    return np.concatenate([one, every]), np.concatenate([other, np.full(holes, holes)])


class WaysOutside(NamedTuple):
    """How far each pair of openings lies apart (Q,), in the order of `pair_table`: along the body [m], or, where they
    are on two tubes, straight through the air; which those are; and how either one's numbers move that (5, Q)."""

    along: Floats
    apart: np.ndarray
    by_one: Floats
    by_other: Floats


def ways_outside(chain: Chain) -> WaysOutside:
    """The ways between the openings of a duct; see `WaysOutside`. What the other tubes shade is left out."""
    opening = chain.part("opening")
    depth, azimuth, radius, front, right = value_of(opening)
    one, other = pair_table(chain.sizes.holes)
    out = np.append(np.ones(chain.sizes.holes), 0.0)  # the bell sounds on its axis
    ends = np.stack([depth, front + out * radius * np.cos(azimuth), right + out * radius * np.sin(azimuth)])
    apart = (front[one] != front[other]) | (right[one] != right[other])
    way = ends[:, one] - ends[:, other]
    straight = np.sqrt(np.sum(way * way, axis=0))
    unit = np.where(apart, way / np.where(apart, straight, 1.0), [[1.0], [0.0], [0.0]])

    def moved(which: np.ndarray) -> Floats:
        cosine, sine, size = out[which] * np.cos(azimuth[which]), out[which] * np.sin(azimuth[which]), radius[which]
        _, ahead, aside = unit
        turned, wider = size * (aside * cosine - ahead * sine), ahead * cosine + aside * sine
        return np.stack([unit[0], turned, wider, ahead, aside])

    return WaysOutside(np.where(apart, straight, way[0]), apart, moved(one), -moved(other))


def outside_numbers(chain: Chain) -> tuple[list[Array], list[Array], list[Array]]:
    """Numbers of the elements outside, each (Q, 1) or (H, 1), then the air's there.

    Returns
    -------
    numbers of every two holes, of each hole with the bell, in the order of `pair_table`, and of each hole alone, as
    `elements.pair_element` and `elements.own_element` take them
    """
    _, azimuth, radius = (row[:, None] for row in chain.part("opening")[:3])
    one, other = pair_table(chain.sizes.holes)
    air = [chain.part("bell")[2], *chain.part("air")]
    ways = ways_outside(chain).along[:, None]
    numbers = (ways, azimuth[one] - azimuth[other], 0.5 * (radius[one] + radius[other]))
    single = one.size - chain.sizes.holes
    return [*(row[:single] for row in numbers), *air], [*(row[single:] for row in numbers), *air], [radius[:-1], *air]


def mutual_matrix(pairs: Complexes, with_bell: Complexes, own: Complexes) -> Complexes:
    """Mutual radiation impedances (n, P, P) [Pa s/m3].

    Parameters
    ----------
    pairs, with_bell : (Q, n) of two holes, of hole and bell, in the order of `pair_table` [Pa s/m3]
    own : (H, n) what the body adds to a hole's own [Pa s/m3]
    """
    holes = own.shape[0]
    one, other = pair_table(holes)
    found = np.zeros((own.shape[1], holes + 1, holes + 1), complex)
    found[:, one, other] = found[:, other, one] = np.concatenate([pairs, with_bell]).T
    found[:, np.arange(holes), np.arange(holes)] = own.T
    return found


def level_masks(notes: Notes) -> list[np.ndarray]:
    """Where each level is played, (H, N)."""
    return [(notes.which == number).T for number in range(len(notes.levels))]


def level_scales(notes: Notes, level: float) -> tuple[Floats, Floats]:
    """What a hole's scaled shunt and transfer are multiplied by, each (2 N,) [1/Hz or Hz]; see `elements`."""
    inverse = 1.0 / notes.f
    return (inverse, inverse) if level > 0.0 else (notes.f, inverse)


def at_lips(reed: ReedElement, bore: Complexes) -> tuple[Complexes, Complexes, Complexes]:
    """Reflectance at the lips [1], admittance there [m3/(Pa s)], and pressure there per pressure at the bore's entry.

    Parameters
    ----------
    reed : what stands at the input, at the columns (2 N,)
    bore : (2 N,) admittance at the bore's entry [m3/(Pa s)]
    """
    a, b, c, d = (value_of(item) for item in reed.cavity)
    pressure = a + b * bore
    admittance = (c + d * bore) / pressure + value_of(reed.yielding)
    return reflectance(admittance, value_of(reed.reference)), admittance, pressure
