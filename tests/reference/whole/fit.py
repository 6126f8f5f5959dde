"""Constants of `acoustics.hole_rises` by least squares from `inner.json` and `outer.json`, and how far off they are.

Needs NumPy, SciPy and the project itself.
"""

import json
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares

from acoustics.toneholes import matching_length, static_inner_length

HERE = Path(__file__).parent
LONGEST = 6.0
"""Holes whose inertance with their load is that of more than this [b] are near a resonance of their own."""


def columns(name, *fields):
    """Columns of a file of rows."""
    rows = json.loads((HERE / name).read_text(encoding="utf-8"))
    return (np.array([row[field] for row in rows]) for field in fields)


def inner():
    """Miss of the shunt lengths [b] as a function of the two constants, and k a; of holes up to LONGEST."""
    delta, wall, load, ka, shunt = columns("inner.json", "delta", "wall", "load", "ka", "shunt")
    kb = ka * delta
    tangent = np.tan(kb * (wall + matching_length(1.0, delta))) / kb
    beyond = (load + tangent) / (1.0 - kb**2 * load * tangent)

    short = (beyond > 0.0) & (beyond < LONGEST)
    delta, ka, kb, beyond, shunt = (row[short] for row in (delta, ka, kb, beyond, shunt))

    def miss(constants):
        rise = ka**2 * delta * (constants[0] - constants[1] * delta)
        return (static_inner_length(1.0, delta) + rise + beyond) / (1.0 - kb**2 / 6.0) ** 2 - shunt

    return miss, ka


def outer():
    """Miss of the rises [b] as a function of the two constants, and k R."""
    ratio, kr, rise = columns("outer.json", "ratio", "kr", "rise")

    def miss(constants):
        return 0.25 * ratio * (kr**2 - 0.03**2) * (constants[0] - constants[1] * ratio) - rise

    return miss, kr


for name, (miss, x) in {"inner": inner(), "outer": outer()}.items():
    found = least_squares(miss, [0.1, 0.1]).x
    print(name, found.round(4))
    for most in (0.2, 0.5):
        error = miss(found.round(3 if name == "inner" else 2))[x <= most]
        print(f"  up to {most}: largest {abs(error).max():.4f}  rms {np.sqrt((error**2).mean()):.4f}")
