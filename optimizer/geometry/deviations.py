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
from typing import NamedTuple, get_args

import numpy as np

from acoustics.arrays import Array, Floats, leaves, map_arrays
from acoustics.duals import value_of
from acoustics.network import Duct
from optimizer.geometry.build import MM, Build
from optimizer.geometry.duct import CM3
from optimizer.geometry.growth import grown
from optimizer.project.learned import FORMULAS, Learned, Made
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

LEAST_ROOT = 1e-6
"""Numbers known together so well that one follows from the others have no root of their own."""

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
    formulas : what goes along with them of the formulas' errors, and what is left of these
    """

    names: tuple[str, ...]
    kinds: tuple[str, ...]
    sources: tuple[str, ...]
    sd: Floats
    direction: Duct
    formulas: "OfFormulas"

    @property
    def from_making(self) -> np.ndarray:
        """Which come from making (K,), not from playing."""
        return np.array([kind not in PLAYING for kind in self.kinds])


class OfFormulas(NamedTuple):
    """Errors of the formulas of `FORMULAS` (F,), each in its own stated deviation.

    Attributes
    ----------
    mean : (F,) what they are known to be
    along : (K, F) what goes with one standard deviation of each number of the duct
    left : (F, F) what one of each of as many independent numbers brings to each, a row each
    """

    mean: Floats
    along: Floats
    left: Floats


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
        known = learned.sure(get_args(Made))
        less = {"reed_volume_percent": 0.0} if "reed_volume_cm3" in known else {}
        alone = deviations(duct, stated.model_copy(update=known | less), build)
        return _together(alone, learned)
    still: Duct = map_arrays(lambda value: np.zeros(np.shape(value)), duct)
    count = np.size(duct.holes.radius)
    made = build or Build(holes=tuple(str(number + 1) for number in range(count)), lined=(False,) * count)
    rows = [
        *_of_holes(still, stated, made),
        *_of_all_alike(still, duct, stated, made),
    ]
    names, kinds, sources, sd, moves = zip(*rows, strict=True)
    whole = map_arrays(lambda *parts: np.stack(parts), *moves)
    count = len(FORMULAS)
    formulas = OfFormulas(np.zeros(count), np.zeros((len(names), count)), np.eye(count))
    return Deviations(names, kinds, sources, np.array(sd, float), whole, formulas)


def _together(alone: Deviations, learned: Learned) -> Deviations:
    """Deviations as independent directions where some are known together: the symmetric root of their correlation
    leaves each as near to its own number as can be. A formula's error goes along with them as far as it follows from
    them; what does not is left by itself."""
    kinds = [kind for kind in get_args(Made) if kind in learned.numbers and kind in alone.kinds]
    rows = [alone.kinds.index(kind) for kind in kinds]
    count, whole = len(kinds), learned.related([*kinds, *FORMULAS])
    root, back = _roots(whole[:count, :count])

    def mixed(value: Array) -> Floats:
        found = np.array(value, float)
        found[rows] = np.tensordot(root, found[rows], axes=1)
        return found

    sure = np.array([learned.sure([kind]).get(kind, 1.0) for kind in FORMULAS])
    follows, along = back @ whole[:count, count:], np.zeros((len(alone.names), len(FORMULAS)))
    along[rows] = follows * sure
    left = _roots(whole[count:, count:] - follows.T @ follows)[0] * sure
    mean = np.array([learned.mean(kind) for kind in FORMULAS])
    sources = tuple(
        LEARNED if kind in kinds else source for kind, source in zip(alone.kinds, alone.sources, strict=True)
    )
    return alone._replace(
        sources=sources, direction=map_arrays(mixed, alone.direction), formulas=OfFormulas(mean, along, left)
    )


def _roots(covariance: Floats) -> tuple[Floats, Floats]:
    """Symmetric root of a covariance (n, n), and its inverse where there is one."""
    sizes, axes = np.linalg.eigh(covariance)
    lengths = np.sqrt(np.maximum(sizes, 0.0))
    over = np.divide(1.0, lengths, out=np.zeros_like(lengths), where=lengths > LEAST_ROOT)
    return axes * lengths @ axes.T, axes * over @ axes.T


Row = tuple[str, str, str, float, Duct]
"""Name, kind, source, one standard deviation, and what that adds to the duct."""


def _of_holes(still: Duct, stated: Uncertainty, build: Build) -> Iterator[Row]:
    for size, (kind, moves) in PER_HOLE.items():
        for number, hole in enumerate(build.holes):
            mine, sd = _of_one(kind, number, stated, build)
            by = MM * sd * (np.arange(len(build.holes)) == number)
            moved = {name: share * by for name, share in moves.items()}
            yield f"{size} of {hole}", mine, OF_HOLES, sd, still._replace(holes=still.holes._replace(**moved))


def _of_all_alike(still: Duct, duct: Duct, stated: Uncertainty, build: Build) -> Iterator[Row]:
    if stated.all_holes_mm:
        wider = 0.5 * MM * stated.all_holes_mm * ~np.array(build.lined, bool)
        holes = still.holes._replace(radius=wider, top_radius=wider)
        yield ALL_HOLES, "all_holes_mm", ALL_HOLES, stated.all_holes_mm, still._replace(holes=holes)
    yield from _of_the_bore(still, duct, stated, build)
    yield from _of_the_whole(still, duct, stated, build)


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
    larger = grown(still, duct, 0.01 * percent, build)
    yield "shrinkage", "shrinkage_percent", "shrinkage", percent, larger
    yield "temperature", "temperature_degC", "air", kelvin, still._replace(climate=map_arrays(np.asarray, warmer))
    yield "reed volume", "reed_volume_percent", "reed", share, _of_the_reed(still, 0.01 * share * volume)
    if stated.reed_volume_cm3:
        more = np.full(volume.shape, CM3 * stated.reed_volume_cm3)
        yield REED_AIR, "reed_volume_cm3", "reed", stated.reed_volume_cm3, _of_the_reed(still, more)


def _of_the_reed(still: Duct, volume: Array) -> Duct:
    return still._replace(reed=still.reed._replace(volume=volume))


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


def as_learned(duct: Duct, learned: Learned | None, build: Build) -> Duct:
    """A duct as it will come out by what a measured instrument taught; with slopes where it has them.

    Parameters
    ----------
    duct : as its layout says (SI), its bore parted as its build asks
    learned : None for nothing
    build : how it is put together
    """
    if learned is None:
        return duct
    still: Duct = map_arrays(lambda value: np.zeros(np.shape(value_of(value))), duct)
    means = dict.fromkeys(Uncertainty.model_fields, 0.0) | {kind: learned.mean(kind) for kind in get_args(Made)}
    rows = _of_all_alike(still, duct, Uncertainty.model_construct(**means), build)
    moved: Duct = map_arrays(lambda *parts: sum(parts[1:], start=parts[0]), duct, *(row[-1] for row in rows))
    return moved


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
