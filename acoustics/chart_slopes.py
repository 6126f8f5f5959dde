"""Slopes of a chart's errors by every number of the chain's elements; shapes as in `chart_elements`.

`sweeps` says how each note's input impedance moves with the elements; the polynomials that gave the elements of each
note carry those slopes back to the nodes, where the elements' own slopes are known.
"""

from typing import Any

import numpy as np

from acoustics.arrays import Complexes, Floats
from acoustics.chain import Chain
from acoustics.chart_elements import (
    SECANT_CENTS,
    Notes,
    Parts,
    at_lips,
    level_masks,
    level_scales,
    pair_table,
    ways_outside,
)
from acoustics.duals import Dual, value_of
from acoustics.elements import ReedElement
from acoustics.sweeps import Network, Outside, Slopes, driven, slopes_of_chain, slopes_of_whole


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
    reflection, admittance, _ = at_lips(reed, bore)
    reference = value_of(reed.reference)
    weight = _reflection_weights(reflection) * 2.0 / (reference + admittance) ** 2
    return -weight * reference, weight * admittance


def admittance_weights(reed: ReedElement, bore: Complexes) -> Complexes:
    """g (2 N,) with d error = Re(g d Y) for the admittance at the bore's entry.

    Parameters
    ----------
    reed : what stands at the input, at the columns (2 N,)
    bore : (2 N,) admittance at the bore's entry [m3/(Pa s)]
    """
    found: Complexes = _lip_weights(reed, bore)[0] / at_lips(reed, bore)[2] ** 2
    return found


def slope_of_whole(
    chain: Chain, notes: Notes, parts: Parts, network: Network, fields: Any, outside: Outside, bore: Complexes
) -> Floats:
    """Slopes (N, numbers): of the chain at both frequencies, whose difference the secant takes, and of the whole.

    Parameters
    ----------
    chain : of one duct
    notes : the chart as data
    parts : its elements, with slopes
    network : the chain in numbers, at the columns (2 N,)
    fields : of the sweep to the reed, of the chain alone
    outside : what interaction makes at the upper frequency (N,)
    bore : (2 N,) admittance at the bore's entry, interaction included [m3/(Pa s)]
    """
    count = len(notes.openness)
    below, above = np.split(admittance_weights(parts.reed, bore), 2)
    plain = fields.U_in / fields.p_in
    alone = np.concatenate([-below, below]) * plain**2
    weight = -(below + above) * bore[count:] ** 2
    upper = slice(count, None)
    total, bell = driven(network.columns(upper), fields.columns(upper), outside)
    first = slopes_of_chain(fields, alone)
    second = slopes_of_whole(total, bell, weight)
    summed = Slopes(*_added(first, second, upper))
    gradient = Gradient(chain, notes, parts)
    gradient.add_interaction(network, total, outside, weight)
    return gradient.collected(summed, bore)


def _added(first: Slopes, second: Slopes, upper: slice) -> list[Any]:
    def joined(one: Complexes, other: Complexes) -> Complexes:
        one[..., upper] += other
        return one

    segment = tuple(joined(*pair) for pair in zip(first.segment, second.segment, strict=True))
    return [segment, *(joined(*pair) for pair in zip(first[1:], second[1:], strict=True))]


class Gradient:
    """Gathers slopes of all notes by the chain's vector (N, numbers)."""

    def __init__(self, chain: Chain, notes: Notes, parts: Parts) -> None:
        self.chain, self.notes, self.parts = chain, notes, parts
        self.rows = np.zeros((len(notes.openness), chain.sizes.numbers))
        self.levels = level_masks(notes)
        self.transfer: Complexes | None = None
        self.gain: Complexes | None = None

    def collected(self, slopes: Slopes, bore: Complexes) -> Floats:
        """All slopes (N, numbers) [cents per unit of each], with what the chain, the bell and the reed contribute.

        Parameters
        ----------
        slopes : of the weighted errors by the elements, at the columns (2 N,)
        bore : (2 N,) admittance at the bore's entry [m3/(Pa s)]
        """
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
            by_f, to_f = level_scales(self.notes, level)
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
        _, admittance, pressure = at_lips(reed, bore)
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
        """What transfers, loadings and mutual impedances contribute.

        Parameters
        ----------
        network : the chain in numbers, at the columns (2 N,)
        total : fields of the whole (M, N)
        outside : what interaction makes at the upper frequency (N,)
        weight : (N,) of each Z_in
        """
        pressure, outflow = outside.pressure[:-1], outside.outflow
        upper = network.columns(slice(len(self.rows), None))
        node = total.node[network.station]
        self.transfer = weight * (2.0 * node * pressure - pressure**2 * upper.gain)
        self.gain = -weight * pressure**2 * upper.transfer
        holes = self.chain.sizes.holes
        one, other = pair_table(holes)
        product = 2.0 * weight * outflow[one] * outflow[other]
        single = one.size - holes
        self._add_pairs(slice(None, single), np.real(product[:single] * self.parts.pairs.slope))
        self._add_pairs(slice(single, None), np.real(product[single:] * self.parts.pairs_with_bell.slope))
        own = np.real(weight * outflow[:-1] ** 2 * self.parts.own.slope)
        self._to_openings(np.eye(5)[2][:, None, None] * own[0], np.arange(holes))
        self._to_outside(own[1:])

    def _add_pairs(self, some: slice, slopes: Floats) -> None:
        """Slopes (6, Q, N) of some of the pairs."""
        ways = ways_outside(self.chain)
        openings = (row[some] for row in pair_table(self.chain.sizes.holes))
        for which, moved, sign in zip(openings, (ways.by_one, ways.by_other), (1.0, -1.0), strict=True):
            found = moved[:, some, None] * slopes[0]
            found[1] += sign * slopes[1]
            found[2] += 0.5 * slopes[2]
            self._to_openings(found, which)
        self._to_outside(slopes[3:])

    def _to_openings(self, slopes: Floats, which: np.ndarray) -> None:
        """Slopes (5, Q, N) by the numbers of openings."""
        where = self.chain.sizes.parts["opening"]
        found = np.zeros((5, self.chain.sizes.holes + 1, len(self.rows)))
        for row, by in zip(found, slopes, strict=True):
            np.add.at(row, which, by)
        self.rows[:, where] += found.reshape(-1, len(self.rows)).T

    def _to_outside(self, slopes: Floats) -> None:
        """Slopes (3, Q, N) by the temperature at the bell, humidity and CO2."""
        summed = slopes.sum(axis=1)
        self.rows[:, self.chain.sizes.parts["bell"].stop - 1] += summed[0]
        self.rows[:, self.chain.sizes.parts["air"]] += summed[1:].T
