"""External interaction: what flows out of one opening presses on the others through the air outside.

The chain gives, for unit flow at the input, the flow U0 out of every opening (holes, then the bell end), each loaded by
its own radiation alone. Outside, the flows U make pressures e = Z U with the mutual radiation impedances Z; these drive
flows back in. With K the chain's response to outside pressures, U = U0 + K Z U, and by reciprocity the input impedance
of the whole is that of the chain plus U0 . e.

| quantity | code | shape | unit |
|---|---|---|---|
| mutual radiation impedance | Z | of every two openings | Pa s/m3 |
| distance along the body's surface | apart | the same | m |

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

Only openings that sound take part: open holes and the bell.
"""

import numpy as np

from acoustics.arrays import Array

BODY_GAIN = 0.64
BODY_RANGE = 1.83
DIPOLE_LAG = 1.26
DIPOLE_CORE = 1.6
EULER_GAMMA = 0.5772156649
KR_MOST = 0.7
NEAREST = 1e-4
"""Openings never count as nearer than this [m]."""


def body_power(kr: Array) -> tuple[Array, Array]:
    """Power of a small source on a round body, over that in free space [1]: what spreads all around, and as a dipole.

    Parameters
    ----------
    kr : wavenumber times body radius [1], of any shape; counts up to `KR_MOST` only, beyond which the long-wave series
        does not hold

    Source: orders 0 and 1 of the Fourier solution (module docstring), averaged over the axial wavenumbers.
    """
    x_squared = np.minimum(kr, KR_MOST) ** 2 * 2.0 / 3.0
    ring = 1.0 - x_squared * (0.5 * np.log(0.25 * x_squared) + EULER_GAMMA - 0.5)
    return 1.0 / ring, 2.0 * x_squared


def pair_impedance(
    f: Array, along: Array, turn: Array, radius: Array, c: Array, rho: Array, with_bell: bool = False
) -> Array:
    """Mutual radiation impedance [Pa s/m3] of two openings, in broadcast shape.

    Parameters
    ----------
    f : frequency [Hz]
    along : distance along the body [m]
    turn : azimuth of one less that of the other [rad]; the bell end surrounds the body, where it counts for nothing
    radius : mean outer radius of the body [m]
    c : sound speed outside [m/s]
    rho : density outside [kg/m3]
    with_bell : whether one of the two is the bell end

    Source and validity: module docstring.
    """
    k = 2.0 * np.pi * f / c
    if with_bell:
        apart = np.sqrt(along * along + NEAREST**2)
    else:
        turn = np.remainder(turn + np.pi, 2.0 * np.pi) - np.pi
        apart = np.sqrt(along * along + (turn * radius) ** 2 + NEAREST**2)
    kd, kr = k * apart, k * radius
    around, dipole = body_power(kr)
    sine, cosine = np.sin(kd) / kd, np.cos(kd)
    prefix = rho * c / (4.0 * np.pi) * k * k
    if with_bell:
        return prefix * (around * sine + 1j * (cosine / kd))
    dipole = dipole * np.cos(turn)
    resistance = around * sine + dipole * 3.0 * (sine - cosine) / (kd * kd)
    gain = 1.0 + BODY_GAIN * np.exp(-apart / (BODY_RANGE * radius))
    reactance = gain * cosine / kd + DIPOLE_LAG * dipole * sine * kd / (kd * kd + DIPOLE_CORE * kr * kr)
    return prefix * (resistance + 1j * reactance)


def own_resistance(f: Array, radius: Array, c: Array, rho: Array) -> Array:
    """What a round body adds to a hole's own radiation resistance [Pa s/m3], in broadcast shape; see `body_power`.

    Parameters
    ----------
    f : frequency [Hz]
    radius : outer radius of the body [m]
    c : sound speed outside [m/s]
    rho : density outside [kg/m3]
    """
    k = 2.0 * np.pi * f / c
    around, dipole = body_power(k * radius)
    return rho * c / (4.0 * np.pi) * k * k * (around + dipole - 1.0)
