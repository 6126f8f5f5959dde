"""Input admittance at any frequencies: a chain of elements at the true frequency, for judging and for pictures.

| quantity | shape |
|---|---|
| fingerings, holes, frequencies | N, H, F |
| columns: every fingering at each of its frequencies | N F |
"""

import numpy as np

from acoustics import kernel
from acoustics.arrays import Array, Complexes, Floats
from acoustics.bore import interval_line, radius_at, step_inertance
from acoustics.chain import Chain, chain_of
from acoustics.charts import mutual_matrix, outside_numbers
from acoustics.elements import bell_element, hole_element, own_element, pair_element, reed_element, segment_element
from acoustics.network import Duct, air_at, as_arrays, temperature_at
from acoustics.sweeps import Network, interaction, sweep_to_reed


def network_at(chain: Chain, openness: Floats, f: Floats, lossless: bool = False) -> Network:
    """The chain at f (n,) [Hz], every column with its own openness (H, n)."""
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
    """Input impedance of the bore without the reed [Pa s/m3]: of the chain alone, and with external interaction.

    openness : (H, n) 0 closed, 1 open, between: open share of the hole's area; f : (n,) [Hz]; both results (n,)
    """
    return _impedances(chain_of(as_arrays(duct)), openness, f, lossless)


def _impedances(chain: Chain, openness: Floats, f: Floats, lossless: bool) -> tuple[Complexes, Complexes]:
    network = network_at(chain, openness, f, lossless)
    fields = sweep_to_reed(network, network.load, np.ones_like(network.load))
    alone = fields.p_in / fields.U_in
    return alone, alone + interaction(network, fields, _mutual_at(chain, f), openness > 0.0).added


def _mutual_at(chain: Chain, f: Floats) -> Complexes:
    """Mutual radiation impedances (n, P, P)."""
    among, with_the_bell, alone = outside_numbers(chain)
    pairs, with_bell = pair_element(f, *among), pair_element(f, *with_the_bell, with_bell=True)
    return mutual_matrix(pairs, with_bell, own_element(f, *alone))


def with_reed(duct: Duct, bore: Complexes, f: Floats, lossless: bool = False) -> Complexes:
    """Admittance [m3/(Pa s)] at the lips from that of the bore at its entry, shape of f [Hz]."""
    return _at_lips(chain_of(as_arrays(duct)), bore, f, lossless)


def _at_lips(chain: Chain, bore: Complexes, f: Floats, lossless: bool) -> Complexes:
    reed = reed_element(f, *chain.given("reed"), lossless=lossless)
    a, b, c, d = reed.cavity
    found: Complexes = (c + d * bore) / (a + b * bore) + reed.yielding
    return found


def admittance_grid(duct: Duct, openness: Floats, f: Floats, lossless: bool = False) -> Complexes:
    """Admittance [m3/(Pa s)] that the player's lips see (N, F): bore, openings acting on each other outside, and reed.

    openness (N, H); f (N, F) [Hz]
    """
    chain, columns = chain_of(as_arrays(duct)), f.ravel()
    states = np.repeat(np.asarray(openness, float), f.shape[1], axis=0).T
    if lossless or kernel.at_hand() is None or not columns.size:
        return _admittances(chain, states, columns, lossless).reshape(f.shape)
    found, least = kernel.admittances(chain, states, columns, True, str(kernel.at_hand()))
    doubtful = ~(least > kernel.LEAST_PIVOT) | ~np.isfinite(found)
    if np.any(doubtful):
        with np.errstate(all="ignore"):
            found[doubtful] = _admittances(chain, states[:, doubtful], columns[doubtful], False)
    return found.reshape(f.shape)


def input_admittance(duct: Duct, openness: Floats, f: Floats | float, lossless: bool = False) -> Complexes:
    """The same of one fingering, openness (H,), at f [Hz] of any shape, which the result has too."""
    grid = np.asarray(f, float)
    rows = admittance_grid(duct, np.asarray(openness, float)[None], grid.reshape(1, -1), lossless)
    return rows.reshape(grid.shape)


def _admittances(chain: Chain, openness: Floats, f: Floats, lossless: bool) -> Complexes:
    """The same in NumPy (n,), for openness (H, n) at f (n,) [Hz]."""
    return _at_lips(chain, 1.0 / _impedances(chain, openness, f, lossless)[1], f, lossless)


def chain_susceptances(duct: Duct, openness: Floats, f: Floats, lossless: bool = False) -> Floats:
    """Im Y at the lips of the chain without external interaction (N, F), openness (N, H) at f (F,) [Hz].

    Elements are worked out once for each frequency, holes once for each openness.
    """
    chain = chain_of(as_arrays(duct))
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
    """Im Y (C, F) at the lips of the bore without holes, ended openly at each cut (C,) [m], at f (F,) [Hz].

    The air stays that of the whole bore.
    """
    duct = as_arrays(duct)
    chain = chain_of(duct)
    air = list(chain.part("air"))
    places = np.unique(np.concatenate([[0.0], duct.slices[duct.slices < duct.end_position], cuts]))
    middle = 0.5 * (places[:-1] + places[1:])
    start, radius, slope = interval_line(duct.bore, middle)
    numbers = (radius + slope * (places[:-1] - start), np.diff(places), slope, temperature_at(duct, middle))
    segment = segment_element(f, *[*(row[:, None] for row in numbers), *air])
    ends = radius_at(duct.bore, cuts), radius_at(duct.bore, cuts) + duct.end_wall, temperature_at(duct, cuts)
    loads = bell_element(f, *[*(row[:, None] for row in ends), *air])
    steps = step_inertance(duct.bore, places, air_at(duct, places))
    a, b, c, d = segment.A, segment.B * f, segment.C * f, segment.D
    whole: tuple[Array, ...] = (np.ones(f.size), np.zeros(f.size), np.zeros(f.size), np.ones(f.size))
    bore = np.empty((cuts.size, f.size), complex)
    for m, place in enumerate(places):
        if m > 0:
            one = (a[m - 1], b[m - 1], c[m - 1], d[m - 1])
            whole = _joined(whole, one)
            for number in np.flatnonzero(cuts == place):
                load = loads[number]
                bore[number] = (whole[2] * load + whole[3]) / (whole[0] * load + whole[1])
        if steps[m] > 0.0:
            whole = _joined(whole, (1.0, 2j * np.pi * f * steps[m], 0.0, 1.0))
    found: Floats = _at_lips(chain, bore, f, False).imag
    return found


def _joined(one: tuple[Array, ...], other: tuple[Array, ...]) -> tuple[Array, ...]:
    """Two two-ports one after the other."""
    a, b, c, d = one
    e, g, h, k = other
    return a * e + b * h, a * g + b * k, c * e + d * h, c * g + d * k
