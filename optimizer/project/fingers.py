"""Which fingers lie on which holes, and the pairs of them whose reach counts."""

from dataclasses import dataclass

from optimizer.project.hand import PAIRS, PALM, Hand, PairLimits, pair_limits, palm_offset_mm
from optimizer.project.model import Project


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
