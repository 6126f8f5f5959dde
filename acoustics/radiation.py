"""Open ends of tubes: the bell with its wall. Holes: see `openings`.

| model | what | source | validity |
|---|---|---|---|
| unflanged_levine1948 | tube end without a flange | Levine & Schwinger 1948; fit of Silva et al. 2009 | k a < 2.5 |
| flanged_dalmont2001 | tube end with a wall | Dalmont, Nederveen & Joly 2001 (from memory) | k a < 1.5 |
| bell_centre | where the bell's sound comes from | fit to potential flow | k a < 0.5 |
"""

import numpy as np

from acoustics.arrays import Array

UNFLANGED_LENGTH = 0.6133  # Levine & Schwinger 1948, low-frequency end correction over radius
FLANGED_LENGTH = 0.8216  # Nomura, Yamamura & Inawashiro 1960, infinite flange


def flanged_length(radius: Array, outer_radius: Array) -> Array:
    """Low-frequency end correction over radius [1] of a tube end with a wall, in broadcast shape.

    Parameters
    ----------
    radius, outer_radius : inner and outer radius of the tube end [m], outer >= inner

    Source: Dalmont et al. 2001 (from memory).
    """
    ratio = radius / outer_radius
    return FLANGED_LENGTH + ratio * (UNFLANGED_LENGTH - FLANGED_LENGTH) + 0.057 * ratio * (1.0 - ratio**5)


def end_reflection(ka: Array, length_over_radius: Array = UNFLANGED_LENGTH) -> Array:
    """Pressure reflection coefficient R [1] of an open tube end at its mouth, complex, in broadcast shape.

    Parameters
    ----------
    ka : wavenumber times radius [1]
    length_over_radius : low-frequency end correction over radius [1]

    Magnitude and the fall of the length with frequency are the unflanged ones of Silva, Guillemain, Kergomard,
    Mallaroni & Norris, J. Sound Vib. 322 (2009) 255, non-causal fits (from memory; |R| within 0.003 and the length
    within 0.007 a of Levine & Schwinger's integrals for ka < 2).
    """
    x = ka**2
    magnitude = (1.0 + 0.800 * x) / (1.0 + 1.300 * x + 0.266 * x**2 + 0.0263 * x**3)
    length = length_over_radius * (1.0 + 0.0599 * x) / (1.0 + 0.238 * x - 0.0153 * x**2 + 0.00150 * x**3)
    return -magnitude * np.exp(-2j * ka * length)


def end_impedance(f: Array, radius: Array, outer_radius: Array, c: Array, rho: Array) -> Array:
    """Radiation impedance [Pa s/m3] of the bell end, in broadcast shape; see `end_reflection`.

    Parameters
    ----------
    f : frequency [Hz]
    radius, outer_radius : inner and outer radius of the end [m], outer >= inner
    c : sound speed outside [m/s]
    rho : density outside [kg/m3]
    """
    ka = 2.0 * np.pi * f / c * radius
    reflection = end_reflection(ka, flanged_length(radius, outer_radius))
    return rho * c / (np.pi * radius**2) * (1.0 + reflection) / (1.0 - reflection)


def bell_centre(radius: Array, outer_radius: Array) -> Array:
    """Distance [m] from a bell end, outwards, of the point from which its sound spreads at low frequency.

    Parameters
    ----------
    radius, outer_radius : inner and outer radius of the end [m], of shapes that broadcast

    By reciprocity it lies where a slow stream along the body would have the pressure found inside the mouth. Fit to
    the potential flow past a blunt tube, within 0.006 of the outer radius; for a thin wall it equals the length
    correction, 0.6133 of the radius.
    """
    return outer_radius * (FLANGED_LENGTH - (FLANGED_LENGTH - UNFLANGED_LENGTH) * (radius / outer_radius) ** 2.75)
