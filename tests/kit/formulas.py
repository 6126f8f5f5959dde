"""Formulas of published acoustics, and inverses of ours, that several tests hold results against."""

import numpy as np
import scipy

from acoustics import toneholes
from acoustics.air import air
from acoustics.bore import Matrix
from acoustics.chart_elements import mutual_matrix, pair_table
from acoustics.interaction import own_resistance, pair_impedance
from acoustics.openings import saddle_length
from acoustics.toneholes import static_inner_length


def levine_schwinger(ka: float) -> tuple[float, float]:
    """|R| and length over radius of an unflanged pipe; Levine & Schwinger, Phys. Rev. 73 (1948) 383.

    With x = ka sin(t) both finite integrals lose their endpoint singularity.
    """

    def phase(t):
        x = ka * np.sin(t)
        return np.arctan2(scipy.special.jv(1, x), -scipy.special.yv(1, x)) / x

    def near(t):
        x = ka * np.sin(t)
        return np.log(np.pi * scipy.special.jv(1, x) * np.hypot(scipy.special.jv(1, x), scipy.special.yv(1, x))) / x

    def far(x):
        return np.log(1.0 / (2.0 * scipy.special.ive(1, x) * scipy.special.kve(1, x))) / (x * np.hypot(x, ka))

    magnitude = np.exp(-2.0 * ka / np.pi * scipy.integrate.quad(phase, 0.0, np.pi / 2)[0])
    length = (
        scipy.integrate.quad(near, 0.0, np.pi / 2)[0]
        + scipy.integrate.quad(far, 0.0, 1.0)[0]
        + scipy.integrate.quad(far, 1.0, np.inf)[0]
    )
    return magnitude, length / np.pi


def body_with_outer_length(radius: float, length: float) -> float:
    """Body radius [mm] at which a hole drilled into it has a wanted outer length [mm]; inverse of `saddle_length`."""
    return scipy.optimize.brentq(
        lambda body: float(saddle_length(radius, body)) - length, 0.1 * radius, 1e6 * radius, xtol=1e-13
    )


AIR = air(20.0)
C, RHO = float(AIR.c), float(AIR.rho)


def mutual(f, position, azimuth, body, c=C, rho=RHO) -> np.ndarray:
    """Mutual impedances of openings at position [m], azimuth [rad], on a body of radius [m]; the last is the bell."""
    one, other = pair_table(len(position) - 1)
    pairs = (position[one] - position[other], azimuth[one] - azimuth[other], 0.5 * (body[one] + body[other]))
    bell = other == len(position) - 1
    among = pair_impedance(f, *(row[~bell] for row in pairs), c, rho)
    with_bell = pair_impedance(f, *(row[bell] for row in pairs), c, rho, with_bell=True)
    return mutual_matrix(among[:, None], with_bell[:, None], own_resistance(f, body[:-1], c, rho)[:, None])[0]


def as_array(m: Matrix) -> np.ndarray:
    """2 x 2 matrices along the last two axes."""
    return np.moveaxis(np.array([[m.A, m.B], [m.C, m.D]]), (0, 1), (-2, -1))


def former_opening_lengths(hole_radius, body_radius, rim_width, seat_top, pad_radius, gap):
    """Outer length [m] of an open hole as release 0.1.0 had it, flush in a round body, and what a pad adds.

    Dalmont, Nederveen & Joly, J. Sound Vib. 244 (2001) 505, the first constant moved to finite elements.
    """
    b, there = hole_radius, gap > 0.0
    h, pad = np.where(there, gap, 1.0), np.where(there, pad_radius, 1.0)
    near = 3.5 * (h / b) ** 0.8 * (h / b + 3.0 * rim_width / b) ** -0.4
    bare = b * (0.835 - 0.47 * (b / body_radius) ** 0.8)
    return bare, np.where(there, b / (near + 30.0 * (h / pad) ** 2.6), 0.0)


def former_bare_length(hole_radius, body_radius, *rest):
    """The same without seat and pad, which cutoffs were worked out from."""
    return former_opening_lengths(hole_radius, body_radius, 0.0, 0.0, 0.0, np.zeros(np.shape(hole_radius)))


def former_inner_length(hole_radius, delta, ka):
    """Inner length [m] as release 0.1.0 had it, which grew for all of a hole at once."""
    return static_inner_length(hole_radius, delta) * (1.0 + np.exp(4.72 * delta - 3.13) * ka**2)


def no_friction(*given):
    """What release 0.1.0 had of friction in an opening, and most published computations."""
    return 0.0


def no_rise(*given):
    """What a length gains toward higher notes in release 0.1.0, and most published computations."""
    return 0.0


def whole_mouth(*given):
    """The share of the bore's wave that acts on a hole there."""
    return 1.0


def as_at_rest(monkeypatch):
    """Let NumPy's holes have the lengths of static flow at all frequencies, and no friction, while a test runs."""
    monkeypatch.setattr(toneholes, "opening_friction", no_friction)
    monkeypatch.setattr(toneholes, "inner_rise", no_rise)
    monkeypatch.setattr(toneholes, "length_rise", no_rise)
    monkeypatch.setattr(toneholes, "mouth_share", whole_mouth)


def as_in_0_1_0(monkeypatch):
    """Let NumPy's holes be those of release 0.1.0 while a test runs."""
    as_at_rest(monkeypatch)
    monkeypatch.setattr(toneholes, "opening_lengths", former_opening_lengths)
    monkeypatch.setattr(toneholes, "inner_length", former_inner_length)
