"""Pieces as shapes: all that a maker would model of each, plain numbers in the piece's own frame. Millimetres, degrees.

| frame of a piece | |
|---|---|
| z | along the bore from the piece's reed end, its socket included, toward the bell |
| azimuth | 0 is the front as the player holds it, positive clockwise seen from the reed end |
| x, y | r cos(azimuth), r sin(azimuth): with z toward the bell this is right-handed |
| height | of holes, seats and feet: from the bore's axis, at right angles to it |

A piece is what lies between `outside` and `inside`, both turned about the axis; to that come `flats` and `feet`, as
discs from the axis up to their tops; then `inside`, what lies above flats that are sunk, and the holes are taken away.
Whoever builds it does it in this order.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import pi, sqrt
from typing import Literal

from optimizer.handoff.shapes.outline import Outline
from optimizer.project.bends import Bend

State = Literal["finished", "printed", "printed to ream"]
"""As it is in the end; as it goes to the printer; the same with holes smaller by what is reamed out to pitch."""

End = Literal["reed", "bell"]


def in_file_names(state: State) -> str:
    """How names of files tell a state."""
    return state.replace(" ", "-")


@dataclass(frozen=True)
class Sizing:
    """How drawn sizes follow from finished ones: lengths by one factor, diameters by another, holes larger by what a
    print closes and smaller by what is reamed out later (by id) [mm].

    hole_oval_mm, hole_slope : as the printer's, None where holes shrink as the rest
    bore_more_mm, outside_more_mm : what diameters are drawn wider by, besides
    facing_mm : what flats are drawn higher by, to be faced off
    """

    state: State = "finished"
    along: float = 1.0
    across: float = 1.0
    hole_more_mm: float = 0.0
    hole_less_mm: Mapping[str, float] = field(default_factory=dict)
    hole_oval_mm: float = 0.0
    hole_slope: float | None = None
    bore_more_mm: float = 0.0
    outside_more_mm: float = 0.0
    facing_mm: float = 0.0

    @property
    def hole_factors(self) -> tuple[float, float]:
        """Drawn over finished diameter of a hole, along the body and around it."""
        return (self.along, self.across) if self.hole_slope is None else (1.0 / self.hole_slope,) * 2

    def inner(self, radius: float) -> float:
        """A radius of the bore or a socket as it is drawn [mm]."""
        return radius * self.across + 0.5 * self.bore_more_mm

    def outer(self, radius: float) -> float:
        """A radius of the body or a tenon as it is drawn [mm]."""
        return radius * self.across + 0.5 * self.outside_more_mm


@dataclass(frozen=True)
class Hole:
    """A hole, round its axis at z and azimuth; diameters are (along the body, around it).

    crown_mm, top_mm : heights of the bore's crown and of the chimney's top
    bore_mm, mouth_mm : diameters at the crown and at the top, straight in between; a cylinder below and above
    """

    id: str
    role: Literal["tone", "vent"]
    z_mm: float
    azimuth_deg: float
    crown_mm: float
    top_mm: float
    bore_mm: tuple[float, float]
    mouth_mm: tuple[float, float]

    @property
    def wide_mm(self) -> float:
        """Its greatest diameter [mm]."""
        return max(*self.bore_mm, *self.mouth_mm)

    @property
    def called(self) -> str:
        """How a sentence calls it."""
        return f"hole {self.id}"

    @property
    def hole_id(self) -> str:
        """Itself."""
        return self.id

    @property
    def round_bore_mm(self) -> float:
        """Diameter at the crown of a round hole of the same area [mm]."""
        return sqrt(self.bore_mm[0] * self.bore_mm[1])

    @property
    def round_mouth_mm(self) -> float:
        """Diameter at the top of a round hole of the same area [mm]."""
        return sqrt(self.mouth_mm[0] * self.mouth_mm[1])

    def cutter(self, beyond_mm: float) -> Outline:
        """Points (height, radius) of what a round tool takes away [mm], from the axis to a height beyond the body."""
        bore, mouth = 0.5 * self.round_bore_mm, 0.5 * self.round_mouth_mm
        if bore == mouth:
            return ((0.0, bore), (beyond_mm, bore))
        return ((0.0, bore), (self.crown_mm, bore), (self.top_mm, mouth), (beyond_mm, mouth))


@dataclass(frozen=True)
class Flat:
    """A flat disc around a hole whose top lies at a height, square to the hole's axis.

    Up to top_mm it is filled from the axis; where it is sunk, all above it within its diameter is taken away, too.
    stated: whether it is the record's seat; else the chimney is longer or shorter than the wall and needs one.
    """

    hole: str
    z_mm: float
    azimuth_deg: float
    diameter_mm: float
    top_mm: float
    sunk: bool
    stated: bool = True

    @property
    def wide_mm(self) -> float:
        """Its diameter [mm]."""
        return self.diameter_mm

    @property
    def called(self) -> str:
        """How a sentence calls it."""
        return f"the flat of hole {self.hole}"

    @property
    def hole_id(self) -> str:
        """Whose flat it is."""
        return self.hole


@dataclass(frozen=True)
class Foot:
    """A flat disc that a key's post stands on; its top lies at a height above the axis."""

    key: str
    post: int
    z_mm: float
    azimuth_deg: float
    diameter_mm: float
    top_mm: float

    @property
    def wide_mm(self) -> float:
        """Its diameter [mm]."""
        return self.diameter_mm

    @property
    def called(self) -> str:
        """How a sentence calls it."""
        return f"the foot of post {self.post} of {self.key}"

    @property
    def hole_id(self) -> str:
        """None: it belongs to no hole, and to no other foot."""
        return self.called


@dataclass(frozen=True)
class Socket:
    """What the piece before, or the crook's tube (a receiver), goes into at a piece's reed end.

    chamfer_mm : of its floor, at 45 degrees, so that a print standing on this end needs no support there
    """

    takes: Literal["tenon", "crook"]
    depth_mm: float
    diameter_mm: float
    outer_diameter_mm: float
    chamfer_mm: float


@dataclass(frozen=True)
class Groove:
    """An O-ring's groove on a tenon: from where to where, and the diameter at its floor."""

    from_mm: float
    to_mm: float
    diameter_mm: float


@dataclass(frozen=True)
class Tenon:
    """The tenon at a piece's bell end; chamfer_mm: of its tip, as that of the socket's floor that it meets."""

    length_mm: float
    diameter_mm: float
    chamfer_mm: float
    grooves: tuple[Groove, ...]


@dataclass(frozen=True)
class PieceBend:
    """A bend of a piece: where it begins along the piece's centre line, the radius of that [mm], and the azimuth on the
    piece that lies inside [degrees]."""

    z_mm: float
    radius_mm: float
    toward_deg: float

    @property
    def length_mm(self) -> float:
        """Along its centre line [mm]."""
        return pi * self.radius_mm

    @property
    def end_mm(self) -> float:
        """Where it ends along the piece's centre line [mm]."""
        return self.z_mm + self.length_mm


@dataclass(frozen=True)
class Piece:
    """One printed piece. outside, inside: outlines from its reed end to its bell end, sockets, tenons and grooves in
    them.

    number, count : from the reed, of how many
    begin_mm : where its z = 0 lies along the finished instrument, sockets included
    down : which end stands on the printer's bed
    locked : already made, so that there is no other state than finished
    left_out : a sentence for each thing of the record that is not drawn on it
    bends : of a folded body; all else is as if it were straight
    """

    number: int
    count: int
    sizing: Sizing
    begin_mm: float
    length_mm: float
    outside: Outline
    inside: Outline
    socket: Socket | None
    tenon: Tenon | None
    holes: tuple[Hole, ...]
    flats: tuple[Flat, ...]
    feet: tuple[Foot, ...]
    down: End
    locked: bool
    left_out: tuple[str, ...] = ()
    bends: tuple[PieceBend, ...] = ()

    @property
    def name(self) -> str:
        """What it is called."""
        return f"piece {self.number}" if self.count > 1 else "body"

    @property
    def stem(self) -> str:
        """What its files are called: which piece, in which state."""
        return f"{self.name.replace(' ', '-')}-{in_file_names(self.sizing.state)}"

    @property
    def beyond_mm(self) -> float:
        """A height that nothing of it reaches [mm]."""
        radii = [radius for _, radius in self.outside]
        tops = [each.top_mm for some in (self.holes, self.flats, self.feet) for each in some]
        return 1.0 + max(*radii, *tops)


@dataclass(frozen=True)
class Crook:
    """The crook as its tube, drawn straight and finished; z from the reed end of the bore. Its end goes into the first
    piece's receiver by inserted_mm. Holes in it are drilled through its wall; what they have of tubes is not drawn."""

    length_mm: float
    inserted_mm: float
    outside: Outline
    inside: Outline
    holes: tuple[Hole, ...]


@dataclass(frozen=True)
class Drawing:
    """All of a layout that has a shape: its pieces from the reed, and its crook, if any."""

    layout: str
    instrument: str
    sizing: Sizing
    pieces: tuple[Piece, ...]
    crook: Crook | None
    bends: tuple[Bend, ...] = ()
