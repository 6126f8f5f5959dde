"""Visco-thermal propagation in a rigid cylinder (Zwikker & Kosten, *Sound Absorbing Materials*, 1949).

| quantity | code | shape | unit |
|---|---|---|---|
| propagation constant | Gamma | broadcast of f, radius | 1/m |
| characteristic impedance | Z_c | broadcast of f, radius | Pa s/m3 |

The exact form needs F = 2 J1(x) / (x J0(x)) at a complex argument, which JAX does not offer. With z = j x the ratio
obeys q_{v-1} = z^2 / (2 v + q_v), q_v = z I_{v+1}(z) / I_v(z) (Abramowitz & Stegun 9.6.26), so a few backward steps
from the uniform large-order expansion of q_N (Abramowitz & Stegun 9.7.7) are accurate for tubes of every width.
"""

import jax
import jax.numpy as jnp
from jax.typing import ArrayLike

from acoustics.air import Air
from acoustics.arrays import Array
from acoustics.complexes import pair, reciprocal, root

VALIDITY = "boundary layer and wavelength well apart: radius 0.4 to 40 mm, 30 Hz to 5 kHz"

_ORDER = 7  # relative error of F below 5e-6 for every |z|


def _large_order_ratio(y: Array, order: int) -> tuple[Array, Array]:
    """z I_{N+1}(z) / I_N(z) for z^2 = j y and large order N, as real and imaginary part, uniform in y.

    Logarithmic derivative of A&S 9.7.7 to u_2.
    """
    n = float(order)
    w_squared = jax.lax.complex(jnp.full_like(y, n * n), y)
    inverse = reciprocal(w_squared)
    w = root(w_squared)
    p_squared = n * n * inverse
    slope = 1.0 - p_squared
    found = (
        w
        - n
        - 0.5 * slope
        - (3.0 - 15.0 * p_squared) * slope * (w * inverse) / 24.0
        - (2.0 - 24.0 * p_squared + 30.0 * p_squared * p_squared) * slope * inverse / 16.0
    )
    return found.real, found.imag


@jax.custom_jvp
def boundary_function(shear_number: ArrayLike) -> Array:
    """F = 2 J1(x) / (x J0(x)) at x = shear_number * sqrt(-j): the share of the cross-section the wall layer takes.

    Parameters
    ----------
    shear_number : radius over boundary-layer scale, a sqrt(omega rho / mu) [1], any positive shape

    Returns
    -------
    complex array of the same shape, relative error below 5e-6
    """
    y = jnp.asarray(shear_number) ** 2
    real, imag = _large_order_ratio(y, _ORDER)
    for order in range(_ORDER, 1, -1):
        real = real + 2.0 * order
        share = y / (real * real + imag * imag)
        real, imag = share * imag, share * real
    return 2.0 * reciprocal(pair(2.0 + real, imag))


@boundary_function.defjvp
def _boundary_function_jvp(primals: tuple[Array], tangents: tuple[Array]) -> tuple[Array, Array]:
    """Derivative in closed form, s dF/ds = 2 - 2 F - j s^2 F^2 / 2 (from I0' = I1, I1' = I0 - I1/z)."""
    (shear,), (moving,) = primals, tangents
    value = boundary_function(shear)
    return value, (2.0 - 2.0 * value - 0.5j * shear**2 * value**2) / shear * moving


def propagation(f: ArrayLike, radius: ArrayLike, air: Air, lossless: bool = False) -> tuple[Array, Array]:
    """Propagation constant Gamma [1/m] and characteristic impedance Z_c [Pa s/m3] of a tube.

    Parameters
    ----------
    f : frequency [Hz], radius : tube radius [m]; they broadcast
    lossless : drop the wall losses (comparison with lossless references)

    Source: Zwikker & Kosten 1949; Chaigne & Kergomard 2016, section 5.5. Validity: see `VALIDITY`.
    """
    omega = 2.0 * jnp.pi * jnp.asarray(f)
    area = jnp.pi * jnp.asarray(radius) ** 2
    if lossless:
        ones = jnp.ones(jnp.broadcast_shapes(omega.shape, area.shape), dtype=complex)
        return 1j * omega / air.c * ones, air.rho * air.c / area * ones
    shear = jnp.asarray(radius) * jnp.sqrt(omega * air.rho / air.viscosity)
    prandtl = air.viscosity * air.heat_capacity / air.conductivity
    viscous = 1.0 - boundary_function(shear)
    thermal = 1.0 + (air.gamma - 1.0) * boundary_function(shear * jnp.sqrt(prandtl))
    return 1j * omega / air.c * root(thermal * reciprocal(viscous)), air.rho * air.c / area * reciprocal(
        root(viscous * thermal)
    )
