"""The `[sections]` table: the pieces that a body is printed in, the rules of its joints, and pieces already printed.

| rule of a joint | standing: common practice, no source |
|---|---|
| tenon at least 0.8 of its outside diameter long, and 20 to 30 mm | `tenon_length_per_diameter`, `joint_mm` |
| tenon wall 3 mm, at least 2.5 | `tenon_wall_mm`, `tenon_wall_min_mm` |
| socket wall at least 3 mm, else a ring around it | `socket_wall_mm`, `socket_ring` |
| 0.15 to 0.25 mm between tenon and socket all round | `radial_clearance_mm` |
| two O-rings of 1.5 to 2 mm, squeezed by 15 to 25 % | `o_rings`, `cord_mm`, `cord_squeeze_percent` |
| 5 mm from tenon and socket to any hole, seat or finger | `joint_clearance_mm` |
"""

import itertools
from collections.abc import Sequence
from typing import Annotated, Literal, NamedTuple

import numpy as np
from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from optimizer.project.bends import Bend
from optimizer.project.numbers import Count, Interval, NotNegative, Positive, Section, as_range, ordered
from optimizer.project.printer import Printer


class LockedJoint(NamedTuple):
    """A joint that is already made: its middle, its length, its tenon's outer diameter [mm] (None: by the rules)."""

    at_mm: float
    length_mm: float
    tenon_mm: float | None


class LockedPiece(Section):
    """A piece already printed, as its layout file has it: `holewright search --locked` writes these lines.

    piece : its number from the reed; from_, to_ : its ends, the lengths of their joints (0: none) and tenon diameters
    bore_mm : points [position, diameter] of its bore, which the project's must equal
    bends : on it, which the project's must equal, too; None in projects from before they were told
    redrill : those of its holes that may still be opened up where they are
    """

    piece: Annotated[int, Field(strict=True, ge=1, le=13)]
    from_mm: NotNegative
    to_mm: Positive
    from_joint_mm: NotNegative = 0.0
    to_joint_mm: NotNegative = 0.0
    from_tenon_mm: Positive | None = None
    to_tenon_mm: Positive | None = None
    holes: list[str] = []
    bore_mm: list[tuple[NotNegative, Positive]] = []
    bends: list[Bend] | None = None
    redrill: list[str] = []

    @model_validator(mode="after")
    def _ends_are_ordered(self) -> "LockedPiece":
        if self.from_mm >= self.to_mm:
            raise ValueError(f"to_mm: must lie beyond from_mm at {self.from_mm:g}, but got {self.to_mm:g}")
        if (self.piece == 1) != (self.from_joint_mm == 0):
            raise ValueError(
                "from_joint_mm: the first piece begins at the crook, without a joint; every other one with one"
            )
        return self


class BodySections(Section):
    """The pieces that the body is printed in, and the joints between them. Defaults: the table of this module."""

    joints: Annotated[
        tuple[Count, Count], BeforeValidator(as_range), AfterValidator(ordered), Field(description="how many joints")
    ]
    piece_max_mm: Annotated[
        Positive | None, Field(description="longest piece, its tenon included; default: what the printer's bed holds")
    ] = None
    joint_mm: Annotated[Positive, Field(description="least length of a tenon in its socket")] = 24.0
    joint_clearance_mm: Annotated[NotNegative, Field(description="from a joint to any seat, cup or finger")] = 5.0
    zones_mm: Annotated[
        list[Interval], Field(description="where joints may lie; default: the body beyond the crook")
    ] = []
    tenon_length_per_diameter: NotNegative = 0.8
    tenon_wall_mm: Annotated[Positive, Field(description="tenon wall where the socket may have a ring")] = 3.0
    tenon_wall_min_mm: Annotated[Positive, Field(description="least tenon wall where it may not")] = 2.5
    socket_wall_mm: Positive = 3.0
    socket_ring: Annotated[bool, Field(description="whether a socket may stand out from the body as a ring")] = True
    radial_clearance_mm: NotNegative = 0.2
    seal: Literal["o-ring", "lapping"] = "o-ring"
    o_rings: Annotated[int, Field(strict=True, ge=1, le=4)] = 2
    cord_mm: Annotated[float, Field(strict=True, ge=0.5, le=5)] = 1.5
    cord_squeeze_percent: Annotated[float, Field(strict=True, ge=5, le=40)] = 20.0
    groove_width_per_cord: Annotated[float, Field(strict=True, ge=1, le=2)] = 1.4
    locked: Annotated[list[LockedPiece], Field(description="pieces already printed")] = []

    @model_validator(mode="after")
    def _pieces_make_sense(self) -> "BodySections":
        if self.piece_max_mm is not None and self.piece_max_mm < 4.0 * self.joint_mm:
            raise ValueError(
                f"piece_max_mm: must be at least four joints long ({4.0 * self.joint_mm:g}), but got "
                f"{self.piece_max_mm:g}"
            )
        for low, high in self.zones_mm:
            if low >= high:
                raise ValueError(f"zones_mm: low < high must hold, but got [{low:g}, {high:g}]")
        if self.tenon_wall_mm < self.tenon_wall_min_mm:
            raise ValueError(
                f"tenon_wall_mm: must be at least tenon_wall_min_mm, {self.tenon_wall_min_mm:g}, but got "
                f"{self.tenon_wall_mm:g}"
            )
        if self.lacks_groove:
            raise ValueError(f"cord_mm: {self.lacks_groove}")
        _locked_pieces_agree(self)
        return self

    def taken_from(self, printer: Printer) -> "BodySections":
        """With the clearance and the squeeze that fitted on the printer's coupon, where none are stated here."""
        tried = {name: getattr(printer, name) for name in ("radial_clearance_mm", "cord_squeeze_percent")}
        return self.model_copy(
            update={
                name: value for name, value in tried.items() if value is not None and name not in self.model_fields_set
            }
        )

    @property
    def lacks_groove(self) -> str:
        """Why its O-rings would have no groove; empty where they have one, or where there are none."""
        if self.seal == "lapping" or self.groove_depth_mm > 0:
            return ""
        return (
            f"a cord of {self.cord_mm:g} squeezed by {self.cord_squeeze_percent:g} % needs no groove at a radial "
            f"clearance of {self.radial_clearance_mm:g}; take a thicker cord, or seal = 'lapping'"
        )

    @property
    def groove_depth_mm(self) -> float:
        """Depth of an O-ring's groove [mm]: the squeezed cord, less the gap that it bridges; 0 without O-rings."""
        if self.seal == "lapping":
            return 0.0
        return self.cord_mm * (1.0 - self.cord_squeeze_percent / 100.0) - self.radial_clearance_mm

    @property
    def locked_joints(self) -> dict[int, LockedJoint]:
        """Joints already made, by their number from the reed, the first 0."""
        found = {}
        for piece in self.locked:
            if piece.from_joint_mm:
                found[piece.piece - 2] = LockedJoint(piece.from_mm, piece.from_joint_mm, piece.from_tenon_mm)
            if piece.to_joint_mm:
                found[piece.piece - 1] = LockedJoint(piece.to_mm, piece.to_joint_mm, piece.to_tenon_mm)
        return found


def _locked_pieces_agree(section: BodySections) -> None:
    """Pieces already printed fit each other, and the number of joints leaves room for them."""
    pieces = sorted(section.locked, key=lambda piece: piece.piece)
    for before, after in itertools.pairwise(pieces):
        if before.piece == after.piece:
            raise ValueError(f"locked: piece {after.piece} stands twice")
        next_to = before.piece + 1 == after.piece
        ends = (before.to_mm, before.to_joint_mm), (after.from_mm, after.from_joint_mm)
        if before.to_mm > after.from_mm or (next_to and ends[0] != ends[1]):
            raise ValueError(
                f"locked: piece {before.piece} ends at {before.to_mm:g} and piece {after.piece} begins at "
                f"{after.from_mm:g}; take both from one layout file"
            )
    last = [piece for piece in pieces if not piece.to_joint_mm]
    least = max((piece.piece - (piece in last) for piece in pieces), default=0)
    if section.joints[0] < least or (last and section.joints[1] > last[-1].piece - 1):
        wanted = f"exactly {least}" if last else f"at least {least}"
        raise ValueError(f"joints: the locked pieces need {wanted}, but got {list(section.joints)}")


Points = Sequence[tuple[float, float]]


def bore_ended(points_mm: Points, end_mm: float) -> list[tuple[float, float]]:
    """A bore's points [position, diameter], its last line cut or continued to end_mm."""
    (s0, d0), (s1, d1) = points_mm[-2:]
    return [*points_mm[:-1], (end_mm, d0 + (d1 - d0) * (end_mm - s0) / (s1 - s0))]


def bore_between(points_mm: Points, low_mm: float, high_mm: float) -> list[tuple[float, float]]:
    """The points of a bore [position, diameter] between two places, both included."""
    places, diameters = np.array(points_mm).T
    first, last = (float(np.interp(place, places, diameters)) for place in (low_mm, high_mm))
    inside = [(place, diameter) for place, diameter in points_mm if low_mm < place < high_mm]
    return [(low_mm, first), *inside, (high_mm, last)]
