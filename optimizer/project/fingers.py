"""Where fingers lie, on holes and in rows of touches, and the pairs of them whose reach counts.

Places where fingers lie are numbered: the project's holes first, in their order, then the places of the rows.
"""

from dataclasses import dataclass
from typing import NamedTuple

from optimizer.project.bends import depth_span
from optimizer.project.hand import PAIRS, PALM, Hand, PairLimits, knuckle_spacing_mm, pair_limits, palm_offset_mm
from optimizer.project.model import Key, Project
from optimizer.project.rows import resting_keys


@dataclass(frozen=True)
class FingerPair:
    """Two fingers of one hand that press something: the numbers of their places, limits, and by how much further toward
    the palm (clockwise seen from the reed end where positive) the lower finger lands by itself [mm]."""

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


class RowPlace(NamedTuple):
    """Where a finger lies in the row of its hand: how far from the row's own place toward the bell, and clockwise round
    the body from its azimuth [mm]; the key that the finger rests on, if any."""

    finger: str
    along_mm: float
    across_mm: float
    key: str | None


def finger_holes(project: Project) -> dict[str, int]:
    """Hole index under each finger that has one."""
    return {hole.by: index for index, hole in enumerate(project.holes) if hole.by != "key"}


def row_places(project: Project) -> list[RowPlace]:
    """Index, middle and ring finger of the hands that have a row, those on holes aside; each lands as far toward the
    palm as it does by itself, or where the touch is that it rests on."""
    under, resting = finger_holes(project), resting_keys(project.rows, project.holes, project.keys)
    keys: dict[str, Key] = {key.id: key for key in project.keys}
    found = []
    for side in project.rows.by_side:
        spacing = row_spacing_mm(project, side)
        for number in range(3):
            finger = f"{side}{number + 1}"
            if finger in under:
                continue
            key = keys.get(resting.get(finger, ""))
            along, across = (0.0, None) if key is None else (key.touch_along_mm or 0.0, key.touch_across_mm)
            across = PALM[side] * palm_offset_mm(project.hand, finger) if across is None else across
            along += number * spacing
            found.append(RowPlace(finger, along, across, resting.get(finger)))
    return found


def row_spacing_mm(project: Project, side: str) -> float:
    """From finger to finger of the row under the hand on side `L` or `R` [mm]."""
    stated = project.rows.by_side[side].spacing_mm
    return knuckle_spacing_mm(project.hand, side) if stated is None else stated


def row_span(project: Project, side: str) -> tuple[float, float]:
    """Where the row of the hand on side `L` or `R` may lie [mm]: as stated, else anywhere on the body where all its
    fingers, and the other hand's row, have room; the left hand's nearer the reed."""
    stated = project.rows.by_side[side].position_mm
    if stated is not None:
        return stated
    half = 0.5 * project.hand.finger_breadth_mm
    low, high = project.bore.crook_end_mm + half, project.bore.end_span_mm[0] - half - _row_length(project, side)
    if "L" in project.rows.by_side and side == "R":
        low += _row_length(project, "L") + project.hand.hand_gap_min_mm
    if "R" in project.rows.by_side and side == "L":
        high -= _row_length(project, "R") + project.hand.hand_gap_min_mm
    return low, max(low, high)


def place_span(project: Project, number: int) -> tuple[float, float]:
    """Between which depths the place of a finger of a number may lie [mm]: along the body, where it is not folded."""
    if number >= len(project.holes):
        place = row_places(project)[number - len(project.holes)]
        low, high = depth_span(project.bends, *row_span(project, place.finger[0]))
        return low + place.along_mm, high + place.along_mm
    hole = project.holes[number]
    aside = 0.0 if hole.cover == "finger" else project.keywork.plate_offset_max_mm
    low, high = depth_span(project.bends, *hole.position_mm)
    return low - aside, high + aside


def hands_in_order(project: Project) -> tuple[list[str], list[str]]:
    """The fingers that have a place: those of the hand nearer the reed, and those of the other, each from the reed by
    the middles of where they may lie."""
    middle = {finger: sum(place_span(project, number)) for finger, number in finger_places(project).items()}
    left, right = (sorted((finger for finger in middle if finger[0] == side), key=middle.__getitem__) for side in "LR")
    return (right, left) if left and right and middle[left[0]] > middle[right[0]] else (left, right)


def places_apart(project: Project, first: int, second: int) -> tuple[float, float]:
    """Between which distances the second of two places may lie nearer the bell than the first, by the project's ranges
    and as fingers and hands do not cross [mm]."""
    here, there = place_span(project, first), place_span(project, second)
    fingers = {number: finger for finger, number in finger_places(project).items()}
    one, other = fingers[first], fingers[second]
    if first == second or (one[0] == other[0] and min(first, second) >= len(project.holes)):
        return there[0] - here[0], there[0] - here[0]
    low, high = there[0] - here[1], there[1] - here[0]
    above, below = hands_in_order(project)
    if one[0] == other[0]:
        gap, ordered, first_above = 0.0, [one, other], one[1] < other[1]
    else:
        gap, ordered, first_above = project.hand.hand_gap_min_mm, [one, other, above[-1], below[0]], one in above
    if any(finger[1] == "T" for finger in ordered):
        return low, high
    return (max(low, gap), high) if first_above else (low, min(high, -gap))


def _row_length(project: Project, side: str) -> float:
    """From the first to the last finger of a row [mm], the little one as well where it works keys."""
    little = any(key.touch == f"{side}4" for key in project.keys)
    return 2.0 * row_spacing_mm(project, side) + little * project.hand.little_offset_mm


def finger_places(project: Project) -> dict[str, int]:
    """The number of the place where each finger lies that has one."""
    rows = {place.finger: len(project.holes) + number for number, place in enumerate(row_places(project))}
    return finger_holes(project) | rows


def finger_pairs(project: Project) -> list[FingerPair]:
    """Pairs of fingers of one hand that must be reached at once."""
    return hand_pairs(pressing_places(project), project.hand)


def pressing_places(project: Project) -> dict[str, int]:
    """The number of the place of each finger that lies on a hole, or rests on a key in a row."""
    idle = {place.finger for place in row_places(project) if place.key is None}
    return {finger: place for finger, place in finger_places(project).items() if finger not in idle}


def hand_pairs(under: dict[str, int], hand: Hand) -> list[FingerPair]:
    """Pairs of fingers of one hand that must be reached at once; under: number of the place of each finger that presses
    something."""
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
    """Number of the place that a finger rests near, and the finger's offset toward the bell from it [mm].

    The little finger rests below the ring finger, the thumb behind the index. None when that finger has no place.
    """
    under, row = finger_places(project), project.rows.by_side.get(finger[0])
    if finger in under:
        return under[finger], 0.0
    little = None if row is None else row.little_along_mm
    offsets = {
        "4": ("3", project.hand.little_offset_mm if little is None else little),
        "T": ("1", 0.0 if row is None else row.thumb_along_mm),
    }
    neighbour, offset = offsets.get(finger[1], (finger[1], 0.0))
    anchor = under.get(finger[0] + neighbour)
    return None if anchor is None else (anchor, offset)
