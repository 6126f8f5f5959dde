"""External interaction: what flows out of one opening presses on the others through the air outside.

The chain gives, for unit flow at the input, the flow U0 out of every opening (holes, then the bell end), each loaded by
its own radiation alone. Outside, the flows U make pressures e = Z U with the mutual radiation impedances Z; these drive
flows back in. With K the chain's response to outside pressures, U = U0 + K Z U, and by reciprocity the input impedance
of the whole is that of the chain plus U0 . e.

| quantity | code | shape | unit |
|---|---|---|---|
| openings | P = holes + bell end, the bell last | | |
| mutual radiation impedance | mutual | (P, P) | Pa s/m3 |
| distance along the body's surface | apart | (Q,) | m |

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

import numpy as np

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


class Pairs(NamedTuple):
    """Every two openings once, each (Q,), Q = P (P - 1) / 2: apart [m], turn [rad], body's radius between them [m].

    apart runs along the body's surface; the bell end surrounds the body: only the distance along counts for it.
    """

    apart: Array
    turn: Array
    radius: Array


def opening_pairs(openings: Openings) -> Pairs:
    """Pairs in the order of `np.triu_indices(P, 1)`."""
    one, other = np.triu_indices(openings.position.size, 1)
    along = openings.position[one] - openings.position[other]
    turn = np.mod(openings.azimuth[one] - openings.azimuth[other] + np.pi, 2.0 * np.pi) - np.pi
    radius = 0.5 * (openings.body_radius[one] + openings.body_radius[other])
    around = np.where(_with_bell(openings.position.size), 0.0, turn * radius)
    return Pairs(np.sqrt(along**2 + around**2 + 1e-8), turn, radius)


def _with_bell(size: int) -> np.ndarray:
    """Which pairs (Q,) have the bell end, the last opening."""
    return np.asarray(np.triu_indices(size, 1)[1] == size - 1)


def body_power(kr: Array) -> tuple[Array, Array]:
    """Power of a small source on a round body, over that in free space [1]: what spreads all around, and as a dipole.

    kr : wavenumber times body radius; counts up to `KR_MOST` only, beyond which the long-wave series does not hold

    Orders 0 and 1 of the Fourier solution, averaged over the axial wavenumbers.
    """
    x_squared = np.minimum(kr, KR_MOST) ** 2 * 2.0 / 3.0
    ring = 1.0 - x_squared * (0.5 * np.log(0.25 * x_squared) + EULER_GAMMA - 0.5)
    return 1.0 / ring, 2.0 * x_squared


def mutual_impedance(f: Array, openings: Openings, c: Array, rho: Array) -> Array:
    """Radiation impedances (P, P) [Pa s/m3] beyond those of each opening alone in free space; f () [Hz].

    Off the diagonal the mutual ones, on it what the body adds to a hole's own resistance, 0 for the bell end.
    """
    size = openings.position.size
    with_bell, pairs = _with_bell(size), opening_pairs(openings)
    k = 2.0 * np.pi * f / c
    kd, kr = k * pairs.apart, k * pairs.radius
    around, dipole = body_power(kr)
    dipole = np.where(with_bell, 0.0, dipole * np.cos(pairs.turn))
    sine, cosine = np.sin(kd) / kd, np.cos(kd)
    resistance = around * sine + dipole * 3.0 * (sine - cosine) / kd**2
    gain = 1.0 + np.where(with_bell, 0.0, BODY_GAIN * np.exp(-pairs.apart / (BODY_RANGE * pairs.radius)))
    reactance = gain * cosine / kd + DIPOLE_LAG * dipole * sine * kd / (kd**2 + DIPOLE_CORE * kr**2)
    round_hole, dipole_hole = body_power(k * openings.body_radius[:-1])
    own = np.append(round_hole + dipole_hole - 1.0, 0.0)
    entries = np.concatenate([own + 0j, resistance + 1j * reactance])
    return rho * c * k**2 / (4.0 * np.pi) * entries[_places(size)]


def _places(size: int) -> np.ndarray:
    """Where the matrix (P, P) finds its entries: its diagonal first, then the pairs."""
    places = np.diag(np.arange(size))
    one, other = np.triu_indices(size, 1)
    places[one, other] = places[other, one] = size + np.arange(one.size)
    return places


def added_impedance(outflow: Array, response: Array, mutual: Array) -> Array:
    """What interaction adds to the input impedance [Pa s/m3].

    Parameters
    ----------
    outflow : (P,) flow out of each opening per unit input flow, chain alone [1]
    response : (P, P) outflow per outside pressure at constant input flow, chain alone [m3/(Pa s)]
    mutual : (P, P) [Pa s/m3]
    """
    flow = np.linalg.solve(np.eye(outflow.size) - response @ mutual, outflow)
    added: Array = outflow @ (mutual @ flow)
    return added
