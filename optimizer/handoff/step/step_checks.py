"""A STEP file, read back, held against the layout that it was written from: figures, and sentences where it fails."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.geometry.fold import Fold
from optimizer.handoff.meshes.laid import turn_of
from optimizer.handoff.shapes.bed import lacking_room
from optimizer.handoff.shapes.bent import Course, as_held, extent_mm, placed
from optimizer.handoff.shapes.outline import NEAR_MM, part
from optimizer.handoff.shapes.shape import Piece, PieceBend
from optimizer.handoff.shapes.volume import volume_mm3
from optimizer.handoff.shapes.walls import Wall, thinnest
from optimizer.handoff.step.read_back import Found, HoleFigures, Off, off_by
from optimizer.project.printer import usable_mm
from optimizer.records.layout import HoleRecord, LayoutRecord
from optimizer.records.pieces import PrintingRecord

VOLUME_OFF = 1e-5
"""How far a solid's volume may be off by arithmetic, of itself."""

OFF_MM = 0.001
"""How far a hole's diameters and place, and a piece's length, may be off."""

WIDENING_OFF_MM = 0.05
"""The same of the length of a piece with a bend that widens: so well does the kernel find the box of such a face."""


@dataclass(frozen=True)
class StepCheck:
    """A STEP file and what was found in it.

    open_holes : wanted in all its solids
    off : of each hole by its id; None where it is not there
    arithmetic_mm3 : None where holes, flats or feet overlap, and of a file with several solids
    length_mm : wanted along the axis of the first tube; None of a file with several solids
    length_off_mm : how far it may be off
    bed : what a print lacks of room, a sentence each
    thinnest : wall; None of a file with several solids
    """

    file: str
    state: str
    found: Found
    solids: int
    open_holes: int
    off: dict[str, Off | None]
    arithmetic_mm3: float | None = None
    length_mm: float | None = None
    length_off_mm: float = OFF_MM
    bed: tuple[str, ...] = ()
    thinnest: Wall | None = None

    @property
    def volume_off(self) -> float | None:
        """How far the volume is off by arithmetic, of itself."""
        return None if self.arithmetic_mm3 is None else self.found.volume_mm3 / self.arithmetic_mm3 - 1.0

    @property
    def holes_off_mm(self) -> float:
        """The greatest deviation of any hole [mm]."""
        return max((each.most_mm for each in self.off.values() if each is not None), default=0.0)

    @property
    def problems(self) -> list[str]:
        """Why the file must not be handed over, a sentence each."""
        return [f"{self.file}: {said}" for said in (*self._as_solids(), *self._as_sizes(), *self.bed)]

    def _as_solids(self) -> list[str]:
        said, found = [], self.found
        if not found.valid:
            said.append("the CAD kernel finds its surface unsound")
        if found.solids != self.solids:
            said.append(f"it holds {found.solids} solids, not {self.solids}")
        elif found.euler != -2 * self.open_holes:
            said.append(
                f"{-found.euler // 2} holes are open, and {self.open_holes} are wanted: one does not break through, or "
                "two run into each other"
            )
        return said

    def _as_sizes(self) -> list[str]:
        said = [f"hole {name} is not in it" for name, off in self.off.items() if off is None]
        said += [
            f"hole {name} is off by {off.most_mm:.4f} mm"
            for name, off in self.off.items()
            if off is not None and not off.most_mm <= OFF_MM
        ]
        if self.volume_off is not None and not abs(self.volume_off) <= VOLUME_OFF:
            said.append(f"its volume is off by {100.0 * self.volume_off:+.4f} %")
        if self.length_mm is not None and not abs(self.found.box_mm[2] - self.length_mm) <= self.length_off_mm:
            said.append(f"it is {self.found.box_mm[2]:.3f} mm long, not {self.length_mm:.3f} mm")
        return said

    @property
    def figures(self) -> dict[str, float | int | bool | str]:
        """What was looked at, by names that tell units; volume and walls where they could be."""
        found = self.found
        said: dict[str, float | int | bool | str] = {
            "valid": found.valid,
            "solids": found.solids,
            "open_holes": -found.euler // 2,
            "holes_wanted": self.open_holes,
            "volume_mm3": round(found.volume_mm3, 1),
            "box_mm": " x ".join(f"{side:.1f}" for side in found.box_mm),
            "holes_off_mm": round(self.holes_off_mm, 6),
        }
        if self.thinnest is not None:
            said["thinnest_wall_mm"] = round(self.thinnest.mm, 3)
        if self.volume_off is not None:
            said["volume_off"] = float(f"{self.volume_off:.2e}")
        return said


def piece_check(
    file: str,
    piece: Piece,
    found: Found,
    holes: Sequence[HoleFigures],
    printing: PrintingRecord | None,
    tubes: Sequence[Course] = (),
) -> StepCheck:
    """A piece's file held against the piece.

    Parameters
    ----------
    file : its name
    piece : as it is drawn
    found : in the file
    holes : that are to be in it
    printing : the printer that is to have room for it; None for none
    tubes : of the piece, as the holes tell azimuths on them; one along z where none are told
    """
    return StepCheck(
        file=file,
        state=piece.sizing.state,
        found=found,
        solids=1,
        open_holes=len(piece.holes),
        off=off_by(found.faces, holes, tubes),
        arithmetic_mm3=volume_mm3(piece),
        length_mm=extent_mm(piece.outside, piece.bends),
        length_off_mm=WIDENING_OFF_MM if any(_widens(piece, bend) for bend in piece.bends) else OFF_MM,
        bed=() if printing is None else _lacking(printing, piece, found),
        thinnest=thinnest(piece),
    )


def _widens(piece: Piece, bend: PieceBend) -> bool:
    """Whether the outside widens or narrows in a bend."""
    radii = [radius for _, radius in part(piece.outside, bend.z_mm, bend.end_mm)]
    return max(radii) - min(radii) > NEAR_MM


def whole_check(file: str, solids: int, found: Found, record: LayoutRecord) -> StepCheck:
    """The file of the whole instrument held against the record.

    Parameters
    ----------
    file : its name
    solids : how many it is to hold
    found : in the file
    record : the layout
    """
    holes = [_figures(hole, 0.0) for hole in record.holes]
    off = off_by(found.faces, holes, as_held(Fold(record.bore.bends)))
    return StepCheck(file, "finished", found, solids, len(holes), off)


def recorded_holes(record: LayoutRecord, piece: Piece) -> list[HoleFigures]:
    """A finished piece's holes by the layout's record alone.

    Parameters
    ----------
    record : the layout
    piece : whose holes
    """
    here = {hole.id for hole in piece.holes}
    begin = record.pieces[piece.number - 1].begin_mm if record.pieces else record.bore.crook_end_mm
    return [_figures(hole, begin or 0.0) for hole in record.holes if hole.id in here]


def recorded_tubes(record: LayoutRecord, piece: Piece) -> list[Course]:
    """The tubes of a layout by its record alone, as they lie in the file of a finished piece, azimuths as recorded.

    Parameters
    ----------
    record : the layout
    piece : whose file
    """
    fold = Fold(record.bore.bends)
    turn, shift = placed(fold, piece.begin_mm)
    return [
        Course(tube.begin_mm - piece.begin_mm, turn.T @ tube.turn, turn.T @ (tube.start - shift))
        for tube in as_held(fold)
    ]


def _figures(hole: HoleRecord, begin_mm: float) -> HoleFigures:
    return HoleFigures(
        id=hole.id,
        z_mm=hole.position_mm - begin_mm,
        azimuth_deg=hole.azimuth_deg,
        top_mm=0.5 * hole.bore_diameter_mm + hole.chimney_mm,
        bore_mm=hole.diameter_mm,
        mouth_mm=hole.top_diameter_mm,
    )


def drawn_holes(piece: Piece) -> list[HoleFigures]:
    """A piece's holes as they are drawn."""
    return [
        HoleFigures(each.id, each.z_mm, each.azimuth_deg, each.top_mm, each.round_bore_mm, each.round_mouth_mm)
        for each in piece.holes
    ]


def _lacking(printing: PrintingRecord, piece: Piece, found: Found) -> tuple[str, ...]:
    """Where a print is larger than the bed, a sentence each; the box is turned as the piece is laid."""
    box = np.abs(turn_of(piece, printing)) @ np.array(found.box_mm)
    return tuple(lacking_room(piece.name, box, usable_mm(printing.bed_mm, printing.margin_mm)))
