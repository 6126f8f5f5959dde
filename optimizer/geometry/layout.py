"""A layout, and its coding as the vector x that a solver moves. The only place that knows x's order.

| quantity | shape | unit |
|---|---|---|
| Layout fields per hole | (H,), project order | mm |
| Layout.joint_mm | (J,), from the reed; J as many as the project allows at most | mm |
| Layout.row_mm | (S,), of the hands that have a row, the left first | mm |
| x | (n,), free numbers only | units of `STEP`, so that 1 is a bold move |
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np

from acoustics.arrays import Array
from acoustics.duals import Dual
from optimizer.project.bends import straight_spans
from optimizer.project.bore import NUMBERS as SHAPING
from optimizer.project.fingers import row_span
from optimizer.project.hand import SIDES
from optimizer.project.model import Hole, Project

STEP = {
    "position_mm": 5.0, "diameter_mm": 1.0, "chimney_mm": 2.0, "touch_offset_mm": 5.0,
    "end_mm": 5.0, "reed_volume_cm3": 0.2, "bore_scale": 0.02, "joint_mm": 5.0, "row_mm": 5.0,
    "reed_end_diameter_mm": 0.2, "crook_end_diameter_mm": 0.2, "crook_half_angle_deg": 0.1,
    "cone_half_angle_deg": 0.02, "lower_cone_half_angle_deg": 0.02, "bell_length_mm": 10.0, "bell_flare_mm": 1.0,
}  # fmt: skip
PER_HOLE = ("position_mm", "diameter_mm", "chimney_mm", "touch_offset_mm")


class Choice(NamedTuple):
    """What is decided before a solve, as arrays: it moves by whole steps, so that no slope leads there.

    Attributes
    ----------
    plate : (H,) 1 where a plate lies on a finger's hole, 0 elsewhere
    joint_used : (J,) 1 where the body has this joint, 0 where it does without
    joint_above : (J, H) 1 where the joint lies nearer the reed than the hole, 0 where nearer the bell
    joint_zone : (J, 2) between which the joint must lie [mm]
    """

    plate: Array
    joint_used: Array
    joint_above: Array
    joint_zone: Array


NO_CHOICE = Choice(np.zeros(0), np.zeros(0), np.zeros((0, 0)), np.zeros((0, 2)))


class Layout(NamedTuple):
    """One design; what shapes bore and reed is (), all else as in the table of this module.

    Attributes
    ----------
    position_mm, diameter_mm, chimney_mm : (H,) of the holes: middle along the body, at the bore, height [mm]
    touch_offset_mm : (H,) how far a plate's touch lies toward the bell from its hole [mm]
    end_mm : () the bell end [mm]
    reed_volume_cm3 : () [cm3]
    bore_scale : () what the diameters of the project's bore are multiplied by [1]
    joint_mm : (J,) the middles of the joints [mm]
    row_mm : (S,) where the rows of touches lie: the touch of the index finger along the body [mm]
    choice : what no slope leads to
    reed_end_diameter_mm, crook_end_diameter_mm : () what shapes the bore, see `project.bore`; 0 where nothing is given
    crook_half_angle_deg, cone_half_angle_deg, lower_cone_half_angle_deg : () the same, of its parts
    bell_length_mm, bell_flare_mm : () the same, of its bell
    """

    position_mm: Array
    diameter_mm: Array
    chimney_mm: Array
    touch_offset_mm: Array
    end_mm: Array
    reed_volume_cm3: Array
    bore_scale: Array | float = 1.0
    joint_mm: Array = np.zeros(0)
    row_mm: Array = np.zeros(0)
    choice: Choice = NO_CHOICE
    reed_end_diameter_mm: Array | float = 0.0
    crook_end_diameter_mm: Array | float = 0.0
    crook_half_angle_deg: Array | float = 0.0
    cone_half_angle_deg: Array | float = 0.0
    lower_cone_half_angle_deg: Array | float = 0.0
    bell_length_mm: Array | float = 0.0
    bell_flare_mm: Array | float = 0.0


def numbers_of(layout: Layout) -> dict[str, Array]:
    """The numbers of a layout by name, in the shapes and units of its fields; its choice aside."""
    return {name: getattr(layout, name) for name in STEP}


def with_numbers(layout: Layout, numbers: Mapping[str, Any]) -> Layout:
    """A layout with some of its numbers replaced."""
    changed: dict[str, Any] = {name: numbers[name] for name in numbers if name in STEP}
    return layout._replace(**changed)


def layout_bounds(project: Project) -> tuple[Layout, Layout]:
    """Lowest and highest value of every number of a layout; fixed and locked numbers have equal bounds."""
    holes, zones = project.holes, joint_zones(project)
    reach = np.array([project.keywork.plate_offset_max_mm * (hole.cover in ("plate", "either")) for hole in holes])
    choice = fixed_choice(project)
    made = project.sections.locked_joints if project.sections else {}
    spans = [row_span(project, side) for side in project.rows.by_side]

    def side(which: int) -> Layout:
        loose = zones[0][0] if which == 0 else zones[-1][1]
        return Layout(
            position_mm=np.array([hole.position_mm[which] for hole in holes]),
            diameter_mm=np.array([hole.diameter_mm[which] for hole in holes]),
            chimney_mm=np.array([hole.chimney_mm[which] for hole in holes]),
            touch_offset_mm=(2 * which - 1) * reach,
            end_mm=np.array(project.bore.end_span_mm[which]),
            reed_volume_cm3=np.array(project.reed.volume_cm3[which]),
            bore_scale=np.array(project.bore.diameter_scale[which]),
            joint_mm=np.array([made[n].at_mm if n in made else loose for n in range(choice.joint_used.size)], float),
            row_mm=np.array([span[which] for span in spans], float),
            choice=choice,
            **{name: np.array(getattr(project.bore, name)[which]) for name in project.bore.shaped_by},
        )

    return side(0), side(1)


def joint_zones(project: Project) -> list[tuple[float, float]]:
    """Where the middle of a joint may lie [mm], in order: the project's zones, or the body less half a joint; on the
    straight tubes of a folded body, half a joint off its bends."""
    if project.sections is None:
        return [(0.0, 0.0)]
    half, bends = 0.5 * project.sections.joint_mm, project.bends
    body = project.bore.crook_end_mm + half, project.bore.end_span_mm[1] - half
    zones = sorted(project.sections.zones_mm) or [body]
    return [part for low, high in zones for part in straight_spans(bends, low, high, half)] if bends else zones


def fixed_choice(project: Project) -> Choice:
    """The choice of a project that leaves none open: its plates, and its joints unused."""
    count = project.sections.joints[1] if project.sections else 0
    return Choice(
        np.array([float(hole.cover == "plate") for hole in project.holes]),
        np.zeros(count),
        np.zeros((count, len(project.holes))),
        np.tile(np.array(joint_zones(project)[0]), (count, 1)),
    )


def padded(layout: Layout, project: Project) -> Array:
    """Which holes (H,) a pad closes, not a fingertip."""
    return np.array([hole.by == "key" for hole in project.holes]) | (layout.choice.plate > 0.5)


def in_flats(layout: Layout, project: Project) -> Array:
    """Which holes (H,) end in a flat, raised or sunk; the others in the round body."""
    stated = np.array([hole.seat is not None for hole in project.holes])
    saddle = np.array([hole.seat == "saddle" for hole in project.holes])
    return np.where(stated, ~saddle, padded(layout, project))


def in_sunk_flats(project: Project) -> np.ndarray:
    """Of which holes (H,) a flat is sunk into the wall: as stated, else where the chimney is shorter than the wall."""
    return np.array([in_sunk_flat(hole, hole.chimney_mm[1], project) for hole in project.holes])


def in_sunk_flat(hole: Hole, chimney_mm: float, project: Project) -> bool:
    """Whether a flat around a hole is sunk into the wall, whose chimney is so long at the most [mm]."""
    return hole.seat == "sunk" or (hole.seat is None and chimney_mm < project.bore.wall_mm)


def top_ratios(project: Project) -> np.ndarray:
    """Top over bore-end diameter of each hole (H,)."""
    return np.array([hole.top_ratio for hole in project.holes])


def top_diameter_mm(layout: Layout, project: Project) -> Array:
    """Diameter of each hole at the top of its chimney (H,) [mm]: what a finger or pad must cover."""
    return layout.diameter_mm * top_ratios(project)


def place_name(name: str, entry: int, ids: Sequence[str], sides: Sequence[str] = ()) -> str:
    """Name of one number of a layout, such as `position_mm.h07`, `joint_mm.2`, `row_mm.left` or `end_mm`.

    Parameters
    ----------
    name : of the layout's field
    entry : of which of its numbers
    ids : of the holes
    sides : `L` and `R` of the hands that have a row
    """
    if name == "row_mm":
        return f"{name}.{SIDES[sides[entry]]}"
    return f"{name}.{ids[entry]}" if name in PER_HOLE else f"{name}.{entry + 1}" if name == "joint_mm" else name


def key_of(place: str) -> str:
    """The project key whose range a number of the layout moves in."""
    name, _, hole = place.partition(".")
    return (
        f"bore.{name}"
        if name in SHAPING
        else {
            "touch_offset_mm": f"the touch of {hole} (keywork.plate_offset_max_mm)",
            "end_mm": "bore.end_mm",
            "reed_volume_cm3": "reed.volume_cm3",
            "bore_scale": "bore.diameter_scale",
            "row_mm": f"rows.{hole}.position_mm",
        }.get(name, f"holes.{hole}.{name}")
    )


@dataclass(frozen=True)
class Parametrisation:
    """Coding of layouts as vectors x: the free numbers, field by field, each over its `STEP`.

    Attributes
    ----------
    lowest : the layout at the low end of all ranges
    low, high : (n,) bounds of x
    names : (n,) such as `position_mm.h07`
    slots : for each field that moves: its name, which of its entries move, and their places in x
    """

    lowest: Layout
    low: np.ndarray
    high: np.ndarray
    names: tuple[str, ...]
    slots: tuple[tuple[str, np.ndarray, np.ndarray], ...]

    def layout(self, x: np.ndarray, choice: Choice | None = None) -> Layout:
        """The layout that x stands for.

        Parameters
        ----------
        x : (n,) in units of `STEP`
        choice : default that of a project that leaves none open
        """
        fields: dict[str, Any] = {}
        for name, entries, places in self.slots:
            field = np.array(getattr(self.lowest, name), float)
            field.reshape(-1)[entries] = x[places] * STEP[name]
            fields[name] = field
        return self.lowest._replace(choice=self.lowest.choice if choice is None else choice, **fields)

    def moving(self, x: np.ndarray, choice: Choice | None = None) -> Layout:
        """The layout that x stands for, each of its free fields with its slopes (n, ...) by x.

        Parameters
        ----------
        x : (n,) in units of `STEP`
        choice : default that of a project that leaves none open
        """
        layout = self.layout(x, choice)
        free: dict[str, Any] = {name: Dual(getattr(layout, name), slope) for name, slope in self._slopes.items()}
        return layout._replace(**free)

    @cached_property
    def _slopes(self) -> dict[str, np.ndarray]:
        """Slopes by x (n, ...) of the fields that it moves: the same wherever x is."""
        found = {}
        for name, entries, places in self.slots:
            shape = np.shape(getattr(self.lowest, name))
            slope = np.zeros((self.low.size, *shape))
            slope.reshape(self.low.size, -1)[places, entries] = STEP[name]
            found[name] = slope
        return found

    def encode(self, layout: Layout) -> np.ndarray:
        """The vector x (n,) of a layout, clipped to the bounds."""
        x = np.zeros(self.low.size)
        for name, entries, places in self.slots:
            x[places] = np.atleast_1d(np.asarray(getattr(layout, name)))[entries] / STEP[name]
        return np.clip(x, self.low, self.high)


def parametrise(project: Project) -> Parametrisation:
    """Free numbers of a project: every range wider than a point."""
    lowest, highest = layout_bounds(project)
    ids = [hole.id for hole in project.holes]
    names: list[str] = []
    slots, low, high = [], [], []
    for name in STEP:
        bottom, top = np.atleast_1d(getattr(lowest, name)), np.atleast_1d(getattr(highest, name))
        entries = np.flatnonzero(top > bottom)
        if entries.size:
            slots.append((name, entries, np.arange(len(names), len(names) + entries.size)))
            low.append(bottom[entries] / STEP[name])
            high.append(top[entries] / STEP[name])
            names += [place_name(name, int(entry), ids, list(project.rows.by_side)) for entry in entries]
    empty = np.empty(0)
    return Parametrisation(
        lowest,
        np.concatenate(low) if low else empty,
        np.concatenate(high) if high else empty,
        tuple(names),
        tuple(slots),
    )
