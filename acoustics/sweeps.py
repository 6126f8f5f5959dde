"""A chain of elements solved by sweeps: input impedance with external interaction, and how every element moves it.

The chain runs from the bell to the reed; only pressure and flow (p, U) are carried along. A second sweep, from the
reed, gives with the first the chain's response between any two openings (a ladder's Green's function is the product of
the two sweeps). With the mutual radiation impedances that makes one small linear system a column. A third sweep, with
the pressures found outside as sources, gives the fields of the whole; by reciprocity their products are the slopes of
the input impedance by everything the chain is made of.

With side 1 toward the reed, fields of unit input flow, and e the pressure outside an opening:

| part | contribution to dZ_in |
|---|---|
| two-port A B C D | U1 (dA p2 + dB U2) - p1 (dC p2 + dD U2) |
| shunt admittance y of a hole | -p^2 dy |
| its transfer t to the outside | 2 p e dt |
| its own loading t g | -e^2 d(t g) |
| series reactance on either side | U^2 dZ |
| mutual radiation impedances, outflows w | w dZ w |

Source: Chaigne & Kergomard 2016, chapters 4 and 14, for the chain; reciprocity, Rayleigh, *Theory of Sound*, section
294.

| quantity | shape |
|---|---|
| columns: a fingering at a frequency each | n |
| stations, holes, openings (holes and the bell, last) | M, H, P = H + 1 |
"""

from typing import NamedTuple

import numpy as np

from acoustics.arrays import Complexes, Floats


class Network(NamedTuple):
    """The chain in numbers.

    Attributes
    ----------
    segment : A, B, C, D from each station to the next, each (M, n) [1, Pa s/m3, m3/(Pa s), 1]
    hole : (M,) the hole at each station, -1 for none
    half_series : (M, n) reactance on either side of the station's node [Pa s/m3]
    shunt : (M, n) admittance at the node [m3/(Pa s)], 0 where there is no hole
    transfer, gain : (H, n), see `toneholes.Port`; transfer 0 where closed
    load : (n,) radiation impedance of the bell [Pa s/m3]
    """

    segment: tuple[Complexes, Complexes, Complexes, Complexes]
    hole: np.ndarray
    half_series: Complexes
    shunt: Complexes
    transfer: Complexes
    gain: Complexes
    load: Complexes

    def columns(self, chosen: slice) -> "Network":
        """Some of the columns."""
        kept = (item[..., chosen] for item in self[2:])
        return Network(tuple(item[:, chosen] for item in self.segment), self.hole, *kept)  # type: ignore[arg-type]

    @property
    def station(self) -> np.ndarray:
        """Station of each hole (H,)."""
        placed = np.flatnonzero(self.hole >= 0)
        found = np.empty(placed.size, int)
        found[self.hole[placed]] = placed
        return found


class Fields(NamedTuple):
    """What a sweep to the reed leaves behind, each (M, n): p and U at both sides of every segment, pressure at each
    node, flow beyond it toward the reed; and pressure and flow at the input (n,)."""

    p1: Complexes
    U1: Complexes
    p2: Complexes
    U2: Complexes
    node: Complexes
    beyond: Complexes
    p_in: Complexes
    U_in: Complexes

    def columns(self, chosen: slice) -> "Fields":
        """Some of the columns."""
        return Fields(*(item[..., chosen] for item in self))


def sweep_to_reed(network: Network, p: Complexes, flow: Complexes, source: Complexes | None = None) -> Fields:
    """Fields (M, n) for given pressure and flow at the bell.

    Parameters
    ----------
    network : the chain in numbers
    p, flow : (n,) pressure [Pa] and flow [m3/s] at the bell
    source : (H, n) flow into the bore at the holes [m3/s]; None for none
    """
    a, b, c, d = network.segment
    count, columns = a.shape
    rows = np.empty((6, count, columns), complex)
    for m in range(count - 1, -1, -1):
        rows[2, m], rows[3, m] = p, flow
        p, flow = a[m] * p + b[m] * flow, c[m] * p + d[m] * flow
        rows[0, m], rows[1, m] = p, flow
        half = network.half_series[m]
        p = p + half * flow
        if network.hole[m] >= 0:
            flow = flow + network.shunt[m] * p
            if source is not None:
                flow = flow - source[network.hole[m]]
        rows[4, m], rows[5, m] = p, flow
        p = p + half * flow
    p1, flow1, p2, flow2, node, beyond = rows
    return Fields(p1, flow1, p2, flow2, node, beyond, p, flow)


def sweep_to_bell(network: Network) -> tuple[Complexes, Complexes]:
    """Pressure [Pa] at every node (M, n) and at the bell (n,), for unit pressure at a closed input."""
    a, b, c, d = network.segment
    p, flow = np.ones_like(network.load), np.zeros_like(network.load)
    nodes = np.empty(a.shape, complex)
    for m in range(len(a)):
        half = network.half_series[m]
        p = p - half * flow
        nodes[m] = p
        flow = flow - network.shunt[m] * p
        p = p - half * flow
        p, flow = d[m] * p - b[m] * flow, a[m] * flow - c[m] * p
    return nodes, p


class Outside(NamedTuple):
    """What interaction makes: outflow w and outside pressure e of every opening (P, n); what it adds to Z_in (n,)."""

    outflow: Complexes
    pressure: Complexes
    added: Complexes


def interaction(network: Network, fields: Fields, mutual: Complexes, opened: np.ndarray) -> Outside:
    """The openings acting on each other.

    Parameters
    ----------
    network : the chain in numbers
    fields : of the sweep to the reed, of the chain alone
    mutual : (n, P, P) mutual radiation impedances [Pa s/m3]
    opened : (H, n) which holes are open

    Raises
    ------
    numpy.linalg.LinAlgError
        where the openings' equations of some column have no one solution

    Source: module docstring.
    """
    holes, columns = opened.shape
    most = int(opened.sum(axis=0).max(initial=0))
    heard = np.argsort(~opened, axis=0, kind="stable")[:most].T
    every = np.arange(columns)[:, None]
    nodes, end = sweep_to_bell(network)
    bell = 1.0 / network.load
    place = network.station[heard]
    transfer = network.transfer[heard, every]
    right = np.column_stack([transfer * fields.node[place, every] / fields.U_in[:, None], 1.0 / fields.U_in])
    left = np.column_stack([transfer * nodes[place, every], bell * end])
    rank = np.column_stack([place, np.full(columns, len(network.hole))])
    nearer = rank[:, :, None] <= rank[:, None, :]
    response = np.where(nearer, left[:, :, None], right[:, :, None]) * np.where(nearer, right[:, None], left[:, None])
    diagonal = np.arange(most + 1)
    response[:, diagonal, diagonal] -= np.column_stack([transfer * network.gain[heard, every], bell])
    openings = np.column_stack([heard, np.full(columns, holes)])
    among = mutual[every[:, :, None], openings[:, :, None], openings[:, None, :]]
    outflow = np.linalg.solve(np.eye(most + 1) - response @ among, right[..., None])
    pressure = (among @ outflow)[..., 0]
    whole = Outside(
        np.zeros((holes + 1, columns), complex), np.zeros((holes + 1, columns), complex),
        np.sum(right * pressure, axis=1),
    )  # fmt: skip
    whole.outflow[openings, every] = outflow[..., 0]
    whole.pressure[openings, every] = pressure
    whole.outflow[:-1] *= opened
    whole.pressure[:-1] *= opened
    return whole


class Slopes(NamedTuple):
    """Slopes of a weighted sum of input impedances by the elements, shapes as in `Network` and `Outside`."""

    segment: tuple[Complexes, Complexes, Complexes, Complexes]
    half_series: Complexes
    shunt: Complexes
    load: Complexes


def slopes_of_chain(fields: Fields, weight: Complexes) -> Slopes:
    """Slopes of a weighted sum of the chain's own input impedances.

    Parameters
    ----------
    fields : of the sweep to the reed, of any size
    weight : (n,) of each Z_in
    """
    return _slopes(fields, weight / fields.U_in**2, 1.0)


def slopes_of_whole(fields: Fields, bell: Complexes, weight: Complexes) -> Slopes:
    """Slopes of a weighted sum of input impedances with interaction.

    Parameters
    ----------
    fields : of the whole, for unit input flow; see `driven`
    bell : (n,) flow out of the bell [m3/s]
    weight : (n,) of each Z_in
    """
    return _slopes(fields, weight, bell)


def _slopes(fields: Fields, weight: Complexes, bell: Complexes | float) -> Slopes:
    p1, flow1, p2, flow2, node, beyond = fields[:6]
    segment = (weight * flow1 * p2, weight * flow1 * flow2, -weight * p1 * p2, -weight * p1 * flow2)
    return Slopes(segment, weight * (flow1**2 + beyond**2), -weight * node**2, weight * bell**2)


def driven(network: Network, fields: Fields, outside: Outside) -> tuple[Fields, Complexes]:
    """Fields of the whole for unit input flow (M, n), and the flow out of the bell (n,) [m3/s].

    Parameters
    ----------
    network : the chain in numbers
    fields : of the sweep to the reed, of the chain alone
    outside : what interaction makes of it
    """
    sources = network.transfer * outside.pressure[:-1]
    forced = sweep_to_reed(network, outside.pressure[-1], np.zeros_like(network.load), sources)
    share = (1.0 - forced.U_in) / fields.U_in
    return Fields(*(share * plain + more for plain, more in zip(fields, forced, strict=True))), share


def reflectance(admittance: Complexes, reference: Complexes | Floats) -> Complexes:
    """Reflection coefficient [1] of admittances, in broadcast shape.

    Parameters
    ----------
    admittance : [m3/(Pa s)]
    reference : real admittance to compare it with [m3/(Pa s)]
    """
    found: Complexes = (reference - admittance) / (reference + admittance)
    return found
