"""What a layout weighs, and where it balances. Reads records only.

| part | counted |
|---|---|
| body | the wall from the end of the crook, tenons and sockets, less grooves and holes; a solid print (infill 100 %) |
| crook | a tube along the bore table up to there, its wall `bore.crook_wall_mm` |
| keys | `keywork.key_mass_g` a pad, midway to its touch, and a plate; a rule of thumb, with a rod of up to 100 mm |
| longer rods | what is beyond 100 mm, of `keywork.stock_density_g_per_cm3`, about the middle of the rod |

Left out: raised seats, reed, vent tubes, fittings. Crook and body lie along one straight line.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from optimizer.project.bends import depth_at, down_at
from optimizer.project.model import Project
from optimizer.project.printer import DENSITY_G_PER_CM3
from optimizer.records.comparison import PrintedBody
from optimizer.records.files import Record
from optimizer.records.keys import KeyRecord
from optimizer.records.pieces import JointRecord, PieceRecord

if TYPE_CHECKING:
    from optimizer.records.layout import BoreTable, HoleRecord, LayoutRecord

BEND_STEPS = 19
"""Places in a bend between which its wall counts as straight: every 10 degrees."""

ROD_IN_RULE_MM = 100.0
"""Of a rod so much is in the rule for keys (own reading of it, no source)."""

LEFT_OUT = "raised seats, reed, vent tubes, fittings"


class MassRecord(Record):
    """What a layout weighs in all, and where it balances: so far from the reed end along the bore, the crook drawn
    straight, or down a folded body. parts_g: what body, crook and keys weigh, keys by a rule of thumb; left_out: what
    is not counted."""

    mass_g: float
    balance_mm: float
    parts_g: dict[str, float]
    density_g_per_cm3: float
    left_out: str = LEFT_OUT


@dataclass(frozen=True)
class Lump:
    """An amount, a volume [mm3] or a mass [g], and its first moment about the reed end along the bore, or down a
    folded body."""

    amount: float = 0.0
    moment: float = 0.0

    @classmethod
    def at(cls, amount: float, place_mm: float) -> "Lump":
        """One whose middle lies at a place."""
        return cls(amount, amount * place_mm)

    def __add__(self, other: "Lump") -> "Lump":
        return Lump(self.amount + other.amount, self.moment + other.moment)

    def times(self, factor: float) -> "Lump":
        """So many of it, or what it weighs by its density; -1 where it is taken away."""
        return Lump(self.amount * factor, self.moment * factor)


def together(lumps: Iterable[Lump]) -> Lump:
    """All of some lumps as one."""
    return sum(lumps, Lump())


def instrument_mass(
    project: Project,
    bore: "BoreTable",
    holes: Sequence["HoleRecord"],
    keys: Sequence[KeyRecord],
    pieces: Sequence[PieceRecord],
) -> MassRecord:
    """Mass and balance of a finished layout; densities and the rule for keys are the project's."""
    density, start = project.printer.density_g_per_cm3, printed_span_mm(bore)[0]
    crook = wall(bore, 0.0, start, project.bore.crook_wall_mm)
    parts = {
        "body": printed(bore, holes, pieces).times(density / 1000.0),
        "crook": crook.times(project.bore.crook_density_g_per_cm3 / 1000.0),
        "keys": together(Lump.at(project.keywork.key_mass_g, place) for place in _key_places(bore, holes, keys))
        + _long_rods(bore, keys).times(project.keywork.stock_density_g_per_cm3 / 1000.0),
    }
    whole = together(parts.values())
    return MassRecord(
        mass_g=round(whole.amount, 1),
        balance_mm=round(whole.moment / whole.amount, 1),
        parts_g={name: round(part.amount, 1) for name, part in parts.items()},
        density_g_per_cm3=density,
    )


def _key_places(bore: "BoreTable", holes: Sequence["HoleRecord"], keys: Sequence[KeyRecord]) -> list[float]:
    """Where keys weigh along the bore [mm], one place for each pad, by the first key that moves it, and each plate."""
    pads = {hole.id: depth_at(bore.bends, hole.position_mm) for hole in holes}
    moved: dict[str, float] = {}
    for key in keys:
        for name in (*key.opens, *key.closes):
            touch = pads[name] if key.touch_position_mm is None else depth_at(bore.bends, key.touch_position_mm)
            moved.setdefault(name, (pads[name] + touch) / 2.0)
    plates = [pads[hole.id] for hole in holes if hole.cover == "plate" and hole.id not in moved]
    return [*moved.values(), *plates]


def _long_rods(bore: "BoreTable", keys: Sequence[KeyRecord]) -> Lump:
    """What rods and hinge tubes have beyond the length that is in the rule for keys [mm3]."""
    axles = [key.axle for key in keys if key.axle is not None and key.axle.length_mm > ROD_IN_RULE_MM]
    return together(
        Lump.at(
            math.pi / 4.0 * (axle.outer_diameter_mm**2 - axle.inner_diameter_mm**2) * (axle.length_mm - ROD_IN_RULE_MM),
            depth_at(bore.bends, (axle.posts[0].position_mm + axle.posts[-1].position_mm) / 2.0),
        )
        for axle in axles
    )


def printed_body(record: "LayoutRecord", density_g_per_cm3: float | None = None) -> PrintedBody:
    """Volume and mass of the body's print, finished sizes; by default of the density it was made with, which files from
    before 2.1 lack: the default printer's."""
    density = density_g_per_cm3 or (record.mass.density_g_per_cm3 if record.mass else DENSITY_G_PER_CM3)
    start, end = printed_span_mm(record.bore)
    volume = printed(record.bore, record.holes, record.pieces).amount
    return PrintedBody(
        from_mm=start,
        to_mm=end,
        volume_cm3=round(volume / 1000.0, 3),
        density_g_per_cm3=density,
        mass_g=round(volume / 1000.0 * density, 2),
    )


def printed_span_mm(bore: "BoreTable") -> tuple[float, float]:
    """From where to where the body is printed [mm]: the crook is not part of it."""
    end = bore.points_mm[-1][0]
    return min(bore.crook_end_mm, end), end


def printed(bore: "BoreTable", holes: Sequence["HoleRecord"], pieces: Sequence[PieceRecord]) -> Lump:
    """The plastic of the body [mm3]."""
    start, end = printed_span_mm(bore)
    joints = [piece.joint for piece in pieces if piece.joint is not None]
    gone = [hole for hole in holes if start <= hole.position_mm <= end]
    return together(
        [
            wall(bore, start, end, bore.wall_mm),
            *(_joint_more(bore, joint, start, end) for joint in joints),
            *(Lump.at(-hole_mm3(hole, bore.wall_mm), depth_at(bore.bends, hole.position_mm)) for hole in gone),
        ]
    )


def wall(bore: "BoreTable", start_mm: float, end_mm: float, wall_mm: float) -> Lump:
    """The wall around a bore between two places [mm3]: a ring pi w (d + w), linear along each stretch, so exact. About
    a stretch's middle, a ring that changes evenly by c over a length L has the moment c L^2 / 12; a folded body's
    is cut at its bends, and within them."""
    turning = (place for low, high in _bends(bore) for place in np.linspace(low, high, BEND_STEPS))
    inside = [s for s in (*(s for s, _ in bore.points_mm), *turning) if start_mm < s < end_mm]
    places = [start_mm, *sorted(inside), end_mm]
    rings = [math.pi * wall_mm * (bore_diameter_mm(bore, s) + wall_mm) for s in places]
    return together(
        Lump.at((a0 + a1) / 2.0 * (s1 - s0), depth_at(bore.bends, (s0 + s1) / 2.0))
        + Lump(0.0, down_at(bore.bends, (s0 + s1) / 2.0) * (a1 - a0) * (s1 - s0) ** 2 / 12.0)
        for (s0, a0), (s1, a1) in pairwise(zip(places, rings, strict=True))
    )


def _bends(bore: "BoreTable") -> list[tuple[float, float]]:
    return [(bend.at_mm, bend.end_mm) for bend in bore.bends]


def bore_diameter_mm(bore: "BoreTable", position_mm: float) -> float:
    """Diameter of the bore at a place [mm]."""
    positions, diameters = zip(*bore.points_mm, strict=True)
    return float(np.interp(position_mm, positions, diameters))


def hole_mm3(hole: "HoleRecord", wall_mm: float) -> float:
    """Volume [mm3] that a hole takes out of the wall: its cone from the bore up to the body's surface."""
    share = min(1.0, wall_mm / hole.chimney_mm)
    d0 = hole.diameter_mm
    d1 = d0 + share * (hole.top_diameter_mm - d0)
    return math.pi / 12.0 * min(wall_mm, hole.chimney_mm) * (d0 * d0 + d0 * d1 + d1 * d1)


def _joint_more(bore: "BoreTable", joint: JointRecord, start_mm: float, end_mm: float) -> Lump:
    """What a joint takes more than the plain wall it stands in place of [mm3]: rings of tenon and socket."""
    half = joint.length_mm / 2.0
    plain = wall(bore, max(start_mm, joint.at_mm - half), min(end_mm, joint.at_mm + half), bore.wall_mm)
    tenon = _ring_mm2(joint.bore_diameter_mm, joint.tenon_diameter_mm) * joint.length_mm
    socket = _ring_mm2(joint.socket_diameter_mm, joint.socket_outer_diameter_mm) * joint.length_mm
    grooves = 0.0
    if joint.groove_diameter_mm is not None and joint.groove_width_mm is not None:
        grooves = joint.grooves * joint.groove_width_mm * _ring_mm2(joint.groove_diameter_mm, joint.tenon_diameter_mm)
    return Lump.at(tenon + socket - grooves, depth_at(bore.bends, joint.at_mm)) + plain.times(-1.0)


def _ring_mm2(inner_mm: float, outer_mm: float) -> float:
    return math.pi / 4.0 * (outer_mm**2 - inner_mm**2)
