"""Whole charts in NumPy: the errors of every note and their slopes by every number of the chain's elements.

The elements are known at a few nodes (`chart_elements`). Between the nodes polynomials give those of each note,
`sweeps` joins them, and the same polynomials carry the notes' slopes back to the nodes (`chart_slopes`). This is the
readable reference that always works; `kernel` does the same compiled. Shapes are those of `chart_elements`.
"""

from typing import NamedTuple

import numpy as np

from acoustics.arrays import Complexes, Floats
from acoustics.chain import Chain
from acoustics.chart_elements import SECANT_CENTS, Notes, Parts, at_lips, elements_of, level_masks, level_scales
from acoustics.chart_slopes import Gradient, admittance_weights, slope_of_whole
from acoustics.duals import value_of
from acoustics.elements import ReedElement
from acoustics.sweeps import Network, interaction, slopes_of_chain, sweep_to_reed


class Found(NamedTuple):
    """Errors (N,) [cents], those without interaction (N,), and slopes (N, numbers) by the chain's vector."""

    error: Floats
    alone: Floats
    slope: Floats | None


def chart_errors(chain: Chain, notes: Notes, slopes: bool, with_interaction: bool = True) -> Found:
    """Errors of a chart on one duct, see `resonances.tuning_error_cents`.

    Parameters
    ----------
    chain : of one duct
    notes : the chart as data
    slopes : whether slopes by the chain's vector are wanted
    with_interaction : whether the openings act on each other outside

    Raises
    ------
    numpy.linalg.LinAlgError
        where interaction has no one solution; see `sweeps.interaction`
    """
    parts = elements_of(chain, notes, slopes)
    count = len(notes.openness)
    network = _network(chain, notes, parts)
    fields = sweep_to_reed(network, network.load, np.ones_like(network.load))
    impedance = fields.p_in / fields.U_in
    plain = 1.0 / impedance
    alone = _error(parts.reed, plain)
    if not with_interaction:
        slope = None
        if slopes:
            weight = -admittance_weights(parts.reed, plain) * plain**2
            slope = Gradient(chain, notes, parts).collected(slopes_of_chain(fields, weight), plain)
        return Found(alone, alone, slope)
    upper = slice(count, None)
    opened = (notes.openness > 0.0).T
    outside = interaction(network.columns(upper), fields.columns(upper), parts.mutual, opened)
    whole = 1.0 / (impedance[upper] + outside.added)
    admittance = np.concatenate([plain[:count] + whole - plain[upper], whole])
    error = _error(parts.reed, admittance)
    if not slopes:
        return Found(error, alone, None)
    return Found(error, alone, slope_of_whole(chain, notes, parts, network, fields, outside, admittance))


def _network(chain: Chain, notes: Notes, parts: Parts) -> Network:
    w, f = notes.weights, notes.f
    holes, columns = chain.sizes.holes, f.size
    a, b, c, d = (value_of(item) @ w for item in parts.segment)
    shunt, transfer = np.zeros((holes, columns), complex), np.zeros((holes, columns), complex)
    half = np.zeros((holes, columns))
    for level, element, played in zip(notes.levels, parts.holes, level_masks(notes), strict=True):
        twice = np.tile(played, 2)
        by_f, to_f = level_scales(notes, level)
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


def _error(reed: ReedElement, bore: Complexes) -> Floats:
    """Errors (N,) [cents] from the bore's admittance at both frequencies (2 N,); sound where the phase wraps, too."""
    below, above = np.split(at_lips(reed, bore)[0], 2)
    phase, fall = np.angle(below + above), np.angle(below * np.conj(above))
    found: Floats = 2.0 * SECANT_CENTS * phase / fall
    return found
