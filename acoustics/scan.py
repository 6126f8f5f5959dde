"""Input admittance at any frequencies: a chain of elements at the true frequency, for judging and for pictures.

| quantity | shape |
|---|---|
| fingerings, holes, frequencies | N, H, F |
| columns: every fingering at each of its frequencies | N F |
"""

import numpy as np

from acoustics import kernel
from acoustics.arrays import Array, Complexes, Floats
from acoustics.chain import Chain, chain_of
from acoustics.chart_elements import mutual_matrix, outside_numbers, ways_outside
from acoustics.elements import bell_element, hole_element, own_element, pair_element, reed_element, segment_element
from acoustics.network import Duct, as_arrays, stacked
from acoustics.sweeps import Network, Outside, interaction, sweep_to_reed


def network_at(chain: Chain, openness: Floats, f: Floats, lossless: bool = False) -> Network:
    """The chain at some frequencies.

    Parameters
    ----------
    chain : of one duct
    openness : (H, n) of each column: 0 closed, 1 open, between: open share of the hole's area
    f : (n,) [Hz]
    lossless : leave out all losses but radiation
    """
    a, b, c, d = segment_element(f, *chain.given("segment"), lossless=lossless)
    port = hole_element(f, *chain.given("hole"), openness=openness, lossless=lossless)
    shunt = np.zeros((chain.sizes.stations, f.size), complex)
    series = np.zeros(shunt.shape) + np.pi * chain.part("step")[:, None]
    placed, at = chain.hole >= 0, chain.hole[chain.hole >= 0]
    scale = np.where(openness > 0.0, 1.0 / f, f)
    if at.size:
        series[placed] = np.broadcast_to(port.half_series, openness.shape)[at]
        shunt[placed] = (port.shunt * scale)[at]
    transfer, gain = (np.broadcast_to(item, openness.shape) for item in (port.transfer / f, port.gain))
    load, half_series = bell_element(f, *chain.given("bell")), np.asarray(1j * f * series)
    return Network((a, b * f, c * f, d), chain.hole, half_series, shunt, transfer, gain, load)


def input_impedances(duct: Duct, openness: Floats, f: Floats, lossless: bool = False) -> tuple[Complexes, Complexes]:
    """Input impedance (n,) of the bore without the reed [Pa s/m3]: of the chain alone, and with external interaction.

    Parameters
    ----------
    duct : one
    openness : (H, n) 0 closed, 1 open, between: open share of the hole's area
    f : (n,) [Hz]
    lossless : leave out all losses but radiation
    """
    return _impedances(chain_of(as_arrays(duct)), openness, f, lossless)


def _impedances(chain: Chain, openness: Floats, f: Floats, lossless: bool) -> tuple[Complexes, Complexes]:
    alone, outside = _sounded(chain, openness, f, lossless)
    return alone, alone + outside.added


def _sounded(chain: Chain, openness: Floats, f: Floats, lossless: bool) -> tuple[Complexes, Outside]:
    """Input impedance (n,) of the chain alone, and what its openings make outside for unit flow at the bore's entry."""
    network = network_at(chain, openness, f, lossless)
    fields = sweep_to_reed(network, network.load, np.ones_like(network.load))
    return fields.p_in / fields.U_in, interaction(network, fields, _mutual_at(chain, f), openness > 0.0)


def outflows(duct: Duct, openness: Floats, f: Floats) -> Complexes:
    """Flow out of every opening (P, n), the holes and then the bell, for unit flow of the reed [1].

    Parameters
    ----------
    duct : one
    openness : (H, n) 0 closed, 1 open, between: open share of the hole's area
    f : (n,) [Hz]
    """
    chain = chain_of(as_arrays(duct))
    alone, outside = _sounded(chain, openness, f, False)
    bore = 1.0 / (alone + outside.added)
    reed = reed_element(f, *chain.given("reed"))
    a, b, c, d = reed.cavity
    into_bore = bore / (c + d * bore + reed.yielding * (a + b * bore))
    return np.asarray(outside.outflow * into_bore)


def _mutual_at(chain: Chain, f: Floats) -> Complexes:
    """Mutual radiation impedances (n, P, P)."""
    among, with_the_bell, alone = outside_numbers(chain)
    pairs, with_bell = pair_element(f, *among), pair_element(f, *with_the_bell, with_bell=True)
    if (apart := ways_outside(chain).apart[: len(pairs)]).any():
        pairs = np.where(apart[:, None], pair_element(f, *among, with_bell=True), pairs)
    return mutual_matrix(pairs, with_bell, own_element(f, *alone))


def with_reed(duct: Duct, bore: Complexes, f: Floats, lossless: bool = False) -> Complexes:
    """Admittance [m3/(Pa s)] at the lips, of the shape of f.

    Parameters
    ----------
    duct : one; its reed counts
    bore : admittance of the bore at its entry [m3/(Pa s)]
    f : [Hz]
    lossless : leave out wall losses
    """
    return _at_lips(chain_of(as_arrays(duct)), bore, f, lossless)


def _at_lips(chain: Chain, bore: Complexes, f: Floats, lossless: bool) -> Complexes:
    reed = reed_element(f, *chain.given("reed"), lossless=lossless)
    a, b, c, d = reed.cavity
    found: Complexes = (c + d * bore) / (a + b * bore) + reed.yielding
    return found


def admittance_grid(duct: Duct, openness: Floats, f: Floats, lossless: bool = False) -> Complexes:
    """Admittance [m3/(Pa s)] that the player's lips see (N, F): bore, openings acting on each other outside, and reed.

    Parameters
    ----------
    duct : one
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    f : (N, F) [Hz], each fingering with its own
    lossless : leave out all losses but radiation
    """
    states = np.repeat(np.asarray(openness, float), f.shape[1], axis=0).T
    return admittances(chain_of(as_arrays(duct)), states, f.ravel(), lossless).reshape(f.shape)


def admittances(chain: Chain, openness: Floats, f: Floats, lossless: bool = False) -> Complexes:
    """Admittance [m3/(Pa s)] that the player's lips see (n,), by the kernel where it is at hand.

    Parameters
    ----------
    chain : of one duct
    openness : (H, n) of each column
    f : (n,) [Hz]
    lossless : leave out all losses but radiation; always in NumPy
    """
    variant = kernel.at_hand()
    if lossless or variant is None or not f.size:
        return _admittances(chain, openness, f, lossless)
    found, least = kernel.admittances(chain, openness, f, True, variant)
    doubtful = ~(least > kernel.LEAST_PIVOT) | ~np.isfinite(found)
    if np.any(doubtful):
        with np.errstate(all="ignore"):
            found[doubtful] = _admittances(chain, openness[:, doubtful], f[doubtful], False)
    return found


def input_admittance(duct: Duct, openness: Floats, f: Floats | float, lossless: bool = False) -> Complexes:
    """Admittance [m3/(Pa s)] that the player's lips see in one fingering, of the shape of f.

    Parameters
    ----------
    duct : one
    openness : (H,) 0 closed, 1 open, between: open share of the hole's area
    f : [Hz], of any shape
    lossless : leave out all losses but radiation
    """
    grid = np.asarray(f, float)
    rows = admittance_grid(duct, np.asarray(openness, float)[None], grid.reshape(1, -1), lossless)
    return rows.reshape(grid.shape)


def _admittances(chain: Chain, openness: Floats, f: Floats, lossless: bool) -> Complexes:
    """The same in NumPy."""
    return _at_lips(chain, 1.0 / _impedances(chain, openness, f, lossless)[1], f, lossless)


def susceptances(chain: Chain, openness: Floats, f: Floats, lossless: bool = False) -> Floats:
    """Im Y [m3/(Pa s)] at the lips of a chain without external interaction (N, F).

    Elements are worked out once for each frequency, holes once for each openness.

    Parameters
    ----------
    chain : of one duct
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    f : (F,) [Hz]
    lossless : leave out all losses but radiation
    """
    levels, which = np.unique(np.asarray(openness, float), return_inverse=True)
    which = which.reshape(np.shape(openness))
    numbers = chain.given("hole")
    ports = [hole_element(f, *numbers, openness=float(level), lossless=lossless) for level in levels]
    shunt = [port.shunt * (1.0 / f if level > 0.0 else f) for port, level in zip(ports, levels, strict=True)]
    shunts = np.array(shunt).reshape(len(levels), chain.sizes.holes, f.size)
    halves = np.array([port.half_series[:, 0] for port in ports]).reshape(len(levels), chain.sizes.holes)
    segment = segment_element(f, *chain.given("segment"), lossless=lossless)
    a, b, c, d = segment.A, segment.B * f, segment.C * f, segment.D
    p: Array = bell_element(f, *chain.given("bell"))
    flow: Array = np.ones_like(p)
    steps = chain.part("step")
    for m in range(chain.sizes.stations - 1, -1, -1):
        p, flow = a[m] * p + b[m] * flow, c[m] * p + d[m] * flow
        hole = chain.hole[m]
        if hole >= 0:
            half = 1j * f * halves[which[:, hole], hole][:, None]
            p = p + half * flow
            flow = flow + shunts[which[:, hole], hole] * p
            p = p + half * flow
        elif steps[m] > 0.0:
            p = p + 2j * np.pi * f * steps[m] * flow
    found: Floats = np.broadcast_to(_at_lips(chain, flow / p, f, lossless).imag, (len(openness), f.size))
    return found


def cut_susceptances(duct: Duct, cuts: Floats, f: Floats) -> Floats:
    """Im Y [m3/(Pa s)] at the lips of a bore without holes, ended openly at each cut (C, F).

    Parameters
    ----------
    duct : one without holes
    cuts : (C,) where it ends [m]
    f : (F,) [Hz]
    """
    plain = as_arrays(duct)
    chains = chain_of(stacked([plain._replace(end_position=cut) for cut in np.asarray(cuts)]))
    variant, closed = kernel.at_hand(), np.zeros((0, f.size))
    found = np.empty((len(cuts), f.size))
    for number, (vector, hole) in enumerate(zip(chains.vector, chains.hole, strict=True)):
        one = chains._replace(vector=vector, hole=hole)
        if variant is None:
            found[number] = susceptances(one, closed[:, :1].T, f)[0]
        else:
            found[number] = kernel.admittances(one, closed, f, False, variant)[0].imag
    return found
