"""A reed as a valve: the flow that a mouth's pressure sends through its slit.

The slit narrows as far as the pressure across it presses, and a jet through it keeps none of its pressure (Bernoulli):
flow = slit at rest x (1 - dp / closing) x sqrt(2 dp / rho), none once the reed is shut (Backus, JASA 35 (1963) 305;
Wilson & Beavers, JASA 56 (1974) 653; Hirschberg in *Mechanics of Musical Instruments*, CISM 1995; all from memory). A
double reed's curve is much the same (Almeida, Vergez & Causse, JASA 121 (2007) 536, from memory).

Everything here is in shares: pressures of the one that shuts the reed, flows of that pressure over the bore's own
impedance. Two numbers are left: how hard the mouth blows, and the strength zeta = Zc x slit x sqrt(2 / (rho closing)).

The flow that the reed itself makes as it moves is no part of it: it stands in the admittance the reed sees (`reed`).
"""

from typing import NamedTuple

import numpy as np

from acoustics.arrays import Floats

ROUNDED = 1e-2
"""Over which share of the closing pressure the two corners of the curve are rounded: the root at no pressure, and the
slit where the reed shuts; a tenth of it moves pitches by less than 0.2 cent."""


class Flow(NamedTuple):
    """Flow, and its slopes by the pressure across the reed and by how far this presses it; each of one shape."""

    value: Floats
    by_pressure: Floats
    by_pressing: Floats


def valve_flow(across: Floats, pressing: Floats, rounded: float = ROUNDED) -> Flow:
    """Flow [1] through a reed of strength 1.

    Parameters
    ----------
    across : pressure across the reed, mouth less bore [1]
    pressing : what presses the reed, of the same shape; the same, for a reed without inertia [1]
    rounded : over which share of the closing pressure corners are rounded
    """
    square = across * across + rounded * rounded
    root = across / square**0.25
    root_slope = (0.5 * across * across + rounded * rounded) / square**1.25
    free = 1.0 - pressing
    length = np.hypot(free, rounded)
    slit, slit_slope = 0.5 * (free + length), -0.5 * (1.0 + free / length)
    return Flow(slit * root, slit * root_slope, slit_slope * root)


def strength(slit_area: Floats, closing: Floats, impedance: float, rho: float) -> Floats:
    """How strongly a reed drives a bore, zeta [1], of the shape of its arguments.

    Parameters
    ----------
    slit_area : of the slit at rest under the lip [m2]
    closing : pressure that shuts it [Pa]
    impedance : what flows are measured by, rho c / S of the bore's entry [Pa s/m3]
    rho : density of the air [kg/m3]
    """
    return np.asarray(impedance * slit_area * np.sqrt(2.0 / (rho * closing)))
