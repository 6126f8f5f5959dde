"""What stands at the input of the bore: cavity and reed, with optional compliance, resonance and damping.

The cavity (mouthpiece chamber, reed) and the yielding reed both act as volumes while the wavelength is long against
them (Nederveen, *Acoustical Aspects of Woodwind Instruments*, 1969). On a narrow cone that is not enough: a volume
equal to the missing tip leaves the octave tens of cents wide, the same volume as a slim cylinder does not. The cavity
may therefore be given a radius and then is a lossy cylinder of the same volume, closed by the reed. Longer shaped
pieces (staple, crook tip) belong in the bore table. Reed compliance flattens, most at the top; damping a little more.
"""

from typing import NamedTuple

import jax.numpy as jnp

from acoustics.air import Air
from acoustics.arrays import Array
from acoustics.complexes import cosh_sinh, reciprocal
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


def seen_from_reed(bore: Array, f: Array, reed: Reed, air: Air, lossless: bool = False) -> Array:
    """Admittance [m3/(Pa s)] at the reed, of reed, cavity and bore together.

    Parameters
    ----------
    bore : admittance of the bore at its entry [m3/(Pa s)], broadcasts with f [Hz]

    The cavity lies between the entry of the bore and the reed; the reed is a damped oscillator beside it.
    """
    stiffness = air.rho * air.c**2
    ratio = f / reed.resonance_hz
    yielding = reed.compliance_volume / (1.0 - ratio**2 + 1j * ratio * reed.damping)
    lumped = jnp.isinf(reed.cavity_radius)
    radius = jnp.where(lumped, 1.0, reed.cavity_radius)
    gamma, z_c = propagation(f, radius, air, lossless)
    cosh, sinh = cosh_sinh(gamma * (reed.volume / (jnp.pi * radius**2)))
    line = (bore * cosh + sinh * reciprocal(z_c)) * reciprocal(cosh + z_c * bore * sinh)
    cavity = jnp.where(lumped, bore + 2j * jnp.pi * f / stiffness * reed.volume, line)
    return cavity + 2j * jnp.pi * f / stiffness * yielding


def reed_admittance(f: Array, reed: Reed, air: Air, lossless: bool = False) -> Array:
    """Admittance [m3/(Pa s)] of reed and cavity alone at f () [Hz], the bore stopped."""
    return seen_from_reed(jnp.zeros(()), f, reed, air, lossless)
