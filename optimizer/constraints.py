"""Named constraints g(layout) <= 0, all in millimetres, each with the sentence that explains it when it binds.

Constraints are grouped in families; a family computes all its values at once, so the compiled problem stays small.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from acoustics.bore import Bore, radius_at
from optimizer.hand import finger_anchor, finger_holes, finger_pairs, pair_distances, space_distance, touch_position
from optimizer.keywork import pad_sizes
from optimizer.layout import Layout, top_diameter_mm
from optimizer.project import FINGERS, Hole, Project

TOUCHING_MM = 0.05
"""A constraint within this of its limit counts as binding."""


@dataclass(frozen=True)
class Constraint:
    """One inequality: a stable name such as `web.h05-h06` and a sentence saying what must hold."""

    name: str
    sentence: str


Values = Callable[[Layout], Array]


@dataclass(frozen=True)
class ConstraintSet:
    """All constraints of a project; `values(layout)` gives g (m,) [mm], feasible at <= 0, in the order of `items`."""

    items: tuple[Constraint, ...]
    families: tuple[Values, ...]

    def values(self, layout: Layout) -> Array:
        """g (m,) [mm]."""
        return jnp.concatenate([jnp.atleast_1d(family(layout)) for family in self.families] or [jnp.zeros(0)])


def build_constraints(project: Project) -> ConstraintSet:
    """Every constraint that a project's tables imply."""
    items: list[Constraint] = []
    families: list[Values] = []
    for build in (_order, _webs, _ends, _reach, _finger_order, _spacing, _hands, _thumbs, _seals, _cups, _levers):
        found, values = build(project)
        if found:
            items += found
            families.append(values)
    return ConstraintSet(tuple(items), tuple(families))


Family = tuple[list[Constraint], Values]


def bore_radius_mm(layout: Layout, project: Project) -> Array:
    """Bore radius at each hole (H,) [mm]."""
    points = np.array(project.bore.points_mm)
    return radius_at(Bore(jnp.asarray(points[:, 0]), jnp.asarray(points[:, 1] / 2)), layout.position_mm)


def body_radius_mm(layout: Layout, project: Project) -> Array:
    """Outer radius of the body at each hole (H,) [mm]."""
    return bore_radius_mm(layout, project) + project.bore.wall_mm


def _azimuth(project: Project) -> np.ndarray:
    return np.radians([hole.azimuth_deg for hole in project.holes])


def _near_pairs(project: Project) -> list[tuple[int, int]]:
    """Index pairs of holes that could come close along the body."""
    holes, keywork = project.holes, project.keywork
    widest = np.array([hole.diameter_mm[1] * hole.top_ratio for hole in holes])
    cups = np.maximum(np.asarray(pad_sizes(widest, keywork).cup_diameter_mm), project.hand.finger_breadth_mm)
    pairs = []
    for i, first in enumerate(holes):
        for j in range(i + 1, len(holes)):
            second = holes[j]
            gap = max(first.position_mm[0] - second.position_mm[1], second.position_mm[0] - first.position_mm[1])
            room = keywork.web_min_mm + keywork.cup_clearance_mm + 0.5 * (cups[i] + cups[j])
            if gap < room:
                pairs.append((i, j))
    return pairs


def _split(pairs: list[tuple[int, int]]) -> tuple[np.ndarray, np.ndarray]:
    table = np.array(pairs, int).reshape(-1, 2)
    return table[:, 0], table[:, 1]


def _order(project: Project) -> Family:
    tone = [index for index, hole in enumerate(project.holes) if hole.role == "tone"]
    pairs = list(pairwise(tone))
    lower, upper = _split(pairs)
    ids = [hole.id for hole in project.holes]
    items = [
        Constraint(f"order.{ids[i]}-{ids[j]}", f"{ids[j]} lies nearer the reed than {ids[i]}, as listed")
        for i, j in pairs
    ]
    return items, lambda layout: layout.position_mm[upper] - layout.position_mm[lower]


def _webs(project: Project) -> Family:
    """Wall left between hole edges, at the bore; left out where the cups of two pads in line need more room anyway."""
    holes, keywork = project.holes, project.keywork
    rims = 2.0 * keywork.seat_rim_mm + keywork.pad_overlap_mm + keywork.cup_wall_mm
    cups_need_more = keywork.web_min_mm <= keywork.cup_clearance_mm + rims
    pairs = [
        (i, j)
        for i, j in _near_pairs(project)
        if not (cups_need_more and holes[i].padded and holes[j].padded and holes[i].azimuth_deg == holes[j].azimuth_deg)
    ]
    first, second = _split(pairs)
    azimuth, web = _azimuth(project), project.keywork.web_min_mm
    items = [
        Constraint(
            f"web.{holes[i].id}-{holes[j].id}",
            f"at least {web:g} mm of wall stays between the edges of {holes[i].id} and {holes[j].id}",
        )
        for i, j in pairs
    ]

    def values(layout: Layout) -> Array:
        radius = bore_radius_mm(layout, project)
        along = layout.position_mm[second] - layout.position_mm[first]
        distance = space_distance(along, azimuth[second] - azimuth[first], 0.5 * (radius[first] + radius[second]))
        return web + 0.5 * (layout.diameter_mm[first] + layout.diameter_mm[second]) - distance

    return items, values


def _ends(project: Project) -> Family:
    share = project.keywork.end_margin_per_diameter
    low = project.bore.end_span_mm[0]
    chosen = [i for i, hole in enumerate(project.holes) if hole.position_mm[1] + share * hole.diameter_mm[1] > low]
    index = np.array(chosen, int)
    items = [
        Constraint(
            f"bell_margin.{project.holes[i].id}",
            f"{project.holes[i].id} stays {share:g} of its diameter clear of the bell end",
        )
        for i in chosen
    ]
    return items, lambda layout: layout.position_mm[index] + share * layout.diameter_mm[index] - layout.end_mm


def _reach(project: Project) -> Family:
    pairs = finger_pairs(project)
    working = np.array([pair.working_mm for pair in pairs])
    items = [
        Constraint(
            f"reach.{pair.label}",
            f"{pair.upper_finger} and {pair.lower_finger} stay within the hand's working limit "
            f"of {pair.working_mm:g} mm",
        )
        for pair in pairs
    ]
    return items, lambda layout: pair_distances(layout, project, body_radius_mm(layout, project), pairs) - working


def _finger_order(project: Project) -> Family:
    pairs = [pair for pair in finger_pairs(project) if pair.neighbours]
    upper, lower = _split([(pair.upper, pair.lower) for pair in pairs])
    items = [
        Constraint(
            f"finger_order.{pair.label}",
            f"{pair.upper_finger} lies nearer the reed than {pair.lower_finger}, so the fingers do not cross",
        )
        for pair in pairs
    ]
    return items, lambda layout: touch_position(layout)[upper] - touch_position(layout)[lower]


def _spacing(project: Project) -> Family:
    pairs = [pair for pair in finger_pairs(project) if pair.neighbours]
    least = project.hand.spacing_min_mm
    items = [
        Constraint(
            f"finger_room.{pair.label}",
            f"{pair.upper_finger} and {pair.lower_finger} have {least:g} mm between centres, room for both fingers",
        )
        for pair in pairs
    ]
    return items, lambda layout: least - pair_distances(layout, project, body_radius_mm(layout, project), pairs)


def _hands(project: Project) -> Family:
    under = finger_holes(project)
    left, right = ([under[name] for name in FINGERS if name in under and name[0] == side] for side in "LR")
    if not left or not right:
        return [], lambda layout: jnp.zeros(0)

    def middle(index: int) -> float:
        return sum(project.holes[index].position_mm)

    above, below = (left, right) if middle(left[0]) <= middle(right[0]) else (right, left)
    upper, lower = max(above, key=middle), min(below, key=middle)
    gap, names = project.hand.hand_gap_min_mm, [project.holes[index].by for index in (upper, lower)]
    sentence = f"the hands have {gap:g} mm between {names[0]} and {names[1]}, so they do not collide"
    items = [Constraint(f"hand_gap.{names[0]}-{names[1]}", sentence)]
    return items, lambda layout: gap - (touch_position(layout)[lower] - touch_position(layout)[upper])


def _thumbs(project: Project) -> Family:
    under = finger_holes(project)
    pairs = [(under[side + "T"], under[side + "1"]) for side in "LR" if {side + "T", side + "1"} <= set(under)]
    limit = project.hand.thumb_offset_max_mm
    thumb, index = _split(pairs)
    names = [(project.holes[i].by, project.holes[j].by) for i, j in pairs]
    items = [
        Constraint(f"thumb.{a}-{b}", f"the thumb {a} stays within {limit:g} mm of {b} along the body") for a, b in names
    ]

    def values(layout: Layout) -> Array:
        touch = touch_position(layout)
        return jnp.sqrt((touch[thumb] - touch[index]) ** 2 + 1e-6) - limit

    return items, values


def seal_limit_mm(hole: Hole, project: Project) -> float:
    """Largest diameter [mm] that the finger on a bare hole can seal."""
    hand = project.hand
    return hand.seal_diameter_max_mm - (hand.ring_seal_less_mm if hole.by[1:] == "3" else 0.0)


def _seals(project: Project) -> Family:
    bare = [i for i, hole in enumerate(project.holes) if hole.by != "key" and hole.cover == "finger"]
    index = np.array(bare, int)
    limits = np.array([seal_limit_mm(project.holes[i], project) for i in bare])
    items = [
        Constraint(
            f"seal.{project.holes[i].id}",
            f"{project.holes[i].by} can seal at most {limit:g} mm, the diameter of {project.holes[i].id}",
        )
        for i, limit in zip(bare, limits, strict=True)
    ]
    return items, lambda layout: top_diameter_mm(layout, project)[index] - limits


def _cups(project: Project) -> Family:
    """Clearance between the cups of neighbouring pads, and between a cup and a bare finger."""
    holes, keywork = project.holes, project.keywork
    pairs = [(i, j) for i, j in _near_pairs(project) if holes[i].padded or holes[j].padded]
    first, second = _split(pairs)
    azimuth, clear = _azimuth(project), keywork.cup_clearance_mm
    padded = np.array([hole.padded for hole in holes])
    items = [
        Constraint(
            f"cups.{holes[i].id}-{holes[j].id}",
            f"the cup or finger over {holes[i].id} clears that over {holes[j].id} by {clear:g} mm",
        )
        for i, j in pairs
    ]

    def values(layout: Layout) -> Array:
        cups = pad_sizes(top_diameter_mm(layout, project), keywork).cup_diameter_mm
        width = jnp.where(padded, cups, project.hand.finger_breadth_mm)
        radius = body_radius_mm(layout, project)
        along = layout.position_mm[second] - layout.position_mm[first]
        distance = space_distance(along, azimuth[second] - azimuth[first], 0.5 * (radius[first] + radius[second]))
        return clear + 0.5 * (width[first] + width[second]) - distance

    return items, values


def levers(project: Project) -> list[tuple[str, int, int, float, float]]:
    """Key id, hole index, anchor hole index, anchor offset [mm] and limit [mm] of every lever from touch to pad."""
    ids = [hole.id for hole in project.holes]
    found = []
    for key in project.keys:
        anchor = finger_anchor(key.touch, project)
        if anchor is not None:
            limit = key.lever_max_mm or project.keywork.lever_max_mm
            found += [(key.id, ids.index(name), *anchor, limit) for name in (*key.opens, *key.closes)]
    return found


def lever_lengths(layout: Layout, project: Project) -> Array:
    """Length of every lever along the body [mm], in the order of `levers`."""
    table = levers(project)
    pad = np.array([row[1] for row in table], int)
    anchor = np.array([row[2] for row in table], int)
    offset = np.array([row[3] for row in table])
    return jnp.sqrt((layout.position_mm[pad] - touch_position(layout)[anchor] - offset) ** 2 + 1e-6)


def _levers(project: Project) -> Family:
    table = levers(project)
    limits = np.array([row[4] for row in table])
    items = [
        Constraint(
            f"lever.{key}-{project.holes[pad].id}",
            f"the lever of {key} from its touch to {project.holes[pad].id} is at most {limit:g} mm long",
        )
        for key, pad, _, _, limit in table
    ]
    return items, lambda layout: lever_lengths(layout, project) - limits
