"""Visco-thermal propagation in a rigid cylinder (Zwikker & Kosten, *Sound Absorbing Materials*, 1949).

| quantity | code | shape | unit |
|---|---|---|---|
| propagation constant | Gamma | broadcast of f, radius | 1/m |
| characteristic impedance | Z_c | broadcast of f, radius | Pa s/m3 |

The exact form needs F = 2 J1(x) / (x J0(x)) at a complex argument, which NumPy does not offer. With z = j x the ratio
obeys q_{v-1} = z^2 / (2 v + q_v), q_v = z I_{v+1}(z) / I_v(z) (Abramowitz & Stegun 9.6.26), so a few backward steps
from the uniform large-order expansion of q_N (Abramowitz & Stegun 9.7.7) are accurate for tubes of every width.
"""

import numpy as np

from acoustics.air import Air
from acoustics.arrays import Array
from acoustics.duals import with_rate

VALIDITY = "boundary layer and wavelength well apart: radius 0.4 to 40 mm, 20 Hz to 5 kHz"

_ORDER = 7  # relative error of F below 5e-6 for every |z|


def _large_order_ratio(y: Array, order: int) -> Array:
    """z I_{N+1}(z) / I_N(z) for z^2 = j y and large order N, uniform in y.

    Logarithmic derivative of A&S 9.7.7 to u_2.
    """
    n = float(order)
    w_squared = n * n + 1j * y
    inverse = 1.0 / w_squared
    w = np.sqrt(w_squared)
    p_squared = n * n * inverse
    slope = 1.0 - p_squared
    return (
        w
        - n
        - 0.5 * slope
        - (3.0 - 15.0 * p_squared) * slope * (w * inverse) / 24.0
        - (2.0 - 24.0 * p_squared + 30.0 * p_squared * p_squared) * slope * inverse / 16.0
    )


@with_rate(lambda shear, value: (2.0 - 2.0 * value - 0.5j * shear * shear * value * value) / shear)
def boundary_function(shear_number: Array) -> Array:
    """F = 2 J1(x) / (x J0(x)) at x = shear_number * sqrt(-j): the share of the cross-section the wall layer takes.

    Parameters
    ----------
    shear_number : radius over boundary-layer scale, a sqrt(omega rho / mu) [1], of any shape, positive

    Returns
    -------
    complex array of the same shape, relative error below 5e-6; its slope in closed form, s dF/ds = 2 - 2 F -
    j s^2 F^2 / 2 (from I0' = I1, I1' = I0 - I1/z)

    Source: module docstring.
    """
    y = shear_number * shear_number
    ratio = _large_order_ratio(y, _ORDER)
    for order in range(_ORDER, 1, -1):
        ratio = 1j * y / (2.0 * order + ratio)
    return 2.0 / (2.0 + ratio)


def propagation(f: Array, radius: Array, air: Air, lossless: bool = False) -> tuple[Array, Array]:
    """Propagation constant Gamma [1/m] and characteristic impedance Z_c [Pa s/m3] of a tube, in broadcast shape.

    Parameters
    ----------
    f : frequency [Hz]
    radius : of the tube [m]
    air : state of the air in it; all of shapes that broadcast
    lossless : drop the wall losses (comparison with lossless references)

    Source: Zwikker & Kosten 1949; Chaigne & Kergomard 2016, section 5.5. Validity: see `VALIDITY`.
    """
    omega = 2.0 * np.pi * f
    area = np.pi * radius**2
    if lossless:
        return 1j * omega / air.c, air.rho * air.c / area + 0j * omega
    shear = radius * np.sqrt(omega * (air.rho / air.viscosity))
    prandtl = air.viscosity * air.heat_capacity / air.conductivity
    viscous = 1.0 - boundary_function(shear)
    thermal = 1.0 + (air.gamma - 1.0) * boundary_function(shear * np.sqrt(prandtl))
    return 1j * omega / air.c * np.sqrt(thermal / viscous), air.rho * air.c / area / np.sqrt(viscous * thermal)
