"""Pads, seats and cups from the hole they close. Common practice, no source; every number is in the project file."""

from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array
from acoustics.duals import value_of
from optimizer.project.keywork import Keywork
from optimizer.project.model import Project
from optimizer.project.stock import SAME_MM, Stock

UNSEALED = "a flat pad does not seal on the round body; give the hole a seat, raised or sunk"
TOO_NARROW = "its pad is wider than its flat, and lies on the wall; say seat = 'sunk', or lengthen the chimney"


class Pad(NamedTuple):
    """Sizes of the closure of each hole [mm], any shape: flat rim, seat, pad, cup, lift of the open pad."""

    rim_mm: Array
    seat_diameter_mm: Array
    pad_diameter_mm: Array
    cup_diameter_mm: Array
    lift_mm: Array


def pad_sizes(diameter_mm: Array, keywork: Keywork, sunk: Array | bool = False, stock: Stock | None = None) -> Pad:
    """Closure sizes [mm], of the shape of the diameters.

    Parameters
    ----------
    diameter_mm : of the holes' tops, of any shape [mm]
    keywork : the rules, common practice, no source
    sunk : whether the seat is sunk into the wall: it is as wide as its pad then, which would else lie on the wall
    stock : whose smallest pad is taken that overlaps the seat enough; where none does, one as the rules ask for
    """
    rim = diameter_mm * keywork.seat_rim_per_diameter + keywork.seat_rim_mm
    pad = diameter_mm + 2.0 * rim + keywork.pad_overlap_mm
    overlap: Array | float = keywork.pad_overlap_mm
    if stock is not None:
        taken = stock_pads(value_of(pad), stock)
        pad = np.where(np.isfinite(taken), np.nan_to_num(taken, posinf=0.0), pad)
        overlap = pad - diameter_mm - 2.0 * rim
    rim = np.where(sunk, rim + 0.5 * overlap, rim)
    seat = diameter_mm + 2.0 * rim
    lift = np.maximum(diameter_mm * keywork.lift_per_diameter, keywork.lift_min_mm)
    return Pad(rim, seat, pad, pad + keywork.cup_wall_mm, lift)


def as_made(pads: Pad, project: Project) -> Pad:
    """Closure sizes of a project's holes (H,) [mm], those pads that are there as they are.

    Parameters
    ----------
    pads : by the rules (H,) [mm]
    project : whose holes say what pads they have
    """
    holes = project.holes
    if all(hole.pad_diameter_mm is None and hole.pad_lift_mm is None for hole in holes):
        return pads
    wide = np.array([np.nan if hole.pad_diameter_mm is None else hole.pad_diameter_mm for hole in holes])
    high = np.array([np.nan if hole.pad_lift_mm is None else hole.pad_lift_mm for hole in holes])
    known, cup = np.isfinite(wide), np.nan_to_num(wide) + project.keywork.cup_wall_mm
    return pads._replace(
        pad_diameter_mm=np.where(known, np.nan_to_num(wide), pads.pad_diameter_mm),
        cup_diameter_mm=np.where(known, cup, pads.cup_diameter_mm),
        lift_mm=np.where(np.isfinite(high), np.nan_to_num(high), pads.lift_mm),
    )


def stock_pads(least_mm: np.ndarray | float, stock: Stock) -> np.ndarray:
    """The smallest pads of the stock that are no smaller than asked, of any shape [mm]; infinite where none is.

    Parameters
    ----------
    least_mm : least diameters [mm]
    stock : where the pads lie
    """
    sizes = np.array([*(pad.mm for pad in stock.pads), np.inf])
    return np.asarray(sizes[np.searchsorted(sizes, np.asarray(least_mm) - SAME_MM)])


def wide_pads(project: Project) -> list[str]:
    """Holes whose range asks for a wider pad than the stock holds, a sentence for all."""
    stock = project.stock
    if stock is None or not stock.pads:
        return []
    needed = {
        hole.id: float(pad_sizes(np.array(hole.diameter_mm[1] * hole.top_ratio), project.keywork).pad_diameter_mm)
        for hole in project.holes
        if hole.padded
    }
    widest = stock.pads[-1].mm
    wide = [f"{name} ({pad:.1f})" for name, pad in needed.items() if pad > widest + SAME_MM]
    return [f"pads may have to be wider than the stock's widest, {widest:g} mm: {', '.join(wide)}"] if wide else []
