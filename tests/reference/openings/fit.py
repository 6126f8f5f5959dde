"""Constants of the outer lengths of openings, by least squares from `openings.json`, and how far off they are.

    python fit.py            fit to every opening, print constants and errors
    python fit.py held-back  fit without every third opening, print the errors on those

Needs NumPy, SciPy and the project itself.
"""

import json
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares

from acoustics.openings import FLAT, SADDLE, flat_pad_shape, flat_shape, saddle_pad_shape, saddle_shape

RESULTS = Path(__file__).with_name("openings.json")
FIELDS = ("body_radius", "seat_width", "seat_top", "pad_radius", "pad_gap", "length")


def clears(case):
    """Whether there is no pad or it has left a sunk flat: its gap is more than the flat's depth by 0.15."""
    return not case["pad_gap"] or case["pad_gap"] + case.get("seat_top", 0.0) > 0.15


def openings(*kinds):
    """Columns (ratio, edge, height, pad, gap, length) of every result of these kinds of opening, (6, n), and names."""
    results = json.loads(RESULTS.read_text(encoding="utf-8"))
    listed = {
        name: case for name, case in results.items() if case["kind"] in kinds and "/" not in name and clears(case)
    }
    radius, width, *others = np.array([[case.get(field, 0.0) for field in FIELDS] for case in listed.values()]).T
    ratio = np.divide(1.0, radius, out=np.full_like(radius, 1e-9), where=radius > 0.0)
    return np.array([ratio, 1.0 + width, *others]), list(listed)


def saddle(at, k):
    """Outer lengths [b] of saddles (n,) by the formula."""
    ratio, _, _, pad, gap, _ = at
    padded = gap > 0.0
    extra = saddle_pad_shape(ratio, np.where(padded, pad, 1.0), np.where(padded, gap, 1.0), k)
    return saddle_shape(ratio, k) + np.where(padded, extra, 0.0)


def flat(at, k):
    """Outer lengths [b] of flats (n,) by the formula."""
    ratio, edge, height, pad, gap, _ = at
    padded = gap > 0.0
    extra = flat_pad_shape(ratio, edge, height, np.where(padded, pad, edge), np.where(padded, gap, 1.0), k)
    return flat_shape(ratio, edge, height, k) + np.where(padded, extra, 0.0)


def tolerance(at):
    """What each length (n,) may be off [b]: more where a low pad makes it long."""
    return 0.004 + 0.006 * np.maximum(at[-1] - 0.75, 0.0)


def fitted(formula, start, at):
    """Constants by least squares, from start."""

    def misses(constants):
        with np.errstate(all="ignore"):
            return np.nan_to_num((formula(at, type(start)(*constants)) - at[-1]) / tolerance(at), nan=1e3)

    return type(start)(*(float(value) for value in least_squares(misses, start, x_scale="jac", max_nfev=2000).x))


def report(name, formula, constants, at, names):
    """Print the largest and the rms error of bare openings, and of padded ones by their gap."""
    error, gap = formula(at, constants) - at[-1], at[4]
    for label, chosen in (
        ("no pad", gap == 0.0), ("gap 0.2 to 0.35", (gap > 0) & (gap < 0.35)), ("gap from 0.35", gap >= 0.35)
    ):  # fmt: skip
        some = error[chosen]
        largest, rms = abs(some).max(), np.sqrt((some**2).mean())
        print(f"{name:18s} {label:16s} n {some.size:3d}  largest {largest:.4f}  rms {rms:.4f}")
    for i in np.argsort(-abs(error))[:5]:
        print(f"    {names[i]:20s} {error[i]:+.4f}", at[:, i].round(3))


def main(what):
    """Fit saddles and flats and print."""
    for name, formula, start, kinds in (
        ("saddle", saddle, SADDLE, ("saddle", "plane")),
        ("flat", flat, FLAT, ("flat",)),
    ):
        at, names = openings(*kinds)
        third = np.array([int(entry[-2:]) % 3 == 2 for entry in names])
        if what == "held-back":
            constants = fitted(formula, start, at[:, ~third])
            report(
                name + ", held back",
                formula,
                constants,
                at[:, third],
                [n for n, out in zip(names, third, strict=True) if out],
            )
        else:
            constants = fitted(formula, start, at)
            report(name, formula, constants, at, names)
        print(constants)


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "all")
