"""External interaction: what flows out of one opening presses on the others through the air outside.

The chain gives, for unit flow at the input, the flow U0 out of every opening (holes, then the bell end), each loaded by
its own radiation alone. Outside, the flows U make pressures e = Z U with the mutual radiation impedances Z; these drive
flows back in. With K the chain's response to outside pressures, U = U0 + K Z U, and by reciprocity the input impedance
of the whole is that of the chain plus U0 . e.

| quantity | code | shape | unit |
|---|---|---|---|
| openings | P = holes + bell end, the bell last | | |
| mutual radiation impedance | mutual | (P, P) | Pa s/m3 |
| distance along the body's surface | distance | (P, P) | m |

Sources: Lefebvre, Scavone & Kergomard, Acta Acust. united Acust. 99 (2013), with Kergomard's mutual radiation. Two
small openings in free space: j rho omega e^{-jkd} / (4 pi d). What a round body makes of that:

| part | what | source | within |
|---|---|---|---|
| power, own and shared | around the body, and as dipoles | long-wave Fourier solution | 0.015 to k R 0.5 |
| near field of two holes | stronger by `BODY_GAIN` | finite elements of Laplace's equation | 0.021 |
| the same at higher notes | `DIPOLE_LAG`, `DIPOLE_CORE` | fit to the Fourier solution | 3 % to k R 0.4 |
| bell end | sounds from in front of its mouth | `radiation.bell_centre` | |

Fourier solution: sources on an infinite rigid cylinder, Morse & Ingard, *Theoretical Acoustics* (1968), section 7.3.
Validity: openings small against their distance, k R < 0.5; holes far round the body from each other act along the
surface.
"""

from typing import NamedTuple

import jax.numpy as jnp

from acoustics.arrays import Array

BODY_GAIN = 0.64
BODY_RANGE = 1.83
DIPOLE_LAG = 1.26
DIPOLE_CORE = 1.6
EULER_GAMMA = 0.5772156649
KR_MOST = 0.7


class Openings(NamedTuple):
    """Where sound comes out: position [m], azimuth [rad], outer radius of the body there [m], each (P,), bell last."""

    position: Array
    azimuth: Array
    body_radius: Array


def surface_distances(openings: Openings) -> Array:
    """Distances (P, P) [m] along the body's surface, 1 on the diagonal.

    The bell end, last, surrounds the body: only the distance along counts for it.
    """
    position, _, body = openings
    along = position[:, None] - position[None, :]
    around = _turn(openings) * 0.5 * (body[:, None] + body[None, :])
    square = along**2 + jnp.where(_with_bell(position.size), 0.0, around**2)
    return jnp.sqrt(jnp.where(jnp.eye(position.size, dtype=bool), 1.0, square + 1e-8))


def _turn(openings: Openings) -> Array:
    """Angle around the body from opening to opening (P, P) [rad], -pi to pi."""
    turn = openings.azimuth[:, None] - openings.azimuth[None, :]
    return jnp.mod(turn + jnp.pi, 2.0 * jnp.pi) - jnp.pi


def _with_bell(size: int) -> Array:
    """Pairs (P, P) in which one opening is the bell end."""
    last = jnp.arange(size) == size - 1
    return last[:, None] | last[None, :]


def body_power(kr: Array) -> tuple[Array, Array]:
    """Power of a small source on a round body, over that in free space [1]: what spreads all around, and as a dipole.

    kr : wavenumber times body radius; counts up to `KR_MOST` only, beyond which the long-wave series does not hold

    Orders 0 and 1 of the Fourier solution, averaged over the axial wavenumbers.
    """
    x_squared = jnp.minimum(kr, KR_MOST) ** 2 * 2.0 / 3.0
    ring = 1.0 - x_squared * (0.5 * jnp.log(0.25 * x_squared) + EULER_GAMMA - 0.5)
    return 1.0 / ring, 2.0 * x_squared


def mutual_impedance(f: Array, openings: Openings, c: Array, rho: Array) -> Array:
    """Radiation impedances (P, P) [Pa s/m3] beyond those of each opening alone in free space; f () [Hz].

    Off the diagonal the mutual ones, on it what the body adds to a hole's own resistance, 0 for the bell end.
    """
    own, with_bell = jnp.eye(openings.position.size, dtype=bool), _with_bell(openings.position.size)
    k = 2.0 * jnp.pi * f / c
    radius = 0.5 * (openings.body_radius[:, None] + openings.body_radius[None, :])
    distance = surface_distances(openings)
    kd = jnp.where(own, 1.0, k * distance)
    around, dipole = body_power(k * radius)
    dipole = jnp.where(with_bell, 0.0, dipole * jnp.cos(_turn(openings)))
    spread = jnp.where(own, 1.0, jnp.sin(kd) / kd)
    lobes = jnp.where(own, 1.0, 3.0 * (jnp.sin(kd) - kd * jnp.cos(kd)) / kd**3)
    resistance = around * spread + dipole * lobes - own
    gain = jnp.where(with_bell, 1.0, 1.0 + BODY_GAIN * jnp.exp(-distance / (BODY_RANGE * radius)))
    lag = DIPOLE_LAG * dipole * jnp.sin(kd) / (kd**2 + DIPOLE_CORE * (k * radius) ** 2)
    reactance = jnp.where(own, 0.0, gain * jnp.cos(kd) / kd + lag)
    own_bell = own & with_bell
    return rho * c * k**2 / (4.0 * jnp.pi) * jnp.where(own_bell, 0.0, resistance + 1j * reactance)


def added_impedance(outflow: Array, response: Array, mutual: Array) -> Array:
    """What interaction adds to the input impedance [Pa s/m3].

    Parameters
    ----------
    outflow : (P,) flow out of each opening per unit input flow, chain alone [1]
    response : (P, P) outflow per outside pressure at constant input flow, chain alone [m3/(Pa s)]
    mutual : (P, P) [Pa s/m3]
    """
    flow = jnp.linalg.solve(jnp.eye(outflow.size) - response @ mutual, outflow)
    added: Array = outflow @ (mutual @ flow)
    return added
