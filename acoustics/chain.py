"""The numbers of a duct's elements: what every piece of the chain needs to know, from the duct's own numbers.

Slice points of the bore and holes are sorted along the centre line; each pair of neighbours bounds one straight
segment. Written in plain array operations, so that a duct of `Dual`s gives slopes, and a batch of ducts (B, ...) gives
a batch.

| part of the vector | code | shape | unit |
|---|---|---|---|
| humidity, CO2 | air | 2 | 1 |
| from each station to the next: reed-side radius, length, slope, temperature | segment | 4, M | m, 1, degC |
| inertance of a step at each station | step | M | Pa s2/m3 |
| fields of `toneholes.Holes` from radius on, with bore radius and temperature | hole | 11, H | m, 1, degC |
| bell end: radius, outer radius, temperature | bell | 3 | m, degC |
| where sound comes out, the bell last: depth, azimuth, body's radius, its tube's axis | opening | 5, H + 1 | m, rad |
| reed: fields of `reed.Reed`, temperature, entry radius and mean taper of the bore | reed | 8 | |
"""

import math
from functools import cache
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array
from acoustics.bends import laid, straightened
from acoustics.bore import interval_line, radius_at, step_inertance
from acoustics.duals import value_of
from acoustics.network import Duct, air_at, temperature_at
from acoustics.radiation import bell_centre

HOLE_NUMBERS = (
    "radius", "bore_radius", "top_radius", "chimney_height", "body_radius", "rim_width", "pad_radius", "pad_gap",
    "lid_recess", "lid_absorption", "temperature",
)  # fmt: skip


class Sizes(NamedTuple):
    """How many stations and holes, and where each part of the vector begins."""

    stations: int
    holes: int

    @property
    def parts(self) -> dict[str, slice]:
        """Where each part lies in the vector."""
        return _parts(self)

    @property
    def shapes(self) -> dict[str, tuple[int, ...]]:
        """Shape of each part: rows of numbers, and columns where there are many of a kind."""
        m, h = self.stations, self.holes
        return {
            "air": (2,), "segment": (4, m), "step": (m,), "hole": (11, h), "bell": (3,), "opening": (5, h + 1),
            "reed": (8,),
        }  # fmt: skip

    @property
    def numbers(self) -> int:
        """Length of the vector."""
        return int(self.parts["reed"].stop)


@cache
def _parts(sizes: Sizes) -> dict[str, slice]:
    begin, found = 0, {}
    for name, shape in sizes.shapes.items():
        found[name] = slice(begin, begin + math.prod(shape))
        begin = found[name].stop
    return found


class Chain(NamedTuple):
    """A duct's elements: vector (..., sizes.numbers), and the hole at each station (..., M), -1 where there is none."""

    vector: Array
    hole: np.ndarray
    sizes: Sizes

    def part(self, name: str) -> Array:
        """One part of the vector of a single duct, in its shape and units; see the table of this module."""
        return self.vector[self.sizes.parts[name]].reshape(self.sizes.shapes[name])

    def given(self, name: str) -> list[Array]:
        """What a formula of `elements` is given after the frequency.

        Returns
        -------
        the numbers of a part in its order and units, each (M, 1) or (H, 1) where there are many of a kind and () else;
        then the air's humidity and CO2 () [1]
        """
        rows = self.part(name)
        return [*(rows if rows.ndim == 1 else rows[..., None]), *self.part("air")]


def chain_of(duct: Duct) -> Chain:
    """The elements of a duct (SI); of a batch where its fields have a leading (B,)."""
    end = duct.end_position[..., None]
    position = np.concatenate([np.clip(duct.slices, 0.0, end), duct.holes.position], axis=-1)
    order = np.argsort(value_of(position), axis=-1, kind="stable")
    here = np.take_along_axis(position, order, axis=-1)
    following = np.concatenate([here[..., 1:], end], axis=-1)
    count = duct.slices.shape[-1]
    sizes = Sizes(here.shape[-1], duct.holes.position.shape[-1])
    rows = [
        np.stack([duct.climate.humidity, duct.climate.co2], axis=-1),
        *_segments(duct, here, following),
        _steps(duct, here, order < count),
        *_holes(duct),
        *_outside(duct),
        _reed(duct),
    ]  # in the order of `Sizes.shapes`
    return Chain(np.concatenate(rows, axis=-1), np.where(order < count, -1, order - count), sizes)


def _segments(duct: Duct, here: Array, following: Array) -> list[Array]:
    middle = 0.5 * (here + following)
    start, start_radius, slope = interval_line(duct.bore, middle)
    pieces = start_radius + slope * (here - start), following - here, slope
    if duct.bends.begin.shape[-1]:
        pieces = straightened(duct.bends, middle, *pieces)
    return [*pieces, temperature_at(duct, middle)]


def _steps(duct: Duct, here: Array, sliced: np.ndarray) -> Array:
    """Inertance of the bore's steps at the stations, 0 where there is none."""
    if not np.any(value_of(duct.bore.position)[..., 1:] <= value_of(duct.bore.position)[..., :-1]):
        return np.zeros(here.shape)
    return np.where(sliced, step_inertance(duct.bore, here, air_at(duct, here)), 0.0)


def _holes(duct: Duct) -> list[Array]:
    holes = duct.holes
    known = {
        "bore_radius": radius_at(duct.bore, holes.position),
        "temperature": temperature_at(duct, holes.position),
    }
    return [known[name] if name in known else getattr(holes, name) for name in HOLE_NUMBERS]


def _outside(duct: Duct) -> list[Array]:
    """Numbers of the bell, then of all openings, the bell's sound coming from in front of its mouth."""
    end = duct.end_position[..., None]
    radius = radius_at(duct.bore, end)
    outer = radius + duct.end_wall[..., None]
    centre = end + bell_centre(radius, outer)
    depth, front, right = laid(duct.tubes, np.concatenate([duct.holes.position, centre], axis=-1))
    return [
        radius, outer, temperature_at(duct, end),
        depth, duct.holes.azimuth, 0.0 * centre, duct.holes.body_radius, outer, front, right,
    ]  # fmt: skip


def _reed(duct: Duct) -> Array:
    entry = duct.bore.radius[..., 0]
    taper = (radius_at(duct.bore, duct.end_position[..., None])[..., 0] - entry) / duct.end_position
    start = temperature_at(duct, 0.0 * duct.end_position[..., None])[..., 0]
    return np.stack([*duct.reed, start, entry, taper], axis=-1)
