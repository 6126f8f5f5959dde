"""Layouts of the keyed practice pipe, to hold limits against."""

import re

import numpy as np
from shelf import KEYED, pipe

from optimizer.geometry.layout import layout_bounds, with_numbers

POSITIONS = {"h1": 500.0, "h2": 430.0, "h3": 400.0, "h4": 350.0, "h5": 260.25, "h6": 215.0, "h7": 210.0, "v1": 100.0}


DIAMETERS = {"h1": 12.0, "h2": 8.0, "h3": 10.0, "h4": 8.0, "h5": 7.1234567, "h6": 8.0, "h7": 6.0, "v1": 2.0}


IDS = list(POSITIONS)


LITTLE = KEYED.replace('touch = "R4"', 'touch = "L4"')
"""The keyed pipe with its low key under the left little finger."""


def layout_of(positions=None, diameters=None, offset=5.0, end=580.0, text=KEYED):
    """A layout of the keyed pipe; `offset` is where the plate over h3 is touched."""
    where, wide = {**POSITIONS, **(positions or {})}, {**DIAMETERS, **(diameters or {})}
    return with_numbers(
        layout_bounds(pipe(text).project)[0],
        {
            "position_mm": np.array([where[name] for name in IDS]),
            "diameter_mm": np.array([wide[name] for name in IDS]),
            "chimney_mm": np.full(8, 5.0),
            "touch_offset_mm": np.array([0.0, 0.0, offset, 0.0, 0.0, 0.0, 0.0, 0.0]),
            "end_mm": np.array(end),
            "reed_volume_cm3": np.array(0.3),
        },
    )


def turned(text, degrees, mirror=1):
    """The pipe turned about its axis, or mirrored."""

    def angle(match):
        by_hole = re.search(r"azimuth_deg = ([-\d.]+)", match[0])
        new = mirror * (float(by_hole[1]) if by_hole else 0.0) + degrees
        return re.sub(r", azimuth_deg = [-\d.]+", "", match[0])[:-2] + f", azimuth_deg = {new!r} }}"

    return re.sub(r"(?m)^[hv]\d = \{.*\}$", angle, text)


def keyed(text=KEYED):
    """A project of the keyed pipe, and a layout of it in round numbers."""
    return pipe(text).project, layout_of(text=text)
