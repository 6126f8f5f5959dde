"""Pads, seats and cups from the hole they close. Common practice, no source; every number is in the project file."""

from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array
from optimizer.project.keywork import Keywork

UNSEALED = "a flat pad does not seal on the round body; give the hole a seat, raised or sunk"
TOO_NARROW = "its pad is wider than its flat, and lies on the wall; say seat = 'sunk', or lengthen the chimney"


class Pad(NamedTuple):
    """Sizes of the closure of each hole [mm], any shape: flat rim, seat, pad, cup, lift of the open pad."""

    rim_mm: Array
    seat_diameter_mm: Array
    pad_diameter_mm: Array
    cup_diameter_mm: Array
    lift_mm: Array


def pad_sizes(diameter_mm: Array, keywork: Keywork, sunk: Array | bool = False) -> Pad:
    """Closure sizes [mm], of the shape of the diameters.

    Parameters
    ----------
    diameter_mm : of the holes' tops, of any shape [mm]
    keywork : the rules, common practice, no source
    sunk : whether the seat is sunk into the wall: it is as wide as its pad then, which would else lie on the wall
    """
    rim = diameter_mm * keywork.seat_rim_per_diameter + keywork.seat_rim_mm
    pad = diameter_mm + 2.0 * rim + keywork.pad_overlap_mm
    rim = np.where(sunk, rim + 0.5 * keywork.pad_overlap_mm, rim)
    seat = diameter_mm + 2.0 * rim
    lift = np.maximum(diameter_mm * keywork.lift_per_diameter, keywork.lift_min_mm)
    return Pad(rim, seat, pad, pad + keywork.cup_wall_mm, lift)
