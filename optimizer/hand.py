"""Reach: where each finger lands, how far apart, and how far beyond comfortable.

Distances are taken in space between touch centres on the body's surface: along the body and across the chord of
their azimuths. Touches of bare holes are the holes; a plate's touch lies `touch_offset_mm` toward the bell.
"""

from dataclasses import dataclass

import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from optimizer.layout import Layout
from optimizer.project import Project


@dataclass(frozen=True)
class FingerPair:
    """Two fingers of one hand on holes: their hole indices and reach limits [mm]."""

    upper_finger: str
    lower_finger: str
    upper: int
    lower: int
    comfortable_mm: float
    working_mm: float
    neighbours: bool

    @property
    def label(self) -> str:
        """Such as `L1-L2`."""
        return f"{self.upper_finger}-{self.lower_finger}"


def finger_holes(project: Project) -> dict[str, int]:
    """Hole index under each finger that has one."""
    return {hole.by: index for index, hole in enumerate(project.holes) if hole.by != "key"}


def finger_pairs(project: Project) -> list[FingerPair]:
    """Pairs of fingers of one hand that must be reached at once."""
    under = finger_holes(project)
    pairs = []
    for side, reach in (("L", project.hand.left), ("R", project.hand.right)):
        for upper, lower, limits in (
            ("1", "2", reach.index_middle_mm),
            ("2", "3", reach.middle_ring_mm),
            ("1", "3", reach.index_ring_mm),
            ("3", "4", reach.ring_little_mm),
        ):
            fingers = side + upper, side + lower
            if all(finger in under for finger in fingers):
                near = int(lower) - int(upper) == 1
                pairs.append(FingerPair(*fingers, under[fingers[0]], under[fingers[1]], *limits, near))
    return pairs


def touch_position(layout: Layout) -> Array:
    """Position of each hole's touch along the body (H,) [mm]; a bare finger lies on its hole."""
    return layout.position_mm + layout.choice.plate * layout.touch_offset_mm


def space_distance(along: Array, azimuth_rad: Array, radius: Array) -> Array:
    """Straight distance [mm] between points on a round body: offsets along and around it, mean radius [mm]."""
    chord = 2.0 * radius * jnp.sin(azimuth_rad / 2.0)
    return jnp.sqrt(along**2 + chord**2 + 1e-12)


def pair_distances(layout: Layout, project: Project, body_radius_mm: Array, pairs: list[FingerPair]) -> Array:
    """Distance of each finger pair (P,) [mm]; body_radius_mm (H,) is the outer radius at each hole."""
    if not pairs:
        return jnp.zeros(0)
    upper = np.array([pair.upper for pair in pairs])
    lower = np.array([pair.lower for pair in pairs])
    touch = touch_position(layout)
    azimuth = np.radians([hole.azimuth_deg for hole in project.holes])
    radius = 0.5 * (body_radius_mm[upper] + body_radius_mm[lower])
    return space_distance(touch[lower] - touch[upper], azimuth[lower] - azimuth[upper], radius)


def strains(distances: Array, pairs: list[FingerPair]) -> Array:
    """How far each pair (P,) goes beyond comfortable, 1 at the working limit; never negative."""
    comfortable = np.array([pair.comfortable_mm for pair in pairs])
    working = np.array([pair.working_mm for pair in pairs])
    return jnp.maximum(distances - comfortable, 0.0) / jnp.maximum(working - comfortable, 0.1)


def finger_anchor(finger: str, project: Project) -> tuple[int, float] | None:
    """Hole index whose touch a finger rests near, and the finger's offset toward the bell from it [mm].

    The little finger rests below the ring finger, the thumb behind the index. None when that finger has no hole.
    """
    under = finger_holes(project)
    if finger in under:
        return under[finger], 0.0
    neighbour, offset = {"4": ("3", project.hand.little_offset_mm), "T": ("1", 0.0)}.get(finger[1], (finger[1], 0.0))
    anchor = under.get(finger[0] + neighbour)
    return None if anchor is None else (anchor, offset)
