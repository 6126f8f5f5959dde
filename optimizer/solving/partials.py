"""How strong each partial of a blown note is outside, by what the duct makes of a reed's flow.

A blown tone is periodic, so that its partials lie at whole multiples of its frequency, however the resonances lie. The
duct says what of each partial's flow leaves every opening; a small opening sounds with the frequency times its flow
(Rayleigh, *Theory of Sound*, section 278), and here the powers of all openings add, as an ear off to the side takes
them: below the cutoff of its open holes a note sounds from the first of them, above it from all.

The reed's flow itself is a guess at timbre and moves no pitch: pulses whose partials fall by 6 dB an octave, and by 12
above a frequency at which a reed no longer follows (Benade, *Fundamentals of Musical Acoustics*, 1976, ch. 22, from
memory).
"""

import numpy as np

from acoustics.arrays import Floats
from acoustics.network import Duct
from acoustics.scan import outflows

REED_FOLLOWS_HZ = 1000.0
HIGHEST_HZ = 6000.0
"""No partial counts beyond: there bores no longer carry plane waves alone."""
MOST = 100
"""Of a note: 100 carry the lowest, 29 Hz, to 2.9 kHz; 6 dB an octave down at least, what is beyond adds little."""
FAINTEST_DB = -60.0


def partial_levels(duct: Duct, openness: Floats, frequency: Floats) -> list[list[int]]:
    """Levels of the partials of some notes [dB], the strongest of each note 0, down to the last that counts.

    Parameters
    ----------
    duct : one
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    frequency : (N,) of the notes [Hz]
    """
    counts = np.clip(HIGHEST_HZ // frequency, 1, MOST).astype(int)
    number = np.concatenate([np.arange(1, count + 1) for count in counts]) if counts.size else np.zeros(0)
    f = number * np.repeat(frequency, counts)
    flow = np.abs(outflows(duct, np.repeat(openness, counts, axis=0).T, f))
    sounded = np.sqrt(np.sum(flow**2, axis=0)) * f / (number * np.hypot(1.0, f / REED_FOLLOWS_HZ))
    with np.errstate(divide="ignore"):
        level = 20.0 * np.log10(sounded)
    return [_told(row) for row in np.split(level, np.cumsum(counts)[:-1])] if counts.size else []


def _told(level: Floats) -> list[int]:
    """Levels (n,) of one note against its strongest partial, without the faint ones at the end."""
    beside = np.maximum(level - np.max(level), FAINTEST_DB)
    last = int(np.flatnonzero(beside > FAINTEST_DB)[-1])
    return [int(value) for value in np.rint(beside[: last + 1])]
