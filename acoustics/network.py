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

from acoustics.air import OUTDOOR_CO2, Air, air
from acoustics.arrays import Array
from acoustics.bore import Bore, interval_line, radius_at, segment_matrix
from acoustics.radiation import end_impedance
from acoustics.reed import Reed, reed_admittance
from acoustics.toneholes import Holes, series_impedance, shunt_admittance

State: TypeAlias = tuple[Array, Array]
"""Pressure and flow at one place of the chain."""


class Climate(NamedTuple):
    """Air along the bore: temperature falls linearly from reed to bell end [degC]; humidity 0 to 1; CO2 fraction."""

    reed_degC: Array | float
    bell_degC: Array | float
    humidity: Array | float = 0.0
    co2: Array | float = OUTDOOR_CO2


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
    temperature = climate.reed_degC + share * (jnp.asarray(climate.bell_degC) - climate.reed_degC)
    return air(temperature, climate.humidity, climate.co2)


def bore_input(duct: Duct, openness: Array, f: Array, lossless: bool = False) -> tuple[Array, Array]:
    """Pressure and flow (p, U) at s = 0 for unit flow out of the bell; openness (H,), f () [Hz]."""
    holes, end = duct.holes, duct.end_position
    position = jnp.concatenate([jnp.clip(duct.slices, 0.0, end), holes.position])
    order = jnp.argsort(position)
    here = position[order]
    following = jnp.append(here[1:], end)
    start, start_radius, slope = interval_line(duct.bore, 0.5 * (here + following))
    r1 = start_radius + slope * (here - start)
    segment = segment_matrix(f, r1, following - here, slope, air_at(duct, 0.5 * (here + following)), lossless)
    hole_air = air_at(duct, holes.position)
    bore_radius = radius_at(duct.bore, holes.position)
    plain = jnp.zeros(duct.slices.size)
    half_series = 0.5 * series_impedance(f, holes, bore_radius, openness, hole_air)
    shunt = shunt_admittance(f, holes, bore_radius, openness, hole_air, lossless)
    half_series = jnp.concatenate([plain, half_series])[order]
    shunt = jnp.concatenate([plain, shunt])[order]

    end_air = air_at(duct, end)
    end_radius = radius_at(duct.bore, end)
    load = end_impedance(f, end_radius, end_radius + duct.end_wall, end_air.c, end_air.rho)

    def step(state: State, element: tuple[Array, ...]) -> tuple[State, None]:
        p, flow = state
        a, b, c, d, half, y = element
        p, flow = a * p + b * flow, c * p + d * flow
        p = p + half * flow
        flow = flow + y * p
        return (p + half * flow, flow), None

    bell: State = (load, jnp.ones_like(load))
    elements: tuple[Array, ...] = (*segment, half_series, shunt)
    (p, flow), _ = jax.lax.scan(step, bell, elements, reverse=True)
    return p, flow


def input_admittance(duct: Duct, openness: Array, f: Array, lossless: bool = False) -> Array:
    """Admittance [m3/(Pa s)] that the player's lips see: bore and reed together.

    Parameters
    ----------
    openness : (H,) 0 closed, 1 open, between: open share of the hole's area
    f : () [Hz]
    """
    p, flow = bore_input(duct, openness, f, lossless)
    return flow / p + reed_admittance(f, duct.reed, air_at(duct, jnp.asarray(0.0)))


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
