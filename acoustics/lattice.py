"""The open-hole lattice: local cutoff frequency and how evenly a sequence runs.

Below the cutoff the open holes turn the wave back; above it sound escapes along the whole row (Benade, *Fundamentals
of Musical Acoustics*, 1976). Validity: hole spacing and chimney short against the wavelength.
"""

import numpy as np

from acoustics.arrays import Array


def local_cutoff(
    spacing: Array, bore_radius: Array, hole_radius: Array, effective_height: Array, c: Array | float
) -> Array:
    """Cutoff frequency [Hz] of the lattice around each hole, in broadcast shape.

    Parameters
    ----------
    spacing : between neighbouring holes [m]
    bore_radius, hole_radius : [m]
    effective_height : chimney with its end corrections [m]
    c : sound speed [m/s]; all lengths may be in another unit that it is in too

    c / (2 pi) (b/a) / sqrt(spacing t_e): low-frequency limit of the lossless lattice; Benade 1976, with the exact
    coefficient 1/(2 pi sqrt 2) for half spacings where he rounds to 0.11.
    """
    return c / (2.0 * np.pi) * hole_radius / bore_radius / np.sqrt(spacing * effective_height)


def bends(sequence: Array) -> Array:
    """Second differences (n - 2,) of the logarithm of a sequence (n,): 0 where it runs in even ratios."""
    log = np.log(sequence)
    return log[2:] - 2.0 * log[1:-1] + log[:-2]
