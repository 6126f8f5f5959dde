"""A layout, and its coding as the vector x that a solver moves. The only place that knows x's order.

| quantity | shape | unit |
|---|---|---|
| Layout fields per hole | (H,), project order | mm |
| x | (n,), free numbers only | units of `STEP`, so that 1 is a bold move |
"""

from dataclasses import dataclass
from typing import NamedTuple

import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from optimizer.project import Project

STEP = {
    "position_mm": 5.0,
    "diameter_mm": 1.0,
    "chimney_mm": 2.0,
    "touch_offset_mm": 5.0,
    "end_mm": 5.0,
    "reed_volume_cm3": 0.2,
}


class Layout(NamedTuple):
    """One design. touch_offset_mm: how far a plate's touch lies toward the bell from its hole."""

    position_mm: Array
    diameter_mm: Array
    chimney_mm: Array
    touch_offset_mm: Array
    end_mm: Array
    reed_volume_cm3: Array


def layout_bounds(project: Project) -> tuple[Layout, Layout]:
    """Lowest and highest value of every number of a layout; fixed and locked numbers have equal bounds."""
    holes = project.holes
    reach = np.array([project.keywork.plate_offset_max_mm if hole.cover == "plate" else 0.0 for hole in holes])

    def side(which: int) -> Layout:
        return Layout(
            position_mm=np.array([hole.position_mm[which] for hole in holes]),
            diameter_mm=np.array([hole.diameter_mm[which] for hole in holes]),
            chimney_mm=np.array([hole.chimney_mm[which] for hole in holes]),
            touch_offset_mm=(2 * which - 1) * reach,
            end_mm=np.array(project.bore.end_span_mm[which]),
            reed_volume_cm3=np.array(project.reed.volume_cm3[which]),
        )

    return side(0), side(1)


def top_ratios(project: Project) -> np.ndarray:
    """Top over bore-end diameter of each hole (H,)."""
    return np.array([hole.top_ratio for hole in project.holes])


def top_diameter_mm(layout: Layout, project: Project) -> Array:
    """Diameter of each hole at the top of its chimney (H,) [mm]: what a finger or pad must cover."""
    return layout.diameter_mm * top_ratios(project)


@dataclass(frozen=True)
class Parametrisation:
    """Coding of layouts as vectors x: the free numbers, field by field, each over its `STEP`.

    Attributes
    ----------
    low, high : (n,) bounds of x; names : (n,) such as `position_mm.h07`
    """

    lowest: Layout
    low: np.ndarray
    high: np.ndarray
    names: tuple[str, ...]
    slots: tuple[tuple[str, np.ndarray, np.ndarray], ...]

    def layout(self, x: Array) -> Layout:
        """The layout that x stands for; differentiable."""
        fields = {name: jnp.asarray(value) for name, value in self.lowest._asdict().items()}
        for name, entries, places in self.slots:
            value = x[places] * STEP[name]
            fields[name] = fields[name].at[entries].set(value) if fields[name].ndim else value[0]
        return Layout(**fields)

    def encode(self, layout: Layout) -> np.ndarray:
        """The vector x of a layout, clipped to the bounds."""
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
    for name in Layout._fields:
        bottom, top = np.atleast_1d(getattr(lowest, name)), np.atleast_1d(getattr(highest, name))
        entries = np.flatnonzero(top > bottom)
        if entries.size:
            slots.append((name, entries, np.arange(len(names), len(names) + entries.size)))
            low.append(bottom[entries] / STEP[name])
            high.append(top[entries] / STEP[name])
            names += [
                f"{name}.{ids[entry]}" if top.size == len(ids) and name in Layout._fields[:4] else name
                for entry in entries
            ]
    empty = np.empty(0)
    return Parametrisation(
        lowest,
        np.concatenate(low) if low else empty,
        np.concatenate(high) if high else empty,
        tuple(names),
        tuple(slots),
    )
