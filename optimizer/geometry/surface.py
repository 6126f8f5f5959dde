"""Pairs of neighbours on the body's surface, and how crowded they are."""

from collections.abc import Sequence

import numpy as np

from acoustics.arrays import Array, Floats
from optimizer.geometry.fold import Fold
from optimizer.geometry.pads import as_made, pad_sizes
from optimizer.geometry.space import Places, distance
from optimizer.project.bends import depth_span
from optimizer.project.model import Hole, Project


def near_pairs(project: Project) -> list[tuple[int, int]]:
    """Index pairs of holes that could come close along the body; of a folded one, on whichever of its tubes."""
    holes, keywork = project.holes, project.keywork
    widest = np.array([hole.diameter_mm[1] * hole.top_ratio for hole in holes])
    pads = as_made(pad_sizes(widest, keywork, stock=project.stock), project)
    cups = np.maximum(pads.cup_diameter_mm, project.hand.finger_breadth_mm)
    spans = [depth_span(project.bends, *hole.position_mm) for hole in holes]
    pairs = []
    for i in range(len(holes)):
        for j in range(i + 1, len(holes)):
            gap = max(spans[i][0] - spans[j][1], spans[j][0] - spans[i][1])
            room = keywork.web_min_mm + keywork.cup_clearance_mm + 0.5 * (cups[i] + cups[j])
            if gap < room:
                pairs.append((i, j))
    return pairs


class Crowding:
    """How much pairs of holes lack of the room between them."""

    def __init__(self, holes: Sequence[Hole], pairs: list[tuple[int, int]], room_mm: float, fold: Fold) -> None:
        self.first, self.second = split(pairs)
        self.room_mm = room_mm
        self._azimuth, self._fold = np.radians([hole.azimuth_deg for hole in holes]), fold

    def lacking(self, position: Array, width: Array, radius: Array) -> Array:
        """Room and half of both widths less the straight distance, both holes as high as they lie on the mean.

        Parameters
        ----------
        position : (H,) along the body [mm]
        width : (H,) of what needs the room [mm]
        radius : (H,) how high above the axis that lies [mm]

        Returns
        -------
        what each pair lacks (Q,) [mm]; at most 0 where there is room
        """
        first, second = self.first, self.second
        half, height = (0.5 * (values[first] + values[second]) for values in (width, radius))
        here, there = (self._fold.points(Places(position[at], self._azimuth[at], height)) for at in (first, second))
        return half + self.room_mm - distance(here, there)


CROWDED_MM = 0.1
"""Rooms within this of the least count as the least together: a smooth minimum, at worst this times log(count) low."""

NOWHERE_NEAR = 40.0
"""What lies further off than so many times that is left out: e to the power of -40 is no part of a double's 1."""


def smooth_least(room: Floats) -> tuple[Floats, Floats]:
    """The least of the last axis, by a smooth minimum, and the share of each that its slope takes.

    Parameters
    ----------
    room : (..., n) [mm]

    Returns
    -------
    least (...) [mm], at worst `CROWDED_MM` log(n) low; share (..., n), which adds up to 1
    """
    least = np.min(room, axis=-1, keepdims=True)
    beyond = (room - least) / CROWDED_MM
    weight = np.exp(-beyond, out=np.zeros(room.shape), where=beyond < NOWHERE_NEAR)
    whole = np.sum(weight, axis=-1, keepdims=True)
    return (least - CROWDED_MM * np.log(whole))[..., 0], weight / whole


NEVER_MM = -1e4
"""Value of a limit that a layout's choices put out of force."""


def split(pairs: list[tuple[int, int]]) -> tuple[np.ndarray, np.ndarray]:
    """The first and the second of each pair, each (Q,)."""
    table = np.array(pairs, int).reshape(-1, 2)
    return table[:, 0], table[:, 1]
