"""Small sources on a round body, as exactly as integrals tell."""

import numpy as np
import scipy


def exact_rise(kr: float, distance: float, orders: int = 3) -> float:
    """How much the pressure in phase with acceleration, at a distance in radii along the body, exceeds the static one.

    Fourier solution, Morse & Ingard, Theoretical Acoustics (1968), section 7.3 (from memory). For wavenumbers beyond k
    the orders fall off as modified Bessel functions; away from the source the difference from its static form needs
    orders 0 to 2 only. In units of the source's 1/(4 pi radius).
    """

    def order(n, kz, k):
        x = np.sqrt(abs(k * k - kz * kz))
        if kz < k:
            return (-scipy.special.hankel1(n, x) / (x * scipy.special.h1vp(n, x))).real
        return -scipy.special.kv(n, x) / (x * scipy.special.kvp(n, x))

    def part(n):
        def inside(t):
            return kr * np.cos(t) * np.cos(kr * np.sin(t) * distance) * order(n, kr * np.sin(t), kr)

        def outside(t):
            return kr * np.sinh(t) * np.cos(kr * np.cosh(t) * distance) * order(n, kr * np.cosh(t), kr)

        def static(u):
            return 2.0 * u * np.cos(u * u * distance) * order(n, u * u, 0.0)

        top = 30.0
        pieces = (inside, 0.0, np.pi / 2.0), (outside, 1e-9, np.arccosh(top / kr)), (static, 1e-9, np.sqrt(top))
        dynamic, beyond, rest = (
            scipy.integrate.quad(fun, low, high, limit=800, epsabs=1e-6)[0] for fun, low, high in pieces
        )
        return dynamic + beyond - rest

    return 2.0 / np.pi * sum((1.0 if n == 0 else 2.0) * part(n) for n in range(orders))
