"""Pads, seats and cups from the hole they close. Common practice, no source; every number is in the project file."""

from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array
from optimizer.project.keywork import Keywork


class Pad(NamedTuple):
    """Sizes of the closure of each hole [mm], any shape: flat rim, seat, pad, cup, lift of the open pad."""

    rim_mm: Array
    seat_diameter_mm: Array
    pad_diameter_mm: Array
    cup_diameter_mm: Array
    lift_mm: Array


def pad_sizes(diameter_mm: Array, keywork: Keywork) -> Pad:
    """Closure sizes [mm], of the shape of the diameters.

    Parameters
    ----------
    diameter_mm : of the holes' tops, of any shape [mm]
    keywork : the rules, common practice, no source
    """
    rim = diameter_mm * keywork.seat_rim_per_diameter + keywork.seat_rim_mm
    seat = diameter_mm + 2.0 * rim
    pad = seat + keywork.pad_overlap_mm
    lift = np.maximum(diameter_mm * keywork.lift_per_diameter, keywork.lift_min_mm)
    return Pad(rim, seat, pad, pad + keywork.cup_wall_mm, lift)
