"""Every element of the chain as a formula of its own few numbers and frequency: for the reference and the kernel alike.

Each function takes the element's numbers (see `chain`), then the air's humidity and CO2, and gives what the network
needs. `charts` evaluates them on arrays and duals; `generate` writes the kernel's code from the very same functions. To
add a term, change the formula in its module: nothing here or in the kernel repeats it.

Scaled by frequency, so that they run smoothly through a few nodes:

| element | scaled | why |
|---|---|---|
| segment | A, B/f, C/f, D | inertance and compliance |
| opening | f Y, f t | an inertance to the outside |
| closed hole | Y/f | a compliance |
"""

from typing import NamedTuple

import numpy as np

from acoustics.air import air
from acoustics.arrays import Array
from acoustics.bore import Matrix, segment_matrix
from acoustics.interaction import own_resistance, pair_impedance
from acoustics.radiation import end_impedance
from acoustics.reed import Reed, cavity_matrix, yielding_admittance
from acoustics.toneholes import Holes, hole_ports, series_impedance


def segment_element(
    f: Array, radius: Array, length: Array, slope: Array, theta: Array, humidity: Array, co2: Array,
    *, lossless: bool = False,
) -> Matrix:  # fmt: skip
    """A, B/f, C/f, D of a straight-walled piece of bore, in broadcast shape; see `bore.segment_matrix`.

    Parameters
    ----------
    f : frequency [Hz]
    radius : at the reed side [m]
    length : along the axis [m]
    slope : dr/ds [1]
    theta : temperature [degC]
    humidity, co2 : of the air [1]
    lossless : drop the wall losses
    """
    a, b, c, d = segment_matrix(f, radius, length, slope, air(theta, humidity, co2), lossless)
    return Matrix(a, b / f, c / f, d)


class HoleElement(NamedTuple):
    """A hole at one openness: f Y (Y/f when closed), f t (0 when closed), gain, and series reactance over 2 f."""

    shunt: Array
    transfer: Array
    gain: Array
    half_series: Array


def hole_element(
    f: Array, radius: Array, bore_radius: Array, top_radius: Array, chimney_height: Array, body_radius: Array,
    rim_width: Array, pad_radius: Array, pad_gap: Array, lid_recess: Array, lid_absorption: Array, theta: Array,
    humidity: Array, co2: Array, *, openness: Array = 0.0, lossless: bool = False,
) -> HoleElement:  # fmt: skip
    """A hole at an openness, one for all or one for each, in broadcast shape; see `toneholes.hole_ports`.

    Parameters
    ----------
    f : frequency [Hz]
    radius, bore_radius, top_radius, chimney_height, body_radius, rim_width, pad_radius, pad_gap, lid_recess : see
        `toneholes.Holes` [m]
    lid_absorption : share of the energy that the lid takes [1]
    theta : temperature [degC]
    humidity, co2 : of the air [1]
    openness : 0 closed, 1 open, between: the open share of the hole's area
    lossless : leave out wall losses, and heat and absorption of lids
    """
    holes = Holes(
        0.0, 0.0, radius, top_radius, chimney_height, body_radius, rim_width, pad_radius, pad_gap, lid_recess,
        lid_absorption,
    )  # fmt: skip
    here = air(theta, humidity, co2)
    port = hole_ports(f, holes, bore_radius, openness, here, lossless)
    half = 0.5 * series_impedance(1.0, holes, bore_radius, openness, here).imag
    scale = np.where(openness > 0.0, f, 1.0 / f)
    return HoleElement(port.admittance * scale, port.transfer * f, port.gain, half)


def bell_element(f: Array, radius: Array, outer: Array, theta: Array, humidity: Array, co2: Array) -> Array:
    """Radiation impedance [Pa s/m3] of the bell end, in broadcast shape; see `radiation.end_impedance`.

    Parameters
    ----------
    f : frequency [Hz]
    radius, outer : inner and outer radius [m]
    theta : temperature [degC]
    humidity, co2 : of the air [1]
    """
    outside = air(theta, humidity, co2)
    return end_impedance(f, radius, outer, outside.c, outside.rho)


class ReedElement(NamedTuple):
    """Cavity from the reed to the bore's entry, admittance of the yielding reed, and the reference admittance."""

    cavity: Matrix
    yielding: Array
    reference: Array


def reed_element(
    f: Array, volume: Array, cavity_radius: Array, compliance_volume: Array, resonance_hz: Array, damping: Array,
    theta: Array, entry: Array, taper: Array, humidity: Array, co2: Array, *, lossless: bool = False,
) -> ReedElement:  # fmt: skip
    """What stands at the input, of the shape of f; entry radius and mean taper of the bore make the reference.

    Any positive reference puts the zeros of the reflectance's phase at the same frequencies; this one, that of the
    bore's mean cone seen from its input, keeps the phase nearly straight between them.

    Parameters
    ----------
    f : frequency [Hz]
    volume, cavity_radius, compliance_volume, resonance_hz, damping : see `reed.Reed`
    theta : temperature [degC]
    entry : radius of the bore at its entry [m]
    taper : mean dr/ds of the bore [1]
    humidity, co2 : of the air [1]
    lossless : drop the wall losses
    """
    here = air(theta, humidity, co2)
    lips = Reed(volume, cavity_radius, compliance_volume, resonance_hz, damping)
    k = 2.0 * np.pi * f / here.c
    reference = np.pi * entry * entry / (here.rho * here.c) * (1.0 + (taper / (k * entry)) ** 2)
    return ReedElement(cavity_matrix(f, lips, here, lossless), yielding_admittance(f, lips, here), reference)


def pair_element(
    f: Array, along: Array, turn: Array, radius: Array, theta: Array, humidity: Array, co2: Array,
    *, with_bell: bool = False,
) -> Array:  # fmt: skip
    """Mutual radiation impedance [Pa s/m3] of two openings, in broadcast shape; see `interaction.pair_impedance`.

    Parameters
    ----------
    f : frequency [Hz]
    along : distance along the body [m]
    turn : azimuth of one less that of the other [rad]
    radius : mean outer radius of the body [m]
    theta : temperature outside [degC]
    humidity, co2 : of the air [1]
    with_bell : whether one of the two is the bell end
    """
    outside = air(theta, humidity, co2)
    return pair_impedance(f, along, turn, radius, outside.c, outside.rho, with_bell)


def own_element(f: Array, radius: Array, theta: Array, humidity: Array, co2: Array) -> Array:
    """What a round body adds to a hole's own radiation resistance [Pa s/m3]; see `interaction.own_resistance`.

    Parameters
    ----------
    f : frequency [Hz], of a shape that broadcasts with (H,)
    radius : outer radius of the body [m]
    theta : temperature outside [degC]
    humidity, co2 : of the air [1]
    """
    outside = air(theta, humidity, co2)
    return own_resistance(f, radius, outside.c, outside.rho)
