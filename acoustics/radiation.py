"""Open ends: bell with its wall, tone hole in a tube wall, disk above a hole.

| model | what | source | validity |
|---|---|---|---|
| unflanged_levine1948 | tube end without a flange | Levine & Schwinger 1948; fit of Silva et al. 2009 | k a < 2.5 |
| flanged_dalmont2001 | tube end with a wall | Dalmont, Nederveen & Joly 2001 (from memory) | k a < 1.5 |
| bell_centre | where the bell's sound comes from | fit to potential flow | k a < 0.5 |
| hole_in_wall_dalmont2001 | hole flush in a round body | same; offset refitted to finite elements | b/R <= 0.9 |
| hanging_disk_dalmont2001 | pad above a hole | same (from memory) | within 12 % from gap 0.2 b, 0.03 b from 0.75 b |
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


def hole_length(hole_radius: Array, body_radius: Array) -> Array:
    """Outer length correction [m] of an open hole flush in a round body, in broadcast shape.

    Parameters
    ----------
    hole_radius : of the hole's mouth [m]
    body_radius : outer radius of the body there [m]

    b (0.835 - 0.47 (b/R)^0.8): the form of Dalmont, Nederveen & Joly, J. Sound Vib. 244 (2001) 505, who give 0.822;
    the constant is moved by 0.013 to finite-element values (twelve cases, b/R 0.15 to 0.72, within 0.009 b).
    """
    b = hole_radius
    return b * (0.835 - 0.47 * (b / body_radius) ** 0.8)


def pad_length(hole_radius: Array, rim_width: Array, pad_radius: Array, gap: Array) -> Array:
    """Extra outer length [m] of an open hole under a rigid disk, in broadcast shape.

    Parameters
    ----------
    hole_radius, rim_width, pad_radius : hole, width of the rim around it, disk radius [m]
    gap : distance from rim to disk [m]; gap <= 0 means there is no disk, and the length is 0

    Source: Dalmont, Nederveen & Joly 2001 (from memory).
    """
    b = hole_radius
    present = gap > 0.0
    h = np.where(present, gap, 1.0)
    pad = np.where(present, pad_radius, 1.0)
    near = 3.5 * (h / b) ** 0.8 * (h / b + 3.0 * rim_width / b) ** -0.4
    return np.where(present, b / (near + 30.0 * (h / pad) ** 2.6), 0.0)
