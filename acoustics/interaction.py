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
small openings in free space: j rho omega e^{-jkd} / (4 pi d). A round body strengthens the near field between holes in
line (BODY_GAIN, fitted to finite elements of Laplace's equation, b/R = 0.3 and 0.5, within 0.021) and changes the
shared radiated power by `shared_power`. Validity: openings small against their distance, k R < 0.5; holes far round
the body from each other are treated as if in line at the same distance along the surface.
"""

import jax.numpy as jnp

from acoustics.arrays import Array

BODY_GAIN = 0.64
BODY_RANGE = 1.83
EULER_GAMMA = 0.5772156649
KR_MOST = 0.7


def surface_distances(position: Array, azimuth: Array, body_radius: Array) -> Array:
    """Distances (P, P) [m] along the body between openings at position [m] and azimuth [rad], 1 on the diagonal.

    The bell end, last, surrounds the body: only the distance along counts for it.
    """
    along = position[:, None] - position[None, :]
    turn = jnp.mod(azimuth[:, None] - azimuth[None, :] + jnp.pi, 2.0 * jnp.pi) - jnp.pi
    around = turn * 0.5 * (body_radius[:, None] + body_radius[None, :])
    square = along**2 + jnp.where(_with_bell(position.size), 0.0, around**2)
    return jnp.sqrt(jnp.where(jnp.eye(position.size, dtype=bool), 1.0, square + 1e-8))


def _with_bell(size: int) -> Array:
    """Pairs (P, P) in which one opening is the bell end."""
    last = jnp.arange(size) == size - 1
    return last[:, None] | last[None, :]


def shared_power(kr: Array, with_bell: Array) -> Array:
    """Factor [1] of a round body on the power that two openings share, against free space.

    kr : wavenumber times body radius; with_bell : whether one of them is the bell end, which drives no dipole

    Long-wave limit of the Fourier solution for sources on an infinite rigid cylinder (Morse & Ingard, *Theoretical
    Acoustics*, 1968, section 7.3): orders 0 and 1, averaged over axial wavenumbers. kr counts up to `KR_MOST` only,
    beyond which the series does not hold.
    """
    x_squared = jnp.minimum(kr, KR_MOST) ** 2 * 2.0 / 3.0
    ring = 1.0 - x_squared * (0.5 * jnp.log(0.25 * x_squared) + EULER_GAMMA - 0.5)
    return 1.0 / ring + jnp.where(with_bell, 0.0, 2.0 * x_squared)


def mutual_impedance(f: Array, distance: Array, body_radius: Array, c: Array, rho: Array) -> Array:
    """Mutual radiation impedances (P, P) [Pa s/m3], zero on the diagonal; body_radius (P,) [m], f () [Hz]."""
    omega = 2.0 * jnp.pi * f
    radius = 0.5 * (body_radius[:, None] + body_radius[None, :])
    with_bell = _with_bell(body_radius.size)
    near = jnp.where(with_bell, 1.0, 1.0 + BODY_GAIN * jnp.exp(-distance / (BODY_RANGE * radius)))
    kd = omega / c * distance
    power = shared_power(omega / c * radius, with_bell)
    pressure = omega * rho / (4.0 * jnp.pi * distance) * (power * jnp.sin(kd) + 1j * near * jnp.cos(kd))
    return jnp.where(jnp.eye(body_radius.size, dtype=bool), 0.0, pressure)


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
