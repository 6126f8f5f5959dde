"""A layout measured: what more than one limit asks of it, each quantity worked out once, when it is first asked for.

| quantity | shape | unit |
|---|---|---|
| bore_radius, body_radius | (H,) at each hole | mm |
| shut, flat | (H,) whether a pad closes it, whether it ends in a flat | |
| pads | sizes (H,) of the closures that the holes have or would have | mm |
| cover_mm | (H,) width of what lies over it: a cup, or a bare finger | mm |
| beside_pad_mm | (H,) how far from its middle an axle must lie at least, for its posts' sake | mm |
| touch_mm | (H,) where along the body it is touched | mm |
| fingers | places (T,) where fingers lie: on each hole (H,), then in rows (R,) | mm, rad |
| finger_depths | (T,) how far down the instrument that is | mm |
| holes | places (H,) on the body's surface | mm, rad |
| touches, rests | places (K,) of the touches of keys, and of the fingers that press them | mm, rad |
| hole_points, touch_points | where these lie in space | mm |
| pair_ways, pair_distances | (P,) between the touches of finger pairs | mm |
| joints, joint_length | sizes (J,) of the joints | mm |
| joint_used | (J,) whether the body has this joint | |

Everything is worked out alike for arrays and for duals, with slopes.
"""

from collections.abc import Callable
from functools import cached_property
from typing import Any, TypeVar

import numpy as np

from acoustics.arrays import Array
from acoustics.duals import Dual
from optimizer.geometry.bore_lines import BoreLines
from optimizer.geometry.bore_shape import BoreShape
from optimizer.geometry.fold import Fold
from optimizer.geometry.joints import NO_JOINTS, JointRules, JointSizes
from optimizer.geometry.layout import Layout, in_flats, in_sunk_flats, padded, top_diameter_mm
from optimizer.geometry.pads import Pad, as_made, pad_sizes
from optimizer.geometry.per_project import once
from optimizer.geometry.reach import PairTable, RowTable, touch_position
from optimizer.geometry.space import Places, Points, Ways, joined
from optimizer.geometry.touches import KeyTable, key_plans
from optimizer.project.fingers import finger_pairs
from optimizer.project.model import Project

Thing = TypeVar("Thing")


class Fixed:
    """What no layout changes of a project's geometry, as arrays."""

    def __init__(self, project: Project) -> None:
        self.project = project
        self.shape, self.fold = BoreShape(project.bore), Fold(project.bends)
        self.azimuth = np.radians([hole.azimuth_deg for hole in project.holes])
        self.sunk = in_sunk_flats(project)
        self.rows = RowTable(project) if project.rows.by_side else None
        self.pairs = PairTable(finger_pairs(project))
        self.keys = KeyTable(key_plans(project))
        section = project.sections
        self.joints = None if section is None else JointRules(section, project.bore.wall_mm)


fixed_of = once(Fixed)


class Geometry:
    """A layout measured; see the table of this module.

    Attributes
    ----------
    layout, fixed, project : what is measured, and what no layout changes
    sloped : whether the layout moves, so that slopes are wanted
    """

    def __init__(self, layout: Layout, fixed: Fixed) -> None:
        self.layout, self.fixed, self.project = layout, fixed, fixed.project
        self.sloped = any(isinstance(field, Dual) for field in layout)
        self._found: dict[Callable[[Geometry], Any], Any] = {}

    def once(self, work: Callable[["Geometry"], Thing]) -> Thing:
        """What some work makes of this layout, done once."""
        if work not in self._found:
            self._found[work] = work(self)
        found: Thing = self._found[work]
        return found

    @cached_property
    def bore(self) -> BoreLines:
        """The layout's bore as lines [mm]."""
        return self.fixed.shape.lines(self.layout)

    def bore_radius_at(self, place_mm: Array) -> Array:
        """Bore radius [mm] at places of any shape [mm]."""
        return self.bore.radius_at(place_mm)

    def body_radius_at(self, place_mm: Array) -> Array:
        """Outer radius of the body [mm] at places of any shape [mm]."""
        return self.bore_radius_at(place_mm) + self.project.bore.wall_mm

    @cached_property
    def bore_radius(self) -> Array:
        """Of each hole (H,) [mm]."""
        return self.bore_radius_at(self.layout.position_mm)

    @cached_property
    def body_radius(self) -> Array:
        """Of the body at each hole (H,) [mm]."""
        return self.bore_radius + self.project.bore.wall_mm

    @cached_property
    def shut(self) -> Array:
        """Which holes (H,) a pad closes."""
        return padded(self.layout, self.project)

    @cached_property
    def flat(self) -> Array:
        """Which holes (H,) end in a flat, raised or sunk."""
        return in_flats(self.layout, self.project)

    @cached_property
    def top_mm(self) -> Array:
        """Diameter of each hole at the top of its chimney (H,) [mm]."""
        return top_diameter_mm(self.layout, self.project)

    @cached_property
    def pads(self) -> Pad:
        """Sizes of the closures that the holes have or would have (H,) [mm]."""
        by_rule = pad_sizes(self.top_mm, self.project.keywork, self.fixed.sunk, self.project.stock)
        return as_made(by_rule, self.project)

    @cached_property
    def cover_mm(self) -> Array:
        """Width of what lies over each hole (H,) [mm]: a cup, or a bare finger."""
        return np.where(self.shut, self.pads.cup_diameter_mm, self.project.hand.finger_breadth_mm)

    @cached_property
    def beside_pad_mm(self) -> Array:
        """How far from the middle of each hole an axle must lie at least, for its posts' sake (H,) [mm]."""
        keywork = self.project.keywork
        return 0.5 * (self.pads.cup_diameter_mm + keywork.post_diameter_mm) + keywork.post_clearance_mm

    @cached_property
    def touch_mm(self) -> Array:
        """Where along the body each hole is touched (H,) [mm]."""
        return touch_position(self.layout)

    @cached_property
    def holes(self) -> Places:
        """Of the holes (H,), on the body's surface."""
        return Places(self.layout.position_mm, self.fixed.azimuth, self.body_radius)

    @cached_property
    def fingers(self) -> Places:
        """Where fingers lie (T,): on each hole, or on its plate, then in rows."""
        on_holes = self.holes._replace(position=self.touch_mm)
        return on_holes if self.fixed.rows is None else joined(on_holes, self.row_fingers)

    @cached_property
    def finger_depths(self) -> Array:
        """How far down the instrument fingers lie (T,) [mm]."""
        return self.fixed.fold.depth(self.fingers.position)

    @cached_property
    def row_fingers(self) -> Places:
        """Where fingers lie in rows (R,)."""
        rows = self.fixed.rows
        if rows is None:
            return Places(np.zeros(0), np.zeros(0), np.zeros(0))
        return rows.places(self.layout.row_mm, self.body_radius_at)

    @cached_property
    def _keys(self) -> tuple[Places, Places]:
        return self.fixed.keys.places(self.fingers, self.body_radius_at, self.fixed.fold)

    @property
    def touches(self) -> Places:
        """Of the touches of keys (K,)."""
        return self._keys[0]

    @property
    def rests(self) -> Places:
        """Of the fingers that press the keys (K,)."""
        return self._keys[1]

    @cached_property
    def hole_points(self) -> Points:
        """Where the holes lie in space (H,) [mm]."""
        return self.fixed.fold.points(self.holes)

    @cached_property
    def touch_points(self) -> Points:
        """Where the touches of keys lie in space (K,) [mm]."""
        return self.fixed.fold.points(self.touches)

    @cached_property
    def pair_ways(self) -> Ways:
        """Between the touches of finger pairs (P,) [mm]."""
        return self.fixed.pairs.ways(self.fingers, self.fixed.fold)

    @cached_property
    def pair_distances(self) -> Array:
        """What each finger pair must reach (P,) [mm]."""
        return self.fixed.pairs.distances(self.pair_ways)

    @cached_property
    def joints(self) -> JointSizes:
        """Sizes of the joints (J,) [mm]."""
        rules = self.fixed.joints
        return NO_JOINTS if rules is None else rules.sizes(self.layout.joint_mm, self.joint_length, self.bore)

    @cached_property
    def joint_length(self) -> Array:
        """Of the joints (J,) [mm]."""
        rules = self.fixed.joints
        return np.zeros(0) if rules is None else rules.length(self.layout.joint_mm, self.bore)

    @cached_property
    def joint_used(self) -> np.ndarray:
        """Whether the body has each joint (J,)."""
        return np.asarray(self.layout.choice.joint_used) > 0.5


def measured(layout: Layout, project: Project) -> Geometry:
    """A layout of a project, measured."""
    return Geometry(layout, fixed_of(project))
