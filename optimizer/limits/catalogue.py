"""Named constraints g(layout) <= 0, all in millimetres, each with the sentence that explains it when it binds.

Constraints are grouped in families; a family computes all its values at once, from one layout measured for all.
"""

from dataclasses import dataclass

import numpy as np

from acoustics.arrays import Array
from optimizer.geometry.layout import Layout
from optimizer.geometry.measured import Fixed, Geometry, fixed_of
from optimizer.limits import axles as axle_limits
from optimizer.limits import fingers as finger_limits
from optimizer.limits import holes as hole_limits
from optimizer.limits import keys as key_limits
from optimizer.limits import pieces as section_limits
from optimizer.limits.family import Constraint, Values
from optimizer.project.model import Project

TOUCHING_MM = 0.05
"""A constraint within this of its limit counts as binding."""

FAMILIES = (
    hole_limits.order,
    hole_limits.webs,
    hole_limits.bell_margins,
    hole_limits.bore_limits,
    hole_limits.crook_limits,
    hole_limits.seals,
    finger_limits.reach,
    finger_limits.finger_order,
    finger_limits.finger_room,
    finger_limits.hand_gap,
    finger_limits.thumbs,
    key_limits.cups,
    key_limits.touch_reach,
    key_limits.touch_room,
    axle_limits.lever_limits,
    axle_limits.lost_motion,
    axle_limits.post_limits,
    section_limits.pieces,
    section_limits.piece_widths,
    section_limits.tenon_walls,
    section_limits.joints,
)


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
