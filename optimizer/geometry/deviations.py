"""What may come out otherwise than drawn, one independent number each, and what it does to a duct.

| what | kind of `Uncertainty` | how it moves the duct |
|---|---|---|
| diameter of a hole | hole_diameter_mm, of a lined one vent_diameter_mm | both ends of its chimney alike |
| diameter of all printed holes | all_holes_mm, where more than 0 | both ends of all chimneys but lined tubes |
| diameter of a tube of the stock | none: as sure as its tolerance, anything within which is as likely | the same |
| chimney, position of a hole | chimney_mm, position_mm | that hole alone |
| bore of a stretch | staple_bore_mm, crook_bore_mm, bore_diameter_mm of print | all of it alike, a step at its ends |
| shrinkage | shrinkage_percent | lengths, diameters, walls of what is printed, by one factor; linings and pads stay |
| temperature | temperature_degC | air at both ends alike |
| reed volume | reed_volume_percent | the reed's |
| air of the reed | reed_volume_cm3, where more than 0 | the reed's volume, by so much |
"""

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array, Floats, leaves, map_arrays
from acoustics.network import Duct
from optimizer.geometry.build import MM, Build
from optimizer.geometry.duct import CM3
from optimizer.project.learned import Learned
from optimizer.project.uncertainty import Uncertainty

PER_HOLE = {
    "diameter": ("hole_diameter_mm", {"radius": 0.5, "top_radius": 0.5}),
    "chimney": ("chimney_mm", {"chimney_height": 1.0}),
    "position": ("position_mm", {"position": 1.0}),
}
"""Sizes of a hole: kind of each, and how its fields follow it."""

STOCK_TUBE = "tube of the stock"
"""Kind of what errs by the tolerance of a tube."""

OF_HOLES = "holes"
"""Source of all sizes of holes."""

ALL_HOLES = "all printed holes alike"
"""Name and source of what all printed holes share."""

REED_AIR = "air of the reed"
"""Name of the reed's volume and compliance as one number, known to so much and not to a share of it."""

LEARNED = "what the measured instrument left open"
"""Source of what is known by an instrument that was measured."""

PLAYING = ("temperature_degC", "reed_volume_percent", "reed_volume_cm3")
"""Kinds that come from playing; all others come from making."""


class Deviations(NamedTuple):
    """Independent deviations, and what one standard deviation of each adds to the duct.

    Attributes
    ----------
    names, kinds : (K,)
    sources : (K,) what they are told under: all holes as one, each stretch of the bore by itself
    sd : (K,) one standard deviation, in the unit that its kind ends in
    direction : a Duct whose fields have a leading (K,), SI
    """

    names: tuple[str, ...]
    kinds: tuple[str, ...]
    sources: tuple[str, ...]
    sd: Floats
    direction: Duct

    @property
    def from_making(self) -> np.ndarray:
        """Which come from making (K,), not from playing."""
        return np.array([kind not in PLAYING for kind in self.kinds])


def deviations(
    duct: Duct, stated: Uncertainty, build: Build | None = None, learned: Learned | None = None
) -> Deviations:
    """All deviations of a duct.

    Parameters
    ----------
    duct : one (SI), parted as its build asks
    stated : one standard deviation of each kind
    build : how it is put together; default: printed in one, holes named by their numbers
    learned : what is known better than stated of some of them, and together
    """
    if learned is not None and learned.numbers:
        known = {kind: sd for kind, (_, sd) in learned.numbers.items()}
        less = {"reed_volume_percent": 0.0} if "reed_volume_cm3" in known else {}
        alone = deviations(duct, stated.model_copy(update=known | less), build)
        return _together(alone, learned)
    still: Duct = map_arrays(lambda value: np.zeros(np.shape(value)), duct)
    count = np.size(duct.holes.radius)
    made = build or Build(holes=tuple(str(number + 1) for number in range(count)), lined=(False,) * count)
    rows = [
        *_of_holes(still, stated, made),
        *_of_the_bore(still, duct, stated, made),
        *_of_the_whole(still, duct, stated, made),
    ]
    names, kinds, sources, sd, moves = zip(*rows, strict=True)
    return Deviations(names, kinds, sources, np.array(sd, float), map_arrays(lambda *parts: np.stack(parts), *moves))


def _together(alone: Deviations, learned: Learned) -> Deviations:
    """Deviations as independent directions where some are known together: the symmetric root of their correlation
    leaves each as near to its own number as can be."""
    rows = [alone.kinds.index(kind) for kind in learned.numbers if kind in alone.kinds]
    names = [kind for kind in learned.numbers if kind in alone.kinds]
    places = [list(learned.numbers).index(kind) for kind in names]
    whole = np.eye(len(learned.numbers))
    for place, row in enumerate(learned.correlation, start=1):
        whole[place, :place] = whole[:place, place] = row
    sizes, axes = np.linalg.eigh(whole[np.ix_(places, places)])
    root = axes @ np.diag(np.sqrt(np.maximum(sizes, 0.0))) @ axes.T

    def mixed(value: Array) -> Floats:
        found = np.array(value, float)
        found[rows] = np.tensordot(root, found[rows], axes=1)
        return found

    sources = tuple(
        LEARNED if kind in names else source for kind, source in zip(alone.kinds, alone.sources, strict=True)
    )
    return alone._replace(sources=sources, direction=map_arrays(mixed, alone.direction))


Row = tuple[str, str, str, float, Duct]
"""Name, kind, source, one standard deviation, and what that adds to the duct."""


def _of_holes(still: Duct, stated: Uncertainty, build: Build) -> Iterator[Row]:
    for size, (kind, moves) in PER_HOLE.items():
        for number, hole in enumerate(build.holes):
            mine, sd = _of_one(kind, number, stated, build)
            by = MM * sd * (np.arange(len(build.holes)) == number)
            moved = {name: share * by for name, share in moves.items()}
            yield f"{size} of {hole}", mine, OF_HOLES, sd, still._replace(holes=still.holes._replace(**moved))
    if stated.all_holes_mm:
        wider = 0.5 * MM * stated.all_holes_mm * ~np.array(build.lined, bool)
        holes = still.holes._replace(radius=wider, top_radius=wider)
        yield ALL_HOLES, "all_holes_mm", ALL_HOLES, stated.all_holes_mm, still._replace(holes=holes)


def _of_one(kind: str, number: int, stated: Uncertainty, build: Build) -> tuple[str, float]:
    """By what kind a size of a hole errs, and one standard deviation of it [mm]."""
    off = build.off_mm[number] if build.off_mm else None
    if kind != "hole_diameter_mm" or not build.lined[number]:
        return kind, getattr(stated, kind)
    return ("vent_diameter_mm", stated.vent_diameter_mm) if off is None else (STOCK_TUBE, within_mm(off))


def within_mm(off_mm: float) -> float:
    """One standard deviation [mm] of a size that lies anywhere within so much either way with equal likelihood:
    a / sqrt(3), JCGM 100:2008 (Guide to the expression of uncertainty in measurement), 4.3.7."""
    return off_mm / math.sqrt(3.0)


def _of_the_bore(still: Duct, duct: Duct, stated: Uncertainty, build: Build) -> Iterator[Row]:
    belongs = build.of_points(duct)
    for number, (name, kind, _) in enumerate(build.stretches):
        sd = getattr(stated, kind)
        wider = 0.5 * MM * sd * (belongs == number)
        yield name, kind, name, sd, still._replace(bore=still.bore._replace(radius=wider))


def _of_the_whole(still: Duct, duct: Duct, stated: Uncertainty, build: Build) -> Iterator[Row]:
    warmer = still.climate._replace(reed_degC=stated.temperature_degC, bell_degC=stated.temperature_degC)
    percent, kelvin, share = stated.shrinkage_percent, stated.temperature_degC, stated.reed_volume_percent
    volume = np.asarray(duct.reed.volume)
    grown = _grown(still, duct, 0.01 * percent, build)
    yield "shrinkage", "shrinkage_percent", "shrinkage", percent, grown
    yield "temperature", "temperature_degC", "air", kelvin, still._replace(climate=map_arrays(np.asarray, warmer))
    yield "reed volume", "reed_volume_percent", "reed", share, _of_the_reed(still, 0.01 * share * volume)
    if stated.reed_volume_cm3:
        more = np.full(volume.shape, CM3 * stated.reed_volume_cm3)
        yield REED_AIR, "reed_volume_cm3", "reed", stated.reed_volume_cm3, _of_the_reed(still, more)


def _of_the_reed(still: Duct, volume: Array) -> Duct:
    return still._replace(reed=still.reed._replace(volume=volume))


def _grown(still: Duct, duct: Duct, share: float, build: Build) -> Duct:
    """What print larger by a share adds to a duct; what is not printed lies toward the reed, and stays."""
    fixed = ~build.printed
    begin = float(np.max(build.ends, initial=0.0, where=fixed[:-1]))

    def along(places: Array) -> Floats:
        return share * np.maximum(np.asarray(places) - begin, 0.0)

    on_body = share * build.printed[build.of_places(duct.holes.position)]
    unlined = on_body * ~np.array(build.lined, bool)
    whole, drilled = ("chimney_height", "body_radius", "rim_width"), ("radius", "top_radius")
    sized = dict.fromkeys(whole, on_body) | dict.fromkeys(drilled, unlined)
    return still._replace(
        bore=still.bore._replace(
            position=along(duct.bore.position),
            radius=share * build.printed[build.of_points(duct)] * np.asarray(duct.bore.radius),
        ),
        slices=along(duct.slices),
        end_position=along(duct.end_position),
        end_wall=share * np.asarray(duct.end_wall),
        holes=still.holes._replace(
            position=along(duct.holes.position),
            **{name: by * np.asarray(getattr(duct.holes, name)) for name, by in sized.items()},
        ),
    )


def by_deviation(slope: Duct, found: Deviations) -> Floats:
    """Cents that one standard deviation of each brings to each note (N, K).

    Fields that nothing moves are passed over: some are infinite, and have no slope.

    Parameters
    ----------
    slope : of the notes by the duct's numbers, fields (N, ...) [cents per SI unit]
    found : the deviations (K,)
    """
    total = np.zeros((len(np.asarray(slope.end_position)), len(found.names)))
    for rise, moved in zip(leaves(slope), leaves(found.direction), strict=True):
        if np.any(moved):
            total += np.asarray(rise).reshape(len(total), -1) @ moved.reshape(len(found.names), -1).T
    return total


def moved_ducts(duct: Duct, found: Deviations, draws: Floats) -> Duct:
    """A batch of ducts (B, ...), each moved by its draws.

    Parameters
    ----------
    duct : one (SI)
    found : the deviations (K,)
    draws : (B, K) in standard deviations
    """

    def moved(value: Array, by: Floats) -> Floats:
        return np.asarray(value) + np.tensordot(draws, by, axes=1)

    batch: Duct = map_arrays(moved, duct, found.direction)
    return batch
