"""How an instrument is put together, as far as its sizes err: stretches of the bore that are made as one, lined holes.

Each stretch is one piece of work, whose diameter errs as a whole and by itself. From the reed: staple, crook, printed
pieces. Two pieces' bores meet at the tip of the tenon, which is the upper piece's. A wider stretch ends in steps;
slopes agree with ducts drawn anew within 0.7 %, by which external interaction changes with pitch.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array
from acoustics.bore import Bore, radius_at
from acoustics.duals import value_of
from acoustics.network import Duct
from optimizer.records.layout import BoreTable, HoleRecord
from optimizer.records.pieces import PieceRecord

MM = 1e-3
BODY = "bore of the body"


class Stretch(NamedTuple):
    """A stretch of the bore made as one: its name, the kind of `Uncertainty` that it errs by, where it ends [mm]."""

    name: str
    kind: str
    end_mm: float


WHOLE = (Stretch(BODY, "bore_diameter_mm", np.inf),)
"""A bore printed in one."""


class Build(NamedTuple):
    """Stretches of the bore from the reed, the last without end; ids of the holes, which are lined tubes (H,), and how
    far the tube may be off either way (H,) [mm], None or nothing at all where no stock says so."""

    stretches: tuple[Stretch, ...] = WHOLE
    holes: tuple[str, ...] = ()
    lined: tuple[bool, ...] = ()
    off_mm: tuple[float | None, ...] = ()

    @property
    def ends_mm(self) -> np.ndarray:
        """Where one stretch gives way to the next (S - 1,) [mm]."""
        return np.array([stretch.end_mm for stretch in self.stretches[:-1]])

    @property
    def ends(self) -> np.ndarray:
        """The same (S - 1,) [m]."""
        return self.ends_mm * MM

    @property
    def printed(self) -> np.ndarray:
        """Which stretches (S,) are printed: they shrink, and take their holes along."""
        return np.array([stretch.kind == "bore_diameter_mm" for stretch in self.stretches])

    def of_points(self, duct: Duct) -> np.ndarray:
        """Which stretch each point (K,) of a parted duct's bore belongs to; of two at one place the first ends one."""
        place = value_of(duct.bore.position)
        second = np.append(False, np.diff(place) == 0.0)
        before, after = (np.searchsorted(self.ends, place, side=side) for side in ("left", "right"))
        return np.asarray(np.where(second, after, before))

    def of_places(self, place: Array) -> np.ndarray:
        """Which stretch places of any shape [m] lie in."""
        return np.searchsorted(self.ends, np.asarray(place), side="right")


def is_lined(hole: HoleRecord) -> bool:
    """Whether a hole is a lined tube: by the tool of the stock that finishes it, else a vent under a key is, and one
    under a finger is drilled (common practice, no source)."""
    if hole.tool is not None and hole.tool.kind != "made":
        return hole.tool.kind == "tube"
    return hole.role == "vent" and hole.by == "key"


def off_mm(hole: HoleRecord) -> float | None:
    """How far the tube that lines a hole may be off either way [mm], where the stock says so."""
    return hole.tool.tolerance_mm if hole.tool is not None and hole.tool.kind == "tube" else None


def build_of(bore: BoreTable, pieces: Sequence[PieceRecord], holes: Sequence[HoleRecord]) -> Build:
    """How a layout is put together.

    Parameters
    ----------
    bore : says where staple and crook end
    pieces : of the body, from the reed; none where it is one
    holes : finished
    """
    ends = [
        (f"piece {number}", piece.to_mm if piece.end_mm is None else piece.end_mm)
        for number, piece in enumerate(pieces, start=1)
    ]
    stretches = stretches_of(bore.staple_end_mm, bore.crook_end_mm, ends or [("the body", np.inf)])
    return Build(stretches, tuple(hole.id for hole in holes), tuple(map(is_lined, holes)), tuple(map(off_mm, holes)))


def stretches_of(
    staple_end_mm: float, crook_end_mm: float, printed: Sequence[tuple[str, float]] = (("the body", np.inf),)
) -> tuple[Stretch, ...]:
    """Stretches of a bore from the reed.

    Parameters
    ----------
    staple_end_mm, crook_end_mm : where they end [mm], 0 where there is none
    printed : what the pieces of the body are called, and where each ends [mm]
    """
    ends = [("the staple", "staple_bore_mm", staple_end_mm), ("the crook", "crook_bore_mm", crook_end_mm)]
    ends += [(name, "bore_diameter_mm", end) for name, end in printed]
    found: list[Stretch] = []
    for name, kind, end in ends:
        if end > (found[-1].end_mm if found else 0.0):
            found.append(Stretch(f"bore of {name}", kind, end))
    found[-1] = found[-1]._replace(end_mm=np.inf)
    return tuple(found)


def parted(duct: Duct, build: Build) -> Duct:
    """The same duct, its bore in two points and its chain cut wherever one stretch gives way to the next, so that each
    can be widened by itself, with a step where it ends.

    Parameters
    ----------
    duct : one (SI)
    build : the stretches of its bore
    """
    ends = build.ends
    cuts = ends[~np.isin(ends, duct.slices)]
    slices = np.insert(np.asarray(duct.slices), np.searchsorted(duct.slices, cuts), cuts)
    return duct._replace(bore=_doubled(duct.bore, ends), slices=slices)


def _doubled(bore: Bore, ends: np.ndarray) -> Bore:
    """A bore with two points at each of some places (S - 1,)."""
    place, radius = np.asarray(bore.position), np.asarray(bore.radius)
    lacking = np.repeat(ends, np.maximum(2 - np.array([np.sum(place == end) for end in ends], int), 0))
    at = np.searchsorted(place, lacking, side="right")
    return Bore(np.insert(place, at, lacking), np.insert(radius, at, radius_at(bore, lacking)))
