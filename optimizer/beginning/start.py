"""Where a search may begin: bore, positions and widths by the textbook, with room on either side.

A conical bore sounds as a tube open at both ends that reaches to the cone's tip, c / 2f long (Nederveen, *Acoustical
Aspects of Woodwind Instruments*, 1969, from memory); a cylinder with a reed as one that is closed there, c / 4f. A hole
lies short of that by its own correction and that of the closed holes above it, some 5 to 10 %. Diameters of cones
go by rules that the demo projects keep (no source): the lower an instrument, the narrower for its length.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from acoustics.air import air
from acoustics.pitch import note_frequency
from optimizer.beginning.answers import Answers
from optimizer.beginning.family import Family

REED_DEGC, BELL_DEGC, HUMIDITY_PERCENT, CO2_PERCENT = 29.0, 23.0, 90.0, 2.5
TENOR_HZ = 165.0
"""What rules are told for: a cone that sounds down to E3."""

END_SHARES = (0.90, 1.02)
"""Where a bore may end, of its textbook length."""
ROOM_SHARE = 0.08
"""Room of a hole on either side, of the textbook length of the lowest note."""


@dataclass(frozen=True)
class Start:
    """What a project's numbers begin with; lengths in mm.

    Attributes
    ----------
    points : of the bore, [position, diameter]
    staple_end, crook_end, wall : of the bore
    end : where it may end
    reed : what the reed may hold [cm3]
    holes : position, diameter and chimney of each hole, each with its range
    length : textbook length of the lowest note, from the tip of a cone or the end of a cylinder
    lowest_hz : of the lowest note
    """

    points: Sequence[tuple[float, float]]
    staple_end: float
    crook_end: float
    wall: float
    end: tuple[float, float]
    reed: tuple[float, float]
    holes: Mapping[str, Mapping[str, Any]]
    length: float
    lowest_hz: float

    def bore_at(self, position: float) -> float:
        """Diameter of the bore at a place [mm]."""
        return _diameter(self.points, position)


def start_of(
    answers: Answers, family: Family, kind: str, lowest: int, table: Sequence[tuple[float, float]] | None
) -> Start:
    """The start of a search.

    Parameters
    ----------
    answers : the bore's diameters and the reed's kind
    family : the holes
    kind : cone or cylinder
    lowest : MIDI key number of the lowest sounding note
    table : points of a bore that is there [mm]
    """
    lowest_hz = note_frequency(lowest)
    speed = float(air(0.5 * (REED_DEGC + BELL_DEGC), HUMIDITY_PERCENT / 100.0, CO2_PERCENT / 100.0).c)
    wave = speed / lowest_hz * 1000.0 / (2.0 if kind == "cone" else 4.0)
    low = lowest_hz / TENOR_HZ
    bore = _cone(answers, low, wave) if kind == "cone" else _cylinder(answers, low, wave)
    if table is not None:
        bore = _Bore(list(table), 0.0, bore.crook_end if family.keys else 0.0, *_before(table, kind, wave))
    wall = 4.0 if family.keys else 3.5
    end = tuple(round(share * wave - bore.before, -1) for share in END_SHARES)
    points = bore.points
    holes = _holes(family, _Ground(points, bore.before, wave, wall, bore.crook_end, end, low))
    return Start(points, bore.staple_end, bore.crook_end, wall, (end[0], end[1]), bore.reed, holes, wave, lowest_hz)


def _diameter(points: Sequence[tuple[float, float]], position: float) -> float:
    """Of a bore at a place [mm]; beyond its points the last line goes on."""
    after = next((number for number, (s, _) in enumerate(points) if s >= position and number), len(points) - 1)
    (s0, d0), (s1, d1) = points[after - 1], points[after]
    return d0 + (d1 - d0) * (position - s0) / (s1 - s0)


@dataclass(frozen=True)
class _Bore:
    """Points, where staple and crook end, how far the bore's acoustic end lies before its reed end, and the reed."""

    points: list[tuple[float, float]]
    staple_end: float
    crook_end: float
    before: float
    reed: tuple[float, float]


def _cone(answers: Answers, low: float, wave: float) -> _Bore:
    """A straight cone after a staple that is nearly a cylinder, or after none where a single reed's chamber follows."""
    taper = 2.0 * math.tan(math.radians(1.9 * low**0.43) / 2.0)
    narrow = answers.reed_end_mm or round(4.8 * low**-0.4, 1)
    if answers.bell_mm:
        taper = (answers.bell_mm - narrow) / (0.95 * wave) if answers.bell_mm > narrow else taper
    double = answers.reed != "single"
    staple = round(0.05 * wave) if double else 0.0
    tip = narrow / taper
    before = tip - staple
    end = round(END_SHARES[1] * wave - before, -1)
    wide = round(narrow + taper * (end - staple), 1)
    points = [(0.0, round(narrow - 0.4, 1)), (staple, narrow), (end, wide)] if double else [(0.0, narrow), (end, wide)]
    missing = math.pi / 12.0 * narrow**2 * tip / 1000.0
    reed = ((0.06 if double else 0.5) * missing, 1.35 * missing)
    return _Bore(points, staple, round(staple + 0.095 * wave) if double else 0.0, before, _rounded(reed))


def _cylinder(answers: Answers, low: float, wave: float) -> _Bore:
    """A cylinder whose mouthpiece and reed stand for 2 to 4 % of its length."""
    wide = answers.reed_end_mm or answers.bell_mm or round(14.0 * low**-0.35, 1)
    area = math.pi / 4.0 * wide**2
    reed = (0.022 * wave * area / 1000.0, 0.041 * wave * area / 1000.0)
    if answers.reed == "double":
        reed = (0.004 * wave * area / 1000.0, 0.03 * wave * area / 1000.0)
    before = 0.5 * sum(reed) * 1000.0 / area
    return _Bore([(0.0, wide), (round(wave), wide)], 0.0, 0.0, before, _rounded(reed))


def _before(table: Sequence[tuple[float, float]], kind: str, wave: float) -> tuple[float, tuple[float, float]]:
    """How far the acoustic end lies before the reed end of a bore that is there, and what the reed may hold [cm3]."""
    (s0, d0), (s1, d1) = table[0], table[-1]
    if kind == "cylinder" or d1 <= d0:
        area = math.pi / 4.0 * d0**2 / 1000.0
        return 0.03 * wave, _rounded((0.01 * wave * area, 0.04 * wave * area))
    tip = d0 * (s1 - s0) / (d1 - d0)
    missing = math.pi / 12.0 * d0**2 * tip / 1000.0
    return tip, _rounded((0.1 * missing, 1.4 * missing))


def _rounded(reed: tuple[float, float]) -> tuple[float, float]:
    return round(max(reed[0], 0.01), 2), round(max(reed[1], 0.05), 2)


@dataclass(frozen=True)
class _Ground:
    """What holes are put into."""

    points: Sequence[tuple[float, float]]
    before: float
    wave: float
    wall: float
    crook_end: float
    end: tuple[float, ...]
    low: float

    def place(self, share: float) -> float:
        """A place along the bore by its share of the lowest note's length [mm]."""
        return share * self.wave - self.before


def _holes(family: Family, ground: _Ground) -> dict[str, dict[str, Any]]:
    found = {}
    for name, hole in family.holes.items():
        vent = hole.get("role") == "vent"
        if vent:
            low, high = (ground.place(share) for share in family.told["vent_shares"][name])
        else:
            middle = ground.place(family.told["first_position"] * 2.0 ** (-hole["gives"] / 12.0))
            room = ROOM_SHARE * ground.wave * (0.6 + 0.4 * 2.0 ** (-hole["gives"] / 12.0))
            low, high = middle - room, middle + room
        in_crook = vent and high < ground.crook_end + 40.0
        least = 20.0 if in_crook else ground.crook_end + 15.0
        most = ground.crook_end - 10.0 if in_crook else ground.end[0] + 0.1 * (ground.end[1] - ground.end[0])
        low, high = max(low, least), min(max(high, least + 0.06 * ground.wave), most)
        found[name] = {"position": (round(low), round(high)), **_sizes(family, name, ground, 0.5 * (low + high))}
    return found


def _sizes(family: Family, name: str, ground: _Ground, place: float) -> dict[str, tuple[float, float]]:
    """Diameter and chimney of a hole."""
    hole, bore = family.holes[name], _diameter(ground.points, place)
    scale = max(ground.low, 1e-3) ** -0.4
    if hole.get("role") == "vent":
        if not family.keys:
            return {"diameter": (1.5, 5.0), "chimney": (ground.wall, ground.wall)}
        return {
            "diameter": (round(0.8 * max(scale, 1.0), 1), round(3.2 * scale, 1)),
            "chimney": (ground.wall + 2.0, round(ground.wall + 8.0 * scale, 1)),
        }
    keyed = bool(family.keys)
    seat = ground.wall + (round(max(1.0, 1.3 * scale - 0.2), 1) if keyed else 0.0)
    higher = round(seat + 4.0 * scale, 1) if name in family.told["palm"] else seat
    widest = max(0.8 if name in family.told["palm"] else 0.0, family.told["widest_of_bore"])
    return {
        "diameter": (round(max(3.0, 0.27 * bore), 1), round(max(widest * bore, 6.0), 1)),
        "chimney": (seat, higher),
    }
