"""Reach: where each finger lands, how far apart, and how far beyond comfortable.

Fingers come to the body through the air, from knuckles that stand off it, so what spreads them is the straight line
between the pads and not the way along the surface. A touch is a point on the body's outer surface: position along it,
azimuth, and the body's radius there. The straight line has three parts: along the body, across it (the chord of the
azimuths), and outward (where the body widens). Ring and little finger are shorter and land toward the palm by
themselves; a pair's distance counts the way across from there. Touches of bare holes are the holes; a plate's touch
lies `touch_offset_mm` toward the bell. How high a touch stands above the body is left out.
"""

from dataclasses import dataclass

import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from optimizer.hand_model import PAIRS, PALM, Hand, PairLimits, pair_limits, palm_offset_mm
from optimizer.layout import Layout
from optimizer.project import Project


@dataclass(frozen=True)
class FingerPair:
    """Two fingers of one hand on holes: their hole indices, limits, and by how much further toward the palm (clockwise
    seen from the reed end where positive) the lower finger lands by itself [mm]."""

    upper_finger: str
    lower_finger: str
    upper: int
    lower: int
    limits: PairLimits
    neighbours: bool
    natural_mm: float = 0.0

    @property
    def label(self) -> str:
        """Such as `L1-L2`."""
        return f"{self.upper_finger}-{self.lower_finger}"

    @property
    def comfortable_mm(self) -> float:
        """Comfortable distance [mm]."""
        return self.limits.comfortable_mm

    @property
    def working_mm(self) -> float:
        """Working limit [mm]."""
        return self.limits.working_mm


def finger_holes(project: Project) -> dict[str, int]:
    """Hole index under each finger that has one."""
    return {hole.by: index for index, hole in enumerate(project.holes) if hole.by != "key"}


def finger_pairs(project: Project) -> list[FingerPair]:
    """Pairs of fingers of one hand that must be reached at once."""
    return hand_pairs(finger_holes(project), project.hand)


def hand_pairs(under: dict[str, int], hand: Hand) -> list[FingerPair]:
    """Pairs of fingers of one hand that must be reached at once; under: hole index of each finger that has one."""
    pairs = []
    for side in "LR":
        for name, limits in pair_limits(hand, side).items():
            upper, lower = (side + number for number in PAIRS[name])
            if upper in under and lower in under:
                natural = PALM[side] * (palm_offset_mm(hand, lower) - palm_offset_mm(hand, upper))
                near = int(lower[1]) - int(upper[1]) == 1
                pairs.append(FingerPair(upper, lower, under[upper], under[lower], limits, near, natural))
    return pairs


def touch_position(layout: Layout) -> Array:
    """Position of each hole's touch along the body (H,) [mm]; a bare finger lies on its hole."""
    return layout.position_mm + layout.choice.plate * layout.touch_offset_mm


def space_distance(along: Array, azimuth_rad: Array, radius: Array) -> Array:
    """Straight distance [mm] between points on a round body: offsets along and around it, mean radius [mm]."""
    chord = 2.0 * radius * jnp.sin(azimuth_rad / 2.0)
    return jnp.sqrt(along**2 + chord**2 + 1e-12)


def reach_distance(along: Array, azimuth_rad: Array, upper: Array, lower: Array, natural: Array) -> Array:
    """Straight distance [mm] between two touches on a round body, less the way across that the fingers take anyway.

    Parameters
    ----------
    along : way along the body [mm]
    azimuth_rad : of the lower touch against the upper one, clockwise seen from the reed end
    upper, lower : body radius at each [mm]
    natural : how far round, clockwise, the lower finger lands by itself [mm]
    """
    turn = jnp.mod(azimuth_rad + np.pi, 2.0 * np.pi) - np.pi
    across = 2.0 * jnp.sqrt(upper * lower) * jnp.sin(turn / 2.0)
    return jnp.sqrt(along**2 + (lower - upper) ** 2 + (across - natural) ** 2 + 1e-12)


def pair_distances(layout: Layout, project: Project, body_radius_mm: Array, pairs: list[FingerPair]) -> Array:
    """What each finger pair must reach (P,) [mm]; body_radius_mm (H,) is the outer radius at each hole."""
    natural = np.array([pair.natural_mm for pair in pairs])
    return _distances(layout, project, body_radius_mm, pairs, natural)


def pair_spacings(layout: Layout, project: Project, body_radius_mm: Array, pairs: list[FingerPair]) -> Array:
    """Straight distance between the touches of each pair (P,) [mm]."""
    return _distances(layout, project, body_radius_mm, pairs, np.zeros(len(pairs)))


def _distances(layout: Layout, project: Project, radius: Array, pairs: list[FingerPair], natural: np.ndarray) -> Array:
    if not pairs:
        return jnp.zeros(0)
    upper = np.array([pair.upper for pair in pairs])
    lower = np.array([pair.lower for pair in pairs])
    touch = touch_position(layout)
    azimuth = np.radians([hole.azimuth_deg for hole in project.holes])
    along, turn = touch[lower] - touch[upper], azimuth[lower] - azimuth[upper]
    return reach_distance(along, turn, radius[upper], radius[lower], natural)


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
