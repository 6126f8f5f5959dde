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


def reed_admittance(f: Array, reed: Reed, air: Air, lossless: bool = False) -> Array:
    """Admittance [m3/(Pa s)] of cavity and reed at f () [Hz], seen from the entry of the bore.

    The reed is a damped oscillator at the closed end of the cavity.
    """
    stiffness = air.rho * air.c**2
    ratio = f / reed.resonance_hz
    yielding = reed.compliance_volume / (1.0 - ratio**2 + 1j * ratio * reed.damping)
    blades = 2j * jnp.pi * f / stiffness * yielding
    lumped = jnp.isinf(reed.cavity_radius)
    radius = jnp.where(lumped, 1.0, reed.cavity_radius)
    gamma, z_c = propagation(f, radius, air, lossless)
    tangent = jnp.tanh(gamma * reed.volume / (jnp.pi * radius**2))
    line = (blades + tangent / z_c) / (1.0 + z_c * blades * tangent)
    return jnp.where(lumped, 2j * jnp.pi * f / stiffness * reed.volume + blades, line)
