"""Whole charts in NumPy: the errors of every note and their slopes by every number of the chain's elements.

What costs most - wall losses, cones, chimneys, radiation - depends on frequency smoothly. It is worked out at a few
Chebyshev nodes in the square root of frequency, which wall losses follow, for every hole at every openness that the
chart uses, with slopes by each element's own few numbers. Between the nodes polynomials give the elements of each note,
`sweeps` joins them, and the same polynomials carry the notes' slopes back to the nodes. This is the readable reference
that always works; `kernel` does the same compiled.

| quantity | shape |
|---|---|
| nodes, levels of openness, stations | K, L, M |
| notes, holes | N, H |
| columns: all notes at the lower frequency of the secant, then all at the upper | 2 N |
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from acoustics.arrays import Array, Complexes, Floats
from acoustics.chain import Chain
from acoustics.duals import Dual, value_of, variables
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
from acoustics.sweeps import (
    Network,
    Outside,
    Slopes,
    driven,
    interaction,
    reflectance,
    slopes_of_chain,
    slopes_of_whole,
    sweep_to_reed,
)

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


class Found(NamedTuple):
    """Errors (N,) [cents], those without interaction (N,), and slopes (N, numbers) by the chain's vector."""

    error: Floats
    alone: Floats
    slope: Floats | None


def around(f: Floats) -> Floats:
    """The two frequencies (2, ...) of the secant about f (...) [Hz]."""
    shape = (2, *(1,) * np.ndim(f))
    found: Floats = f * 2.0 ** (np.array([-SECANT_CENTS, SECANT_CENTS]).reshape(shape) / 1200.0)
    return found


def notes_of(openness: Floats, f_target: Floats) -> Notes:
    """The data of fingerings openness (N, H) at targets (N,) [Hz]; the same object for the same chart."""
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


def chart_errors(chain: Chain, notes: Notes, slopes: bool, with_interaction: bool = True) -> Found:
    """Errors of a chart on one duct, see `resonances.tuning_error_cents`; slopes by the chain's vector when asked."""
    parts = _elements(chain, notes, slopes)
    count = len(notes.openness)
    network = _network(chain, notes, parts)
    fields = sweep_to_reed(network, network.load, np.ones_like(network.load))
    impedance = fields.p_in / fields.U_in
    plain = 1.0 / impedance
    alone = _error(parts.reed, plain)
    if not with_interaction:
        slope = None
        if slopes:
            weight = -_admittance_weights(parts.reed, plain) * plain**2
            slope = _Gradient(chain, notes, parts).collected(slopes_of_chain(fields, weight), plain)
        return Found(alone, alone, slope)
    upper = slice(count, None)
    opened = (notes.openness > 0.0).T
    outside = interaction(network.columns(upper), fields.columns(upper), parts.mutual, opened)
    whole = 1.0 / (impedance[upper] + outside.added)
    admittance = np.concatenate([plain[:count] + whole - plain[upper], whole])
    error = _error(parts.reed, admittance)
    if not slopes:
        return Found(error, alone, None)
    return Found(error, alone, _slope_of_whole(chain, notes, parts, network, fields, outside, admittance))


class _Parts(NamedTuple):
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


def _elements(chain: Chain, notes: Notes, slopes: bool) -> _Parts:
    f, upper = notes.nodes, notes.f[len(notes.openness) :]
    segment = segment_element(f, *_free(np.broadcast_arrays(*chain.given("segment")), slopes))
    free = _free(np.broadcast_arrays(*chain.given("hole")), slopes)
    holes = [hole_element(f, *free, openness=float(level)) for level in notes.levels]
    load = bell_element(notes.f, *_free(chain.given("bell"), slopes))
    reed = reed_element(notes.f, *_free(chain.given("reed"), slopes))
    among, with_the_bell, alone = outside_numbers(chain)
    pairs = pair_element(upper, *_free(np.broadcast_arrays(*among), slopes))
    with_bell = pair_element(upper, *_free(np.broadcast_arrays(*with_the_bell), slopes), with_bell=True)
    own = own_element(upper, *_free(np.broadcast_arrays(*alone), slopes))
    mutual = mutual_matrix(value_of(pairs), value_of(with_bell), value_of(own))
    return _Parts(segment, holes, load, reed, mutual, pairs, with_bell, own)


def pair_table(holes: int) -> tuple[np.ndarray, np.ndarray]:
    """Both openings of every pair (Q,), those with the bell last."""
    one, other = np.triu_indices(holes, 1)
    every = np.arange(holes)
    return np.concatenate([one, every]), np.concatenate([other, np.full(holes, holes)])


def outside_numbers(chain: Chain) -> tuple[list[Array], list[Array], list[Array]]:
    """Numbers of the elements outside, each a column, then the air's there: of every two holes, of each hole with the
    bell, in the order of `pair_table`, and of each hole alone."""
    position, azimuth, radius = (row[:, None] for row in chain.part("opening"))
    one, other = pair_table(chain.sizes.holes)
    air = [chain.part("bell")[2], *chain.part("air")]
    numbers = (position[one] - position[other], azimuth[one] - azimuth[other], 0.5 * (radius[one] + radius[other]))
    single = one.size - chain.sizes.holes
    return [*(row[:single] for row in numbers), *air], [*(row[single:] for row in numbers), *air], [radius[:-1], *air]


def mutual_matrix(pairs: Complexes, with_bell: Complexes, own: Complexes) -> Complexes:
    """Mutual radiation impedances (n, P, P) from those of pairs of holes, of holes and bell, and what is a hole's own
    (..., n), in the order of `pair_table`."""
    holes = own.shape[0]
    one, other = pair_table(holes)
    found = np.zeros((own.shape[1], holes + 1, holes + 1), complex)
    found[:, one, other] = found[:, other, one] = np.concatenate([pairs, with_bell]).T
    found[:, np.arange(holes), np.arange(holes)] = own.T
    return found


def _levels(notes: Notes) -> list[np.ndarray]:
    """Where each level is played, (H, N)."""
    return [(notes.which == number).T for number in range(len(notes.levels))]


def _scales(notes: Notes, level: float) -> tuple[Floats, Floats]:
    """What a hole's scaled shunt and transfer are multiplied by at the notes (2 N,)."""
    inverse = 1.0 / notes.f
    return (inverse, inverse) if level > 0.0 else (notes.f, inverse)


def _network(chain: Chain, notes: Notes, parts: _Parts) -> Network:
    w, f = notes.weights, notes.f
    holes, columns = chain.sizes.holes, f.size
    a, b, c, d = (value_of(item) @ w for item in parts.segment)
    shunt, transfer = np.zeros((holes, columns), complex), np.zeros((holes, columns), complex)
    half = np.zeros((holes, columns))
    for level, element, played in zip(notes.levels, parts.holes, _levels(notes), strict=True):
        twice = np.tile(played, 2)
        by_f, to_f = _scales(notes, level)
        shunt += twice * (value_of(element.shunt) @ w * by_f)
        half += twice * value_of(element.half_series)
        if level > 0.0:
            transfer += twice * (value_of(element.transfer) @ w * to_f)
    gain = value_of(parts.holes[0].gain) @ w if parts.holes else transfer
    placed, at = chain.hole >= 0, chain.hole[chain.hole >= 0]
    series, at_station = np.repeat(chain.part("step")[:, None] * np.pi, columns, axis=1), np.zeros_like(a)
    series[placed], at_station[placed] = half[at], shunt[at]
    segment = (a, b * f, c * f, d)
    return Network(segment, chain.hole, 1j * f * series, at_station, transfer, gain, value_of(parts.bell))


def _at_lips(reed: ReedElement, bore: Complexes) -> tuple[Complexes, Complexes, Complexes]:
    """Reflectance at the lips, the admittance there, and the pressure at the lips per pressure at the bore's entry."""
    a, b, c, d = (value_of(item) for item in reed.cavity)
    pressure = a + b * bore
    admittance = (c + d * bore) / pressure + value_of(reed.yielding)
    return reflectance(admittance, value_of(reed.reference)), admittance, pressure


def _error(reed: ReedElement, bore: Complexes) -> Floats:
    """Errors (N,) [cents] from the bore's admittance at both frequencies (2 N,); sound where the phase wraps, too."""
    below, above = np.split(_at_lips(reed, bore)[0], 2)
    phase, fall = np.angle(below + above), np.angle(below * np.conj(above))
    found: Floats = 2.0 * SECANT_CENTS * phase / fall
    return found


def _reflection_weights(reflection: Complexes) -> Complexes:
    """g (2 N,) with d error = Re(g d reflection)."""
    below, above = np.split(reflection, 2)
    both = below + above
    phase, fall = np.angle(both), np.angle(below * np.conj(above))
    common, share = 1.0 / (both * fall), phase / fall**2
    found: Complexes = -2j * SECANT_CENTS * np.concatenate([common - share / below, common + share / above])
    return found


def _lip_weights(reed: ReedElement, bore: Complexes) -> tuple[Complexes, Complexes]:
    """g (2 N,) with d error = Re(g d Y) for the admittance Y at the lips, and the same for the reference."""
    reflection, admittance, _ = _at_lips(reed, bore)
    reference = value_of(reed.reference)
    weight = _reflection_weights(reflection) * 2.0 / (reference + admittance) ** 2
    return -weight * reference, weight * admittance


def _admittance_weights(reed: ReedElement, bore: Complexes) -> Complexes:
    """g (2 N,) with d error = Re(g d Y) for the admittance Y (2 N,) at the bore's entry."""
    found: Complexes = _lip_weights(reed, bore)[0] / _at_lips(reed, bore)[2] ** 2
    return found


def _slope_of_whole(
    chain: Chain, notes: Notes, parts: _Parts, network: Network, fields: Any, outside: Outside, bore: Complexes
) -> Floats:
    """Slopes (N, numbers): of the chain at both frequencies, whose difference the secant takes, and of the whole."""
    count = len(notes.openness)
    below, above = np.split(_admittance_weights(parts.reed, bore), 2)
    plain = fields.U_in / fields.p_in
    alone = np.concatenate([-below, below]) * plain**2
    weight = -(below + above) * bore[count:] ** 2
    upper = slice(count, None)
    total, bell = driven(network.columns(upper), fields.columns(upper), outside)
    first = slopes_of_chain(fields, alone)
    second = slopes_of_whole(total, bell, weight)
    summed = Slopes(*_added(first, second, upper))
    gradient = _Gradient(chain, notes, parts)
    gradient.add_interaction(network, total, outside, weight)
    return gradient.collected(summed, bore)


def _added(first: Slopes, second: Slopes, upper: slice) -> list[Any]:
    def joined(one: Complexes, other: Complexes) -> Complexes:
        one[..., upper] += other
        return one

    segment = tuple(joined(*pair) for pair in zip(first.segment, second.segment, strict=True))
    return [segment, *(joined(*pair) for pair in zip(first[1:], second[1:], strict=True))]


class _Gradient:
    """Gathers slopes of all notes by the chain's vector (N, numbers)."""

    def __init__(self, chain: Chain, notes: Notes, parts: _Parts) -> None:
        self.chain, self.notes, self.parts = chain, notes, parts
        self.rows = np.zeros((len(notes.openness), chain.sizes.numbers))
        self.levels = _levels(notes)
        self.transfer: Complexes | None = None
        self.gain: Complexes | None = None

    def collected(self, slopes: Slopes, bore: Complexes) -> Floats:
        """All of them, with what the chain's elements, the bell and the reed contribute."""
        self._add_segments(slopes)
        self._add_holes(slopes)
        self._add_ends(slopes, bore)
        return self.rows

    def _into(self, part: str, slopes: Any, air: Floats) -> None:
        """Slopes (rows, columns, N) of a part, and of humidity and CO2 (2, N), added in."""
        where = self.chain.sizes.parts[part]
        self.rows[:, where] += slopes.reshape(-1, slopes.shape[-1]).T
        self.rows[:, self.chain.sizes.parts["air"]] += air.T

    def _to_nodes(self, slopes: Complexes) -> Complexes:
        """Slopes (X, 2 N) by what stands at each note, to slopes by what stands at the nodes (X, N, K)."""
        x, n = len(slopes), len(self.rows)
        by_note = slopes.reshape(x, 2, n).transpose(2, 0, 1)
        weights = self.notes.weights.reshape(-1, 2, n).transpose(2, 1, 0)
        found: Complexes = (by_note @ weights).transpose(1, 0, 2)
        return found

    def _add_segments(self, slopes: Slopes) -> None:
        f = self.notes.f
        total: Any = 0.0
        scales: tuple[Any, ...] = (1.0, f, f, 1.0)
        for slope, element, scale in zip(slopes.segment, self.parts.segment, scales, strict=True):
            at_nodes = self._to_nodes(slope * scale)
            total = total + np.real(at_nodes @ element.slope.transpose(1, 2, 0))
        by_number = np.moveaxis(total, -1, 0)  # (6, M, N)
        self._into("segment", by_number[:4], by_number[4:].sum(axis=1))
        step = np.real(1j * np.pi * f * slopes.half_series) * (self.chain.hole < 0)[:, None]
        self.rows[:, self.chain.sizes.parts["step"]] += step.reshape(len(step), 2, -1).sum(axis=1).T

    def _add_holes(self, slopes: Slopes) -> None:
        f, holes = self.notes.f, self.chain.sizes.holes
        if holes == 0:
            return
        place = np.argsort(self.chain.hole, kind="stable")[-holes:]
        shunt, series = slopes.shunt[place], np.real(1j * f * slopes.half_series[place])
        series = series.reshape(holes, 2, -1).sum(axis=1)
        total = np.zeros((13, holes, len(self.rows)))
        for level, element, played in zip(self.notes.levels, self.parts.holes, self.levels, strict=True):
            by_f, to_f = _scales(self.notes, level)
            total += element.half_series.slope[..., 0][:, :, None] * (series * played)
            total += self._at_nodes(shunt * by_f * np.tile(played, 2), element.shunt.slope)
            if self.transfer is not None and level > 0.0:
                total += self._at_nodes(self._upper(self.transfer * played) * to_f, element.transfer.slope)
                total += self._at_nodes(self._upper(self.gain * played), element.gain.slope)
        self._into("hole", total[:11], total[11:].sum(axis=1))

    def _upper(self, slopes: Complexes) -> Complexes:
        """Slopes (H, N) at the upper frequency, as (H, 2 N)."""
        return np.concatenate([np.zeros_like(slopes), slopes], axis=1)

    def _at_nodes(self, slopes: Complexes, element: Complexes) -> Floats:
        found: Floats = np.real(self._to_nodes(slopes) @ element.transpose(1, 2, 0)).transpose(2, 0, 1)
        return found

    def _add_ends(self, slopes: Slopes, bore: Complexes) -> None:
        self._single("bell", np.real(slopes.load * self.parts.bell.slope))
        reed = self.parts.reed
        lips, reference = _lip_weights(reed, bore)
        _, admittance, pressure = _at_lips(reed, bore)
        entering = admittance - value_of(reed.yielding)
        by = (-lips * entering / pressure, -lips * entering * bore / pressure, lips / pressure, lips * bore / pressure)
        total = lips * reed.yielding.slope + reference * reed.reference.slope
        for weight, element in zip(by, reed.cavity, strict=True):
            if isinstance(element, Dual):
                total = total + weight * element.slope
        self._single("reed", np.real(total))

    def _single(self, part: str, slopes: Floats) -> None:
        """Slopes (rows + 2, 2 N) of an element there is one of."""
        by_note = slopes.reshape(len(slopes), 2, -1).sum(axis=1)
        self._into(part, by_note[:-2], by_note[-2:])

    def add_interaction(self, network: Network, total: Any, outside: Outside, weight: Complexes) -> None:
        """What transfers, loadings and mutual impedances contribute; total are the fields of the whole (M, N)."""
        pressure, outflow = outside.pressure[:-1], outside.outflow
        upper = network.columns(slice(len(self.rows), None))
        node = total.node[network.station]
        self.transfer = weight * (2.0 * node * pressure - pressure**2 * upper.gain)
        self.gain = -weight * pressure**2 * upper.transfer
        holes = self.chain.sizes.holes
        one, other = pair_table(holes)
        product = 2.0 * weight * outflow[one] * outflow[other]
        single = one.size - holes
        self._add_pairs(one[:single], other[:single], np.real(product[:single] * self.parts.pairs.slope))
        self._add_pairs(one[single:], other[single:], np.real(product[single:] * self.parts.pairs_with_bell.slope))
        own = np.real(weight * outflow[:-1] ** 2 * self.parts.own.slope)
        self._to_openings(np.zeros_like(own[:1]), np.zeros_like(own[:1]), own[:1], np.arange(holes))
        self._to_outside(own[1:])

    def _add_pairs(self, one: np.ndarray, other: np.ndarray, slopes: Floats) -> None:
        """Slopes (6, Q, N) of pairs."""
        along, turn, radius = slopes[:1], slopes[1:2], 0.5 * slopes[2:3]
        self._to_openings(along, turn, radius, one)
        self._to_openings(-along, -turn, radius, other)
        self._to_outside(slopes[3:])

    def _to_openings(self, along: Floats, turn: Floats, radius: Floats, which: np.ndarray) -> None:
        where = self.chain.sizes.parts["opening"]
        found = np.zeros((3, self.chain.sizes.holes + 1, len(self.rows)))
        for row, slopes in enumerate((along, turn, radius)):
            np.add.at(found[row], which, slopes[0])
        self.rows[:, where] += found.reshape(-1, len(self.rows)).T

    def _to_outside(self, slopes: Floats) -> None:
        """Slopes (3, Q, N) by the temperature at the bell, humidity and CO2."""
        summed = slopes.sum(axis=1)
        self.rows[:, self.chain.sizes.parts["bell"].stop - 1] += summed[0]
        self.rows[:, self.chain.sizes.parts["air"]] += summed[1:].T
