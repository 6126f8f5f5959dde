"""What stands at the input of the bore: the reed as an equivalent volume with optional compliance and damping.

The cavity (staple, mouthpiece chamber) and the yielding reed both act as volumes while the wavelength is long
against them (Nederveen, *Acoustical Aspects of Woodwind Instruments*, 1969). Validity: k V^(1/3) well below 1; a
cavity that is long against its width belongs in the bore table as a cylinder or cone piece.
"""

from typing import NamedTuple

import jax.numpy as jnp

from acoustics.air import Air
from acoustics.arrays import Array


class Reed(NamedTuple):
    """Reed and cavity.

    Attributes
    ----------
    volume : cavity volume [m3]
    compliance_volume : reed compliance as the volume of air that yields as much [m3]
    resonance_hz : reed resonance under the lip [Hz]; inf for a reed without inertia
    damping : 1/Q of that resonance, 0 for none
    """

    volume: Array
    compliance_volume: Array
    resonance_hz: Array
    damping: Array


def reed_admittance(f: Array, reed: Reed, air: Air) -> Array:
    """Admittance [m3/(Pa s)] of cavity and reed at f [Hz]: volumes, the reed's as a damped oscillator."""
    stiffness = air.rho * air.c**2
    ratio = f / reed.resonance_hz
    yielding = reed.compliance_volume / (1.0 - ratio**2 + 1j * ratio * reed.damping)
    return 2j * jnp.pi * f / stiffness * (reed.volume + yielding)
