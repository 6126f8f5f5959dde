"""Input impedance of a bore with holes: geometry x fingering x frequency. The one hot path.

The chain runs from the bell to the reed. Stations are the slice points of the bore and the holes, sorted along the
centre line on every call, so that holes may pass each other and the bore's corners freely; all elements are computed
at once as arrays over the stations and only the two-component state (p, U) is carried along.

| quantity | shape | unit |
|---|---|---|
| stations | (M,) = slices + holes + bell end | m |
| openness of the holes | (H,) | 1 |
| f | () here; use `vmap` for more | Hz |
"""

from typing import NamedTuple, TypeAlias

import jax
import jax.numpy as jnp
import numpy as np

from acoustics.air import OUTDOOR_CO2, Air, air
from acoustics.arrays import Array
from acoustics.bore import Bore, Matrix, interval_line, radius_at, segment_matrix, step_inertance
from acoustics.interaction import Openings, added_impedance, mutual_impedance
from acoustics.radiation import bell_centre, end_impedance
from acoustics.reed import Reed, seen_from_reed
from acoustics.toneholes import Holes, Port, hole_ports, series_impedance

State: TypeAlias = tuple[Array, Array]
"""Pressure and flow at one place of the chain."""


class Climate(NamedTuple):
    """Air along the bore: temperature at reed and bell end [degC], humidity 0 to 1, CO2 fraction.

    The temperature falls linearly, or, with a warming_length [m], as the breath's warmth does: by a factor e over that
    length, to the bell's at the end.
    """

    reed_degC: Array | float
    bell_degC: Array | float
    humidity: Array | float = 0.0
    co2: Array | float = OUTDOOR_CO2
    warming_length: Array | float = np.inf


class Duct(NamedTuple):
    """Everything that sounds, as arrays.

    Attributes
    ----------
    bore : bore profile
    slices : (S,) [m] positions where the chain is cut, from `slice_positions`; those beyond the end are ignored
    end_position : () [m] where the bore ends; the last line of the profile goes on as far as needed
    end_wall : () [m] wall thickness at the bell end
    holes : tone holes and vents
    reed : what stands at the input
    climate : air along the bore
    """

    bore: Bore
    slices: Array
    end_position: Array
    end_wall: Array
    holes: Holes
    reed: Reed
    climate: Climate


def air_at(duct: Duct, s: Array) -> Air:
    """Air at position s [m], any shape."""
    climate = duct.climate
    share = jnp.clip(s / duct.end_position, 0.0, 1.0)
    decay = duct.end_position / climate.warming_length
    curved = jnp.expm1(-share * decay) / jnp.expm1(-jnp.where(decay > 0.0, decay, 1.0))
    share = jnp.where(decay > 0.0, curved, share)
    temperature = climate.reed_degC + share * (jnp.asarray(climate.bell_degC) - climate.reed_degC)
    return air(temperature, climate.humidity, climate.co2)


class Elements(NamedTuple):
    """The chain at one frequency and fingering: per station (M,), sorted from the reed, and per opening (P,) = H + 1.

    segment : from each station to the next; half_series, shunt : of the hole at the station, 0 at slice points
    rank : station of each hole (H,); transfer, gain : see `toneholes.Port`, the bell end last
    """

    segment: Matrix
    half_series: Array
    shunt: Array
    rank: Array
    transfer: Array
    gain: Array
    load: Array


def stations(duct: Duct) -> tuple[Array, Array, Array, Array]:
    """Order of slice points and holes along the bore (M,), station of each hole (H,), ends of each segment (M,) [m]."""
    end = duct.end_position
    position = jnp.concatenate([jnp.clip(duct.slices, 0.0, end), duct.holes.position])
    order = jnp.argsort(position)
    here = position[order]
    return order, jnp.argsort(order)[duct.slices.size :], here, jnp.append(here[1:], end)


def segments(duct: Duct, here: Array, following: Array, f: Array, lossless: bool = False) -> Matrix:
    """Transfer matrices from each station (M,) to the next; f [Hz] broadcasts with them."""
    middle = 0.5 * (here + following)
    start, start_radius, slope = interval_line(duct.bore, middle)
    reed_side = start_radius + slope * (here - start)
    return segment_matrix(f, reed_side, following - here, slope, air_at(duct, middle), lossless)


def hole_elements(duct: Duct, openness: Array, f: Array, lossless: bool = False) -> tuple[Port, Array, Array]:
    """The holes as ports and half their series reactance over f, each (..., H); that of the bore's steps (S,).

    openness and f [Hz] broadcast with the holes (H,).
    """
    holes = duct.holes
    hole_air, bore_radius = air_at(duct, holes.position), radius_at(duct.bore, holes.position)
    port = hole_ports(f, holes, bore_radius, openness, hole_air, lossless)
    half = 0.5 * series_impedance(jnp.asarray(1.0), holes, bore_radius, openness, hole_air).imag
    return port, half, jnp.pi * step_inertance(duct.bore, duct.slices, air_at(duct, duct.slices))


def bell_load(duct: Duct, f: Array) -> Array:
    """Radiation impedance of the bell end [Pa s/m3], shape of f [Hz]."""
    end_air, radius = air_at(duct, duct.end_position), radius_at(duct.bore, duct.end_position)
    return end_impedance(f, radius, radius + duct.end_wall, end_air.c, end_air.rho)


def chain_elements(duct: Duct, openness: Array, f: Array, lossless: bool = False) -> Elements:
    """All elements of the chain; openness (H,), f () [Hz]."""
    order, rank, here, following = stations(duct)
    port, half, steps = hole_elements(duct, openness, f, lossless)
    load = bell_load(duct, f)
    return Elements(
        segments(duct, here, following, f, lossless),
        1j * f * jnp.concatenate([steps, half])[order],
        jnp.concatenate([jnp.zeros(duct.slices.size), port.admittance])[order],
        rank,
        jnp.append(port.transfer, 1.0 / load),
        jnp.append(port.gain, 1.0),
        load,
    )


def sweep_to_reed(elements: Elements) -> tuple[State, Array]:
    """(p, U) at the input for unit flow out of the bell, and the pressure at every station (M,)."""

    def step(state: State, element: tuple[Array, ...]) -> tuple[State, Array]:
        p, flow = state
        a, b, c, d, half, y = element
        p, flow = a * p + b * flow, c * p + d * flow
        node = p + half * flow
        flow = flow + y * node
        return (node + half * flow, flow), node

    bell: State = (elements.load, jnp.ones_like(elements.load))
    rows: tuple[Array, ...] = (*elements.segment, elements.half_series, elements.shunt)
    return jax.lax.scan(step, bell, rows, reverse=True)


def sweep_to_bell(elements: Elements) -> tuple[State, Array]:
    """(p, U) at the bell for unit pressure at a closed input, and the pressure at every station (M,)."""

    def step(state: State, element: tuple[Array, ...]) -> tuple[State, Array]:
        p, flow = state
        a, b, c, d, half, y = element
        node = p - half * flow
        flow = flow - y * node
        p = node - half * flow
        return (d * p - b * flow, a * flow - c * p), node

    one = jnp.ones_like(elements.load)
    rows: tuple[Array, ...] = (*elements.segment, elements.half_series, elements.shunt)
    return jax.lax.scan(step, (one, jnp.zeros_like(one)), rows)


def input_impedances(
    duct: Duct, openness: Array, f: Array, lossless: bool = False, most_open: int | None = None
) -> tuple[Array, Array]:
    """Input impedance of the bore without the reed [Pa s/m3].

    Parameters
    ----------
    openness : (H,) 0 closed, 1 open, between: open share of the hole's area
    f : (F,) [Hz]
    most_open : how many holes may be open at most; fewer cost less (default: all)

    Returns
    -------
    chain : (F,) of the chain alone at f (F,) [Hz]
    whole : () with external interaction, at the last of them
    """
    elements = jax.vmap(lambda one: chain_elements(duct, openness, one, lossless))(f)
    (p, flow), right = jax.vmap(sweep_to_reed)(elements)
    chain: Array = p / flow
    last: Elements = jax.tree.map(lambda item: item[-1], elements)
    heard = jnp.argsort(openness <= 0.0, stable=True)[:most_open]
    return chain, chain[-1] + _added(duct, heard, last, right[-1], flow[-1], f[-1])


def most_open(openness: np.ndarray) -> int:
    """How many holes any fingering of openness (N, H) opens, rounded up to a multiple of four for few shapes."""
    count = int(np.max(np.sum(np.asarray(openness) > 0.0, axis=-1), initial=0))
    return min(-(-count // 4) * 4, int(np.shape(openness)[-1]))


def _added(duct: Duct, heard: Array, elements: Elements, right: Array, flow: Array, f: Array) -> Array:
    """What interaction adds to the input impedance; right (M,) and flow () from the sweep to the reed.

    heard : (P - 1,) the holes that may be open
    """
    (end_pressure, _), left = sweep_to_bell(elements)
    rank, opening = elements.rank[heard], jnp.append(heard, duct.holes.position.size)
    transfer, gain = elements.transfer[opening], elements.gain[opening]
    right = transfer * jnp.append(right[rank], elements.load) / flow
    left = transfer * jnp.append(left[rank], end_pressure)
    rank = jnp.append(rank, elements.shunt.size)
    nearer = rank[:, None] <= rank[None, :]
    response = jnp.where(nearer, left[:, None], right[:, None]) * jnp.where(nearer, right[None, :], left[None, :])
    response = response - jnp.diag(transfer * gain)
    return added_impedance(right, response, _mutual(duct, heard, f))


def _mutual(duct: Duct, heard: Array, f: Array) -> Array:
    """Mutual radiation impedances (P, P) of the holes heard (P - 1,) and the bell end."""
    holes, end = duct.holes, duct.end_position
    outside, radius = air_at(duct, end), radius_at(duct.bore, end)
    wall = radius + duct.end_wall
    openings = Openings(
        jnp.append(holes.position[heard], end + bell_centre(radius, wall)),
        jnp.append(holes.azimuth[heard], 0.0),
        jnp.append(holes.body_radius[heard], wall),
    )
    return mutual_impedance(f, openings, outside.c, outside.rho)


def with_reed(duct: Duct, bore: Array, f: Array, lossless: bool = False) -> Array:
    """Admittance [m3/(Pa s)] at the reed from that of the bore at its entry, shape of f [Hz]."""
    return seen_from_reed(bore, f, duct.reed, air_at(duct, jnp.asarray(0.0)), lossless)


def input_admittance(duct: Duct, openness: Array, f: Array, lossless: bool = False) -> Array:
    """Admittance [m3/(Pa s)] that the player's lips see: bore, openings acting on each other outside, and reed.

    Parameters
    ----------
    openness : (H,) 0 closed, 1 open, between: open share of the hole's area
    f : () [Hz]
    """
    return with_reed(duct, 1.0 / input_impedances(duct, openness, jnp.atleast_1d(f), lossless)[1], f, lossless)


def reference_admittance(duct: Duct, f: Array) -> Array:
    """Real admittance [m3/(Pa s)] against which the reflectance is taken, shape of f.

    Any positive value puts the zeros of the phase at the same frequencies; this one, that of the bore's mean cone
    seen from its input, keeps the phase nearly straight between them.
    """
    entry = air_at(duct, jnp.asarray(0.0))
    radius = duct.bore.radius[0]
    taper = (radius_at(duct.bore, duct.end_position) - radius) / duct.end_position
    k = 2.0 * jnp.pi * f / entry.c
    return jnp.pi * radius**2 / (entry.rho * entry.c) * (1.0 + (taper / (k * radius)) ** 2)


def reflectance(admittance: Array, reference: Array) -> Array:
    """Reflection coefficient [1] of an admittance against a real reference admittance."""
    return (reference - admittance) / (reference + admittance)
