"""The bore that a search begins with, and how long it may become, by the textbook.

A conical bore sounds as a tube open at both ends that reaches to the cone's tip, c / 2f long (Nederveen, *Acoustical
Aspects of Woodwind Instruments*, 1969, from memory); a cylinder with a reed as one that is closed there, c / 4f.
Diameters of cones go by rules that the demo projects keep (no source): the lower an instrument, the narrower for its
length.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from acoustics.air import air
from acoustics.pitch import note_frequency
from optimizer.beginning.answers import Answers, AnswersError
from optimizer.beginning.meant import Meant
from optimizer.project.findings import at

AIR = {"reed_degC": 29.0, "bell_degC": 23.0, "humidity_percent": 90.0, "co2_percent": 2.5}
TENOR_HZ = 165.0
"""What rules are told for: a cone that sounds down to E3."""

CROOK_SHARE, PAST_STAPLE_MM = 0.095, 2.0
"""How far a crook goes beyond the staple, of the textbook length; and a body where there is none, in mm."""

KEYED_REED_END_MM, BARE_REED_END_MM = 4.8, 5.3
"""How wide a cone is that sounds down to E3 where its reed begins; bare holes are small, and the wider end of a pipe
lets the top of its second register come up to pitch (tried, no source)."""

END_SHARES = (0.90, 1.02)
"""Where a bore may end, of its textbook length."""


@dataclass(frozen=True)
class Bore:
    """A bore; lengths in mm.

    Attributes
    ----------
    points : [position, diameter]
    staple_end, crook_end : where these end
    before : how far its acoustic end lies before its reed end
    reed : what the reed may hold [cm3]
    """

    points: Sequence[tuple[float, float]]
    staple_end: float
    crook_end: float
    before: float
    reed: tuple[float, float]

    def at(self, position: float) -> float:
        """Its diameter at a place [mm]; beyond its points the last line goes on."""
        lines = [(one, other) for one, other in itertools.pairwise(self.points) if other[0] > one[0]]
        (s0, d0), (s1, d1) = next((line for line in lines if line[1][0] >= position), lines[-1])
        return d0 + (d1 - d0) * (position - s0) / (s1 - s0)


@dataclass(frozen=True)
class Start:
    """What a project begins with, besides its holes; lengths in mm.

    Attributes
    ----------
    bore : from the reed end
    wall : of the body
    end : where the bore may end
    length : textbook length of the lowest note, from the tip of a cone or the end of a cylinder
    lowest_hz : of the lowest note
    """

    bore: Bore
    wall: float
    end: tuple[float, float]
    length: float
    lowest_hz: float

    @property
    def low(self) -> float:
        """How high the lowest note is, against what the rules are told for."""
        return self.lowest_hz / TENOR_HZ

    def place(self, share: float) -> float:
        """A place along the bore by its share of the lowest note's length [mm]."""
        return share * self.length - self.bore.before


def start_of(meant: Meant) -> Start:
    """The bore of an instrument, and where it may end."""
    answers, keyed = meant.answers, bool(meant.family.keys)
    lowest_hz = note_frequency(meant.sounding)
    middle_degC = 0.5 * (AIR["reed_degC"] + AIR["bell_degC"])
    speed = float(air(middle_degC, AIR["humidity_percent"] / 100.0, AIR["co2_percent"] / 100.0).c)
    wave = speed / lowest_hz * 1000.0 / (2.0 if meant.bore == "cone" else 4.0)
    low = lowest_hz / TENOR_HZ
    bore = _cone(answers, low, wave, keyed) if meant.bore == "cone" else _cylinder(answers, low, wave)
    if meant.table is not None:
        bore = Bore(meant.table, 0.0, bore.crook_end if keyed else 0.0, *_before(meant.table, meant.bore, wave))
    shortest, longest = (round(share * wave - bore.before, -1) for share in END_SHARES)
    return Start(bore, 4.0 if keyed else 3.5, (shortest, longest), wave, lowest_hz)


def _cone(answers: Answers, low: float, wave: float, keyed: bool) -> Bore:
    """A straight cone after a staple that is nearly a cylinder, or after none where a single reed's chamber follows; a
    keyed one has a crook, the body of a bare pipe takes the staple itself."""
    taper = 2.0 * math.tan(math.radians(1.9 * low**0.43) / 2.0)
    narrow = answers.reed_end_mm or round((KEYED_REED_END_MM if keyed else BARE_REED_END_MM) * low**-0.4, 1)
    if answers.bell_mm:
        if answers.bell_mm < 2.0 * narrow:
            said = f"a cone {narrow:g} mm wide at the reed must widen to twice that at least, or it is no cone"
            raise AnswersError([at("bell_mm", said)])
        taper = (answers.bell_mm - narrow) / (0.95 * wave)
    double = answers.reed != "single"
    staple = round(0.05 * wave) if double else 0.0
    tip = narrow / taper
    if tip > 0.5 * wave:
        said = f"a cone {narrow:g} mm wide at the reed has lost more than half of its length; make it narrower there"
        raise AnswersError([at("reed_end_mm", said)])
    before = tip - staple
    end = round(END_SHARES[1] * wave - before, -1)
    wide = round(narrow + taper * (end - staple), 1)
    points = [(0.0, round(narrow - 0.4, 1)), (staple, narrow), (end, wide)] if double else [(0.0, narrow), (end, wide)]
    missing = math.pi / 12.0 * narrow**2 * tip / 1000.0
    reed = ((0.06 if double else 0.5) * missing, 1.35 * missing)
    crook = round(staple + (CROOK_SHARE * wave if keyed else PAST_STAPLE_MM)) if double else 0.0
    return Bore(points, staple, crook, before, _rounded(reed))


def _cylinder(answers: Answers, low: float, wave: float) -> Bore:
    """A cylinder whose mouthpiece and reed stand for 1 to 4 % of its length."""
    wide = answers.reed_end_mm or answers.bell_mm or round(14.0 * low**-0.35, 1)
    area = math.pi / 4.0 * wide**2
    reed = (0.012 * wave * area / 1000.0, 0.041 * wave * area / 1000.0)
    if answers.reed == "double":
        reed = (0.004 * wave * area / 1000.0, 0.03 * wave * area / 1000.0)
    before = 0.5 * sum(reed) * 1000.0 / area
    return Bore([(0.0, wide), (round(wave), wide)], 0.0, 0.0, before, _rounded(reed))


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
