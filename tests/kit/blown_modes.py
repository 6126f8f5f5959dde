"""A reed on any impedance, blown step by step: the impedance as a sum of modes, each an equation of motion of its own.

SciPy fits the impedance up to 6.5 kHz by a rational function (AAA; Nakatsukasa, Sete & Trefethen, SIAM J. Sci. Comput.
40 (2018) A1494, from memory); its poles and residues are modes, worked out from sample to sample for a flow that goes
straight between them. The sound begins on a tone that is told, and after a tenth of a second goes its own way.
"""

import numpy as np
from blown_in_time import _pressure, flow

RATE = 88200
LEAD_SECONDS = 0.1


def modes(seen):
    """Poles and residues (M,) [1/s] of an impedance (n,) at f (n,) [Hz], and by how much they miss it at the most."""
    from scipy.interpolate import AAA

    f = np.concatenate([np.geomspace(15.0, 100.0, 60), np.arange(100.0, 6500.0, 4.0)])
    z = seen(f)
    fit = AAA(2j * np.pi * np.append(f, -f) / 1e3, np.append(z, z.conj()), rtol=3e-4, max_terms=120)
    poles, residues = fit.poles() * 1e3, fit.residues() * 1e3
    kept = (poles.real < 0.0) & (np.abs(poles.imag) < 2.0 * np.pi * 12e3)
    found = poles[kept], residues[kept]
    return *found, np.max(np.abs(impedance(*found, f) - z) / (1.0 + np.abs(z)))


def impedance(poles, residues, f):
    """What they make together, of the shape of f, real in time."""
    s = 2j * np.pi * np.asarray(f)[..., None]
    return 0.5 * np.sum(residues / (s - poles) + residues.conj() / (s - poles.conj()), axis=-1)


def blown_by_modes(poles, residues, mouth, strength, hz, partials, seconds):
    """Pressure at the reed over time, from the tone with these partials on."""
    step = 1.0 / RATE
    decay = np.exp(poles * step)
    both = (decay - 1.0) / poles * residues
    new = (decay - 1.0 - poles * step) / (poles**2 * step) * residues
    own, old = new.sum().real, both - new
    lead, total = int(LEAD_SECONDS * RATE), int(seconds * RATE)
    turns = np.exp(2j * np.pi * hz * step * np.arange(lead)[:, None] * np.arange(1, partials.size + 1))
    told = flow(mouth - (turns @ partials).real, strength)
    x, before, p = np.zeros(poles.size, complex), 0.0, np.zeros(total)
    for at in range(total):
        x = decay * x + old * before
        past = x.sum().real
        p[at] = past + own * told[at] if at < lead else _pressure(past / own, 1.0 / own, mouth, strength)
        before = (p[at] - past) / own
        x += new * before
    return p
