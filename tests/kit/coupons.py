"""Test coupons as a printer of known offsets, slopes and scatter would make them, and as a bench would read them."""

import numpy as np

HEADERS = "what,where,drawn_mm,print,reading_mm,along_mm,around_mm,tool,flat_mm,times_x,verdict"
HOLES_MM = (2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 13.0, 16.0)
PRINTS_SD = 0.04
CALIPER_SD, READING_SD = 0.03, 0.02  # the caliper's is what the reader takes it to be

LINES = {
    "along": (-0.26, 0.995, 0.08),
    "around": (-0.19, 0.997, 0.06),
    "length": (0.05, 0.9965, 0.02),
    "outside": (0.06, 0.9955, 0.03),
    "bore": (-0.14, 0.9955, 0.03),
}
"""Offset [mm], slope and scatter [mm] of each."""

TRUE = {
    **{f"hole_{what}_{way}": LINES[way][n] for way in ("along", "around") for n, what in enumerate(
        ("offset", "slope", "scatter")
    )},
    "hole_offset_round": -0.225,
    "hole_slope_round": 0.996,
    "hole_scatter_round": 0.05,  # of the mean of both ways: hypot(0.08, 0.06) / 2
    "hole_oval": -0.07 - 0.002 * 10.6,  # at the mean of the sizes that are read both ways
    "shrinkage_along": 0.35,
    "shrinkage_across": 0.45,
    "length_offset": 0.05,
    "length_scatter": 0.02,
    "outside_offset": 0.06,
    "bore_offset": -0.14,
    "step_scatter": 0.03,
    "hole_scatter_along_of_prints": PRINTS_SD,
    "clearance": 0.20 * 0.9955 + 0.5 * (-0.14 - 0.06),
    "squeeze": 100.0 * (1.0 - (1.1 * 0.9955 + 0.25 * 0.9955 - 0.1) / 1.5),
    "facing": 0.2,
    "facing_scatter": 0.05,
}  # fmt: skip
"""What the readings should tell."""


def readings(seed, prints=3, twice=2):
    """A table of readings of so many prints, each thing read so often."""
    dice = np.random.default_rng(seed)
    off = {"inside": dice.normal(0.0, CALIPER_SD), "outside": dice.normal(0.0, CALIPER_SD)}
    rows = ["# cord_mm = 1.5", "# groove_clearance_mm = 0.25", HEADERS]
    for name in range(1, prints + 1):
        alike = dice.normal(0.0, PRINTS_SD)
        rows += _of_a_print(dice, name, alike, off, twice)
    return "\n".join(rows) + "\n"


def _made(dice, what, drawn, alike):
    offset, slope, scatter = LINES[what]
    return offset + slope * drawn + dice.normal(0.0, scatter) + alike


def _of_a_print(dice, name, alike, off, twice):
    for drawn in HOLES_MM:
        for mark in "ab":
            along, around = (_made(dice, way, drawn, alike) for way in ("along", "around"))
            if drawn < 5.0:
                goes = min(along, around) - dice.uniform(0.0, 0.05)
                yield f"hole,h{drawn:g}{mark},{drawn},{name},{goes:.4f},,,go,,,"
                yield f"hole,h{drawn:g}{mark},{drawn},{name},{goes + 0.05:.4f},,,no-go,,,"
                continue
            for _ in range(twice):
                read = [
                    np.sqrt((way + off["inside"] + dice.normal(0.0, READING_SD)) ** 2 - 1.0) for way in (along, around)
                ]
                yield f"hole,h{drawn:g}{mark},{drawn},{name},,{read[0]:.4f},{read[1]:.4f},caliper,1.0,,"
    for what, sizes, moved, side in (
        ("length", (80.0, 40.0, 12.0), 0.0, "outside"),
        ("bore", (6.0, 10.0, 14.0, 18.0), -alike, "inside"),
        ("outside", (20.0, 24.0, 28.0, 60.0), alike, "outside"),
    ):
        for drawn in sizes:
            made = _made(dice, what, drawn, moved)
            for _ in range(twice):
                read = made + off[side] + dice.normal(0.0, READING_SD)
                yield f"{what},{what[0]}{drawn:g},{drawn},{name},{read:.4f},,,caliper,,,"
    yield from _tried(dice, name)
    for mark in "xy":
        taken = dice.normal(0.2, 0.05) + off["outside"]
        for _ in range(twice):
            yield f"seat,{mark},0,{name},{max(taken + dice.normal(0.0, READING_SD), 0.001):.4f},,,caliper,,,"


def _tried(dice, name):
    """Clearances that fit from some place near 0.12 to some place near 0.28, grooves from 1.0 to 1.2."""
    for what, sizes, low, high in (
        ("clearance", (0.1, 0.15, 0.2, 0.25, 0.3), 0.125, 0.275),
        ("groove", (0.8, 0.9, 1.0, 1.1, 1.2, 1.3, 1.4), 0.95, 1.25),
    ):
        step = sizes[1] - sizes[0]
        begins, ends = low + dice.uniform(-0.5, 0.5) * step, high + dice.uniform(-0.5, 0.5) * step
        for drawn in sizes:
            verdict = "tight" if drawn < begins else "loose" if drawn > ends else "fits"
            yield f"{what},{what[0]}{drawn:g},{drawn},{name},,,,,,,{verdict}"


def held(record):
    """Whether each figure's own interval holds what is true of the printer, by its name."""
    figures = {name: record.figure(name) for name in TRUE}
    return {name: figure.low <= TRUE[name] <= figure.high for name, figure in figures.items()}
