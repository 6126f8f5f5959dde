"""When a layout leaves the range in which a formula was checked: sentences that name the place and the formula.

`HOLE_RANGES` is the one list of the ranges of the hole formulas; the modules' tables quote it.
"""

from typing import NamedTuple

import numpy as np

from acoustics.bends import BEND_RANGE
from acoustics.bore import radius_at
from acoustics.network import Duct, air_at, as_arrays
from acoustics.toneholes import seat_top


class Range(NamedTuple):
    """Where a formula was checked: quantity [unit in its name], low and high end, the formula."""

    quantity: str
    low: float
    high: float
    formula: str


HOLE_RANGES = {
    "delta": Range("radius over bore radius", 0.0, 1.0, "inner length"),
    "height": Range("chimney over radius", 0.1, 30.0, "series length"),
    "ka": Range("k a at the highest note", 0.0, 0.6, "inner length"),
    "radius": Range("radius in mm", 0.4, 40.0, "wall losses"),
    "body": Range("radius over body radius", 0.0, 0.7, "outer length"),
    "rim": Range("rim of the flat over radius", 0.1, 4.0, "outer length"),
    "top": Range("height of the flat over radius", -0.3, np.inf, "outer length"),
    "around": Range("k times body radius at the highest note", 0.0, 0.5, "external interaction"),
    "lift": Range("pad opening over radius", 0.2, np.inf, "pad length"),
    "cover": Range("pad radius over hole and rim", 1.0, np.inf, "pad length"),
    "pad": Range("radius of a pad that opens less than the radius, over it,", 1.0, 2.0, "pad length"),
}
DUCT_RANGES = {
    "angle": Range("half angle in degrees", 0.0, 10.0, "spherical waves"),
    "radius": Range("radius in mm", 0.4, 40.0, "wall losses"),
    "ka": Range("k a at the highest note", 0.0, 1.5, "radiation"),
    "f": Range("frequency in Hz", 20.0, 5000.0, "wall losses"),
    "bend": Range("bore radius over that of the bend", *BEND_RANGE, "inertance of a bend"),
    "reed": Range("k times the cube root of the reed volume", 0.0, 0.5, "reed as a volume"),
}


def out_of_range(duct: Duct, hole_names: list[str], f_lowest: float, f_highest: float) -> list[str]:
    """Sentences for every formula whose checked range a duct leaves between its lowest and its highest note.

    Parameters
    ----------
    duct : one
    hole_names : (H,) for the sentences
    f_lowest, f_highest : [Hz]
    """
    duct = as_arrays(duct)
    holes = duct.holes
    place = duct.end_position[None]
    bore, end, speed = radius_at(duct.bore, holes.position), radius_at(duct.bore, place)[0], air_at(duct, place).c[0]
    k = 2.0 * np.pi * f_highest / float(speed)
    b, gap = np.asarray(holes.radius), np.asarray(holes.pad_gap)
    mouth, rim, pad, padded = (*map(np.asarray, (holes.top_radius, holes.rim_width, holes.pad_radius)), gap > 0.0)
    values = {
        "delta": b / bore,
        "height": np.asarray(holes.chimney_height) / b,
        "ka": k * bore,
        "radius": 1e3 * b,
        "body": mouth / np.asarray(holes.body_radius),
        "rim": np.where(rim > 0.0, rim / mouth, 1.0),
        "top": np.where(rim > 0.0, np.asarray(seat_top(holes, bore)) / mouth, 0.0),
        "around": k * np.asarray(holes.body_radius),
        "lift": np.where(padded, gap / mouth, 1.0),
        "cover": np.where(padded, pad / (mouth + rim), 1.0),
        "pad": np.where(padded & (gap < mouth), pad / mouth, 1.0),
    }
    found = [
        _sentence(name, HOLE_RANGES[key], float(value))
        for key, row in values.items()
        for name, value in zip(hole_names, row, strict=True)
    ]
    return [sentence for sentence in [*found, *_duct_sentences(duct, k, float(end), f_lowest, f_highest)] if sentence]


def _duct_sentences(duct: Duct, k: float, end: float, f_lowest: float, f_highest: float) -> list[str]:
    position, radius = np.asarray(duct.bore.position), np.asarray(duct.bore.radius)
    length = np.diff(position)
    slopes = np.abs(np.diff(radius))[length > 0] / length[length > 0]
    lumped, bends = np.isinf(float(duct.reed.cavity_radius)), duct.bends
    tightest = float(np.max(radius_at(duct.bore, 0.5 * (bends.begin + bends.end)) / bends.radius, initial=0.0))
    return [
        _sentence("bore", DUCT_RANGES["angle"], float(np.degrees(np.arctan(slopes.max(initial=0.0))))),
        _sentence("bore's narrowest place", DUCT_RANGES["radius"], 1e3 * float(radius.min())),
        _sentence("bore's widest place", DUCT_RANGES["radius"], 1e3 * float(radius.max())),
        _sentence("bell", DUCT_RANGES["ka"], k * end),
        _sentence("tightest bend", DUCT_RANGES["bend"], tightest),
        _sentence("lowest note", DUCT_RANGES["f"], f_lowest),
        _sentence("highest note", DUCT_RANGES["f"], f_highest),
        _sentence("reed", DUCT_RANGES["reed"], k * float(duct.reed.volume) ** (1.0 / 3.0) if lumped else 0.0),
    ]


def _sentence(place: str, checked: Range, value: float) -> str:
    """The sentence for a value outside its range; empty inside. A relative 1e-9 beyond an end counts as inside."""
    if checked.low * (1.0 - 1e-9) <= value <= checked.high * (1.0 + 1e-9):
        return ""
    limit = f"from {checked.low:g}" if value < checked.low else f"up to {checked.high:g}"
    return f"{place}: {checked.quantity} is {value:.3g}; {checked.formula} was checked {limit}"
