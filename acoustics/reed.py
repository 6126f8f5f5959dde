"""What stands at the input of the bore: cavity and reed, with optional compliance, resonance and damping.

The cavity (mouthpiece chamber, reed) and the yielding reed both act as volumes while the wavelength is long against
them (Nederveen, *Acoustical Aspects of Woodwind Instruments*, 1969). On a narrow cone that is not enough: a volume
equal to the missing tip leaves the octave tens of cents wide, the same volume as a slim cylinder does not. The cavity
may therefore be given a radius and then is a lossy cylinder of the same volume, closed by the reed. Longer shaped
pieces (staple, crook tip) belong in the bore table. Reed compliance flattens, most at the top; damping a little more.
"""

from typing import NamedTuple

import numpy as np

from acoustics.air import Air
from acoustics.arrays import Array
from acoustics.bore import Matrix
from acoustics.duals import value_of
from acoustics.losses import propagation


class Reed(NamedTuple):
    """Reed and cavity.

    Attributes
    ----------
    volume : cavity volume [m3]
    cavity_radius : radius of the cavity as a cylinder [m]; inf for a cavity without length
    compliance_volume : reed compliance as the volume of air that yields as much [m3]
    resonance_hz : reed resonance under the lip [Hz]; inf for a reed without inertia
    damping : 1/Q of that resonance, 0 for none
    """

    volume: Array
    cavity_radius: Array
    compliance_volume: Array
    resonance_hz: Array
    damping: Array


def cavity_matrix(f: Array, reed: Reed, air: Air, lossless: bool = False) -> Matrix:
    """Transfer matrix of the cavity from the reed to the entry of the bore, of the shape of f.

    Parameters
    ----------
    f : frequency [Hz]
    reed : fields ()
    air : state of the air in the cavity
    lossless : drop the wall losses
    """
    if np.isinf(value_of(reed.cavity_radius)):
        return Matrix(1.0, 0.0, 2j * np.pi * f * (reed.volume / (air.rho * air.c**2)), 1.0)
    radius = reed.cavity_radius
    gamma, z_c = propagation(f, radius, air, lossless)
    grown = np.exp(gamma * (reed.volume / (np.pi * radius**2)))
    shrunk = 1.0 / grown
    cosh, sinh = 0.5 * (grown + shrunk), 0.5 * (grown - shrunk)
    return Matrix(cosh, z_c * sinh, sinh / z_c, cosh)


def yielding_admittance(f: Array, reed: Reed, air: Air) -> Array:
    """Admittance [m3/(Pa s)] of the yielding reed itself, of the shape of f: a damped oscillator beside the cavity.

    Parameters
    ----------
    f : frequency [Hz]
    reed : fields ()
    air : state of the air in the cavity
    """
    ratio = f / reed.resonance_hz
    yielding = reed.compliance_volume / (1.0 - ratio * ratio + 1j * ratio * reed.damping)
    return 2j * np.pi * f / (air.rho * air.c**2) * yielding


def seen_from_reed(bore: Array, f: Array, reed: Reed, air: Air, lossless: bool = False) -> Array:
    """Admittance [m3/(Pa s)] at the reed, of reed, cavity and bore together, of the shape of f.

    The cavity lies between the entry of the bore and the reed; the reed is beside it.

    Parameters
    ----------
    bore : admittance of the bore at its entry [m3/(Pa s)], of the shape of f
    f : frequency [Hz]
    reed : fields ()
    air : state of the air in the cavity
    lossless : drop the wall losses
    """
    a, b, c, d = cavity_matrix(f, reed, air, lossless)
    return (c + d * bore) / (a + b * bore) + yielding_admittance(f, reed, air)


def reed_admittance(f: Array, reed: Reed, air: Air, lossless: bool = False) -> Array:
    """Admittance [m3/(Pa s)] of reed and cavity alone, the bore stopped, of the shape of f; see `seen_from_reed`.

    Parameters
    ----------
    f : frequency [Hz]
    reed : fields ()
    air : state of the air in the cavity
    lossless : drop the wall losses
    """
    return seen_from_reed(0.0, f, reed, air, lossless)
