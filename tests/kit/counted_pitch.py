"""The pitch of a tone by counting: the first partial cut out, and its zero crossings timed."""

import numpy as np


def first_partial(samples, rate, near_hz):
    """The part of a sound within half an octave of a frequency, (n,) complex: its real part is the sound's."""
    spectrum = np.fft.fft(samples * np.hanning(len(samples)))
    f = np.fft.fftfreq(len(samples), 1.0 / rate)
    return 2.0 * np.fft.ifft(np.where((f > near_hz / 1.4) & (f < near_hz * 1.4), spectrum, 0.0))


def counted_hz(samples, rate, near_hz):
    """Frequency by the upward zero crossings of the first partial, each placed by a straight line between samples."""
    wave = first_partial(np.asarray(samples, float), rate, near_hz).real
    middle = wave[len(wave) // 10 : -len(wave) // 10]
    up = np.flatnonzero((middle[:-1] < 0.0) & (middle[1:] >= 0.0))
    at = up - middle[up] / (middle[up + 1] - middle[up])
    return (len(at) - 1) / (at[-1] - at[0]) * rate
