"""Named constraints g(layout) <= 0, all in millimetres, each with the sentence that explains it when it binds.

`LIMITS` is the catalogue: a row for each kind of limit. Constraints are built in families, of one kind or a few; a
family computes all its values at once, from one layout measured for all.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array
from optimizer.geometry.layout import Layout
from optimizer.geometry.measured_layout import Fixed, Geometry, fixed_of
from optimizer.limits import axles as axle_limits
from optimizer.limits import bends as bend_limits
from optimizer.limits import bore as bore_limits
from optimizer.limits import fingers as finger_limits
from optimizer.limits import fittings as fitting_limits
from optimizer.limits import holes as hole_limits
from optimizer.limits import keys as key_limits
from optimizer.limits import pieces as section_limits
from optimizer.limits import venting as venting_limits
from optimizer.limits.family import Constraint, Family, Values
from optimizer.project.model import Project

TOUCHING_MM = 0.05
"""A constraint within this of its limit counts as binding."""


class LimitKind(NamedTuple):
    """One kind of limit.

    Attributes
    ----------
    kind : what its constraints' names begin with, `web` of `web.h05-h06`
    build : gives a project's constraints of this kind, perhaps with others; None for what is no inequality
    holds : what must hold, in words
    more : what is asked when such a limit is tightened by 1 mm; {0} is the rest of the name
    of_hand : whether the hand sets it
    """

    kind: str
    build: Callable[[Project], Family] | None
    holds: str
    more: str = ""
    of_hand: bool = False

    def tightened(self, place: str) -> str:
        """What is asked when a limit of this kind, at a place (the rest of its name), is tightened by 1 mm."""
        return (self.more or f"{self.kind} {{0}}: 1 mm more").format(place)


_KINDS = (
    LimitKind("order", hole_limits.order, "holes in the order listed"),
    LimitKind("web", hole_limits.webs, "enough wall between the edges of holes", "{0}: 1 mm more wall between"),
    LimitKind(
        "bell_margin", hole_limits.bell_margins, "holes clear of the bell", "{0}: 1 mm further from the bell end"
    ),
    LimitKind("bore", hole_limits.bore_limits, "holes no wider than the bore"),
    LimitKind("crook", hole_limits.crook_limits, "tone holes on the body, beyond the crook"),
    LimitKind(
        "seal", hole_limits.seals, "bare holes small enough to seal", "{0}: a finger seals 1 mm less", of_hand=True
    ),
    LimitKind(
        "step",
        venting_limits.steps,
        "holes open beside one another of about one width",
        "step {0}: 1 mm less",
    ),
    LimitKind("size", venting_limits.sizes, "tone holes wide enough to vent the bore", "{0}: 1 mm wider at the least"),
    LimitKind(
        "cutoff",
        venting_limits.cutoffs,
        "cutoffs not far below those of the notes beside",
        "cutoffs {0}: nearer, as by 1 mm of hole",
    ),
    LimitKind(
        "reach",
        finger_limits.reach,
        "finger pairs within the hand's limit, index to ring and to little too",
        "{0}: 1 mm less reach",
        of_hand=True,
    ),
    LimitKind("finger_order", finger_limits.finger_order, "fingers that do not cross", of_hand=True),
    LimitKind(
        "finger_room",
        finger_limits.finger_room,
        "room for neighbouring fingers",
        "{0}: 1 mm more room for fingers",
        of_hand=True,
    ),
    LimitKind("hand_gap", finger_limits.hand_gap, "hands apart", "{0}: hands 1 mm further apart", of_hand=True),
    LimitKind("thumb", finger_limits.thumbs, "thumb near the index finger", of_hand=True),
    LimitKind("cups", key_limits.cups, "cups and fingers clear of each other in space", "{0}: cups 1 mm further apart"),
    LimitKind(
        "touch_reach",
        key_limits.touch_reach,
        "touches of keys within reach of their finger",
        "touch {0}: 1 mm less reach",
        of_hand=True,
    ),
    LimitKind(
        "touch_room", key_limits.touch_room, "touches apart, of one finger or of two", "touches {0}: 1 mm further apart"
    ),
    LimitKind(
        "touch_cup",
        key_limits.touch_cups,
        "touches beside the cups of other keys, where the project says how broad they are",
        "touch {0}: 1 mm further off",
    ),
    LimitKind("lever", axle_limits.lever_limits, "levers short enough", "{0}: lever at most 1 mm shorter"),
    LimitKind("lost_motion", axle_limits.lost_motion, "little lost to twist, bending and play"),
    LimitKind(
        "post", axle_limits.post_limits, "posts clear of cups, bare fingers and joints", "post {0}: 1 mm more room"
    ),
    LimitKind("piece_long", section_limits.pieces, "pieces that the printer holds", "piece {0} at most 1 mm shorter"),
    LimitKind(
        "piece_short", section_limits.pieces, "no piece shorter than its joints", "piece {0} at least 1 mm longer"
    ),
    LimitKind("piece_wide", section_limits.piece_widths, "no piece wider than the printer holds"),
    LimitKind("tenon_wall", section_limits.tenon_walls, "tenons thick enough"),
    LimitKind("joint_zone_low", section_limits.joints, "joints in their zones, not nearer the reed"),
    LimitKind("joint_zone_high", section_limits.joints, "joints in their zones, not nearer the bell"),
    LimitKind(
        "joint",
        section_limits.joints,
        "joints clear of holes, seats and fingers",
        "joint {0}: 1 mm more between",
    ),
    LimitKind(
        "fitting",
        fitting_limits.fittings,
        "strap ring, thumb rest and what else is fastened to the body clear of everything",
        "{0}: 1 mm more room around it",
    ),
    LimitKind("bore_slim", bore_limits.tapers, "a bore that numbers shape widens all along, no part too slim"),
    LimitKind("bore_steep", bore_limits.tapers, "a bore that numbers shape widens nowhere too steeply"),
    LimitKind("bore_bend", bore_limits.bends, "a bore that numbers shape bends nowhere too sharply"),
    LimitKind("bend", bend_limits.off_bends, "bends of a folded body clear of everything", "{0}: 1 mm further off"),
    LimitKind(
        "tube",
        bend_limits.beside_tubes,
        "nothing of another tube over pads, fingers, posts and fittings",
        "{0}: 1 mm more room",
    ),
    LimitKind(
        "fold", bend_limits.apart, "tubes of a folded body that numbers shape clear of each other, bends not too tight"
    ),
    LimitKind("note", None, "the wanted resonance sounds, and stands above the one below it"),
)
LIMITS = {row.kind: row for row in _KINDS}
"""Every kind of limit by its name, in the order in which constraints are numbered."""

FAMILIES = tuple(dict.fromkeys(row.build for row in LIMITS.values() if row.build is not None))
"""What builds the constraints, each once."""


def of_the_hand(names: Iterable[str]) -> list[str]:
    """Those of some limits' names that the hand sets."""
    kinds = {row.kind for row in LIMITS.values() if row.of_hand}
    return [name for name in names if name.partition(".")[0] in kinds]


@dataclass(frozen=True)
class ConstraintSet:
    """All constraints of a project; `values(layout)` gives g (m,) [mm], feasible at <= 0, in the order of `items`."""

    items: tuple[Constraint, ...]
    families: tuple[Values, ...]
    fixed: Fixed

    def values(self, layout: Layout) -> Array:
        """g (m,) [mm]."""
        return self.broken_by(Geometry(layout, self.fixed))

    def broken_by(self, at: Geometry) -> Array:
        """g (m,) [mm] of a layout that is measured already."""
        return np.concatenate([family(at) for family in self.families]) if self.families else np.zeros(0)


def build_constraints(project: Project) -> ConstraintSet:
    """Every constraint that a project's tables imply."""
    items: list[Constraint] = []
    families: list[Values] = []
    for build in FAMILIES:
        found, values = build(project)
        if found:
            items += found
            families.append(values)
    return ConstraintSet(tuple(items), tuple(families), fixed_of(project))
