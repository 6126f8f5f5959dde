"""The test coupon of a printer, as pieces: what an instrument's middle piece has, at sizes to be gauged.

| piece | what is on it |
|---|---|
| pipe | bore, wall and outside of the instrument's middle piece; holes in pairs at 90 degrees, a hole with a raised seat behind; a collar, shoulder and end to measure lengths by; a tenon with O-ring grooves of several depths |
| sleeve | a plain socket for that tenon; at the other end sockets of several clearances, one in the other |
| steps | bores that widen toward the open end, so that jaws reach them, and outsides that widen toward the bed |

As it stands nothing overhangs by more than 45 degrees or 0.2 mm but grooves and the crowns of holes. Sizes are drawn as
they are: what a printer file says of the printer is left out.
"""  # noqa: E501

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from optimizer.handoff.shapes.impossible import faults_of
from optimizer.handoff.shapes.outline import Outline
from optimizer.handoff.shapes.shape import Drawing, Flat, Hole, Piece, Sizing
from optimizer.project.body import BodySections, bore_ended
from optimizer.project.faults import Fault
from optimizer.project.model import Project
from optimizer.records.coupon import Feature
from optimizer.words import counted

HOLES_MM = (2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 13.0, 16.0)
BORES_MM = (6.0, 10.0, 15.0, 20.0, 30.0)
OUTSIDES_MM = (60.0, 48.0, 40.0, 34.0)
CLEARANCES_MM = (0.10, 0.15, 0.20, 0.25, 0.30)
SQUEEZES_PERCENT = (32.0, 26.0, 20.0, 14.0, 8.0)

WIDEST_SHARE = 0.62
"""Holes are so wide of the bore at the most."""

BESIDE_SHARE = 0.5
"""Two at 90 degrees up to so wide of the bore leave a wall between them; wider ones stand one above the other."""

SIZES_LEAST = 3
APART_MM = 3.0
COLLAR_MM = (10.0, 6.0)
"""Where the collar begins, and how long it is."""

SEAT_SHARE, RIM_MM, RAISED_MM = 0.4, 2.0, 1.0
"""The seat's hole against the bore, its rim's width, how far it stands out."""

LAND_MM, STEP_MM, SOCKET_STEP_MM, CHAMFER_MM = 3.0, 6.0, 8.0, 0.5


class Part(NamedTuple):
    """A thing to gauge: what it is, its mark, its size as drawn [mm], and on which piece how far from its end it is."""

    what: Feature
    where: str
    drawn_mm: float
    piece: str
    z_mm: float


@dataclass(frozen=True)
class CouponPiece(Piece):
    """A piece of the coupon, by a name of its own."""

    called: str = ""

    @property
    def name(self) -> str:
        """What it is called."""
        return self.called

    @property
    def stem(self) -> str:
        """What its files are called; a coupon has one state alone."""
        return self.called


class Coupon(NamedTuple):
    """A coupon: its pieces, what there is to gauge on them, and the cord that its grooves are for, with the clearance
    beside them [mm]."""

    drawing: Drawing
    parts: list[Part]
    cord_mm: float
    beside_mm: float


def coupon_of(project: Project) -> Coupon:
    """The coupon of a project's printer.

    Parameters
    ----------
    project : whose middle piece, joints and printer it follows

    Raises
    ------
    Fault
        where no coupon can be drawn for it
    """
    rules = project.sections or BodySections(joints=(0, 0))
    parts: list[Part] = []
    pipe = _pipe(project, rules, parts)
    pieces = (pipe, _sleeve(rules, 2.0 * _tenon_radius(project, rules), parts), _steps(project, parts))
    problems = [said for piece in pieces for said in faults_of(piece)]
    if problems:
        raise Fault(*problems, heading="no test coupon can be drawn for this")
    drawing = Drawing("test coupon", f"test coupon for {project.instrument.name}", Sizing("printed"), pieces, None)
    return Coupon(drawing, parts, rules.cord_mm, rules.radial_clearance_mm)


def _bore_radius(project: Project) -> float:
    """Bore in the middle of the body [mm]."""
    bore = project.bore
    places, diameters = zip(*bore_ended(bore.points_mm, bore.end_span_mm[1]), strict=True)
    middle = 0.5 * (bore.crook_end_mm + bore.end_span_mm[1])
    return round(0.5 * bore.diameter_scale[0] * float(np.interp(middle, places, diameters)), 2)


def _tenon_radius(project: Project, rules: BodySections) -> float:
    bore, wall = _bore_radius(project), project.bore.wall_mm
    return round(bore + min(rules.tenon_wall_mm, wall), 2)


def _grooves(rules: BodySections) -> list[float]:
    """Depths of the grooves from the shoulder on, deepest last [mm]."""
    return [round(rules.cord_mm * (1.0 - s / 100.0) - rules.radial_clearance_mm, 3) for s in SQUEEZES_PERCENT]


def _piece(
    number: int, called: str, outside: Outline, inside: Outline, holes: Sequence[Hole] = (), flats: Sequence[Flat] = ()
) -> CouponPiece:
    return CouponPiece(
        number=number,
        count=3,
        sizing=Sizing("printed"),
        begin_mm=0.0,
        length_mm=outside[-1][0],
        outside=outside,
        inside=inside,
        socket=None,
        tenon=None,
        down="reed",
        locked=False,
        called=called,
        holes=tuple(holes),
        flats=tuple(flats),
        feet=(),
    )


def _pipe(project: Project, rules: BodySections, parts: list[Part]) -> CouponPiece:
    """The pipe, from its lower end: collar, holes, shoulder, tenon."""
    bore, wall, tenon = _bore_radius(project), project.bore.wall_mm, _tenon_radius(project, rules)
    outside, start = bore + wall, sum(COLLAR_MM) + APART_MM
    holes, shoulder = _holes(bore, outside, start, parts)
    flat = _seat(bore, outside, 0.5 * (start + shoulder), parts)
    line, end = _tenon(rules, tenon, shoulder, parts)
    deepest = max(_grooves(rules))
    narrow = min(bore, tenon - deepest - project.printer.wall_min_mm)
    if narrow <= 0.25 * bore:
        raise Fault(
            f"a tenon {2.0 * tenon:.1f} mm wide has no wall left under grooves {deepest:g} mm deep; take a thinner "
            "cord or a thicker wall",
            heading="no test coupon can be drawn for this",
        )
    inside: Outline = ((0.0, bore), (end, bore))
    if narrow < bore:
        inside = ((0.0, bore), (shoulder - (bore - narrow), bore), (shoulder, narrow), (end, narrow))
    low, high, more = COLLAR_MM[0], sum(COLLAR_MM), min(2.0, COLLAR_MM[0] - 1.0)
    below: Outline = (
        (0.0, outside - CHAMFER_MM), (CHAMFER_MM, outside), (low - more, outside), (low, outside + more),
        (high, outside + more), (high, outside), (shoulder, outside),
    )  # fmt: skip
    parts += [Part("length", f"l{place:.0f}", round(place, 2), "pipe", place) for place in (high, shoulder, end)]
    parts.append(Part("outside", "o-pipe", round(2.0 * outside, 2), "pipe", high + 1.0))
    wide = flat.diameter_mm - 2.0 * RIM_MM
    pierced = Hole("s1", "tone", flat.z_mm, flat.azimuth_deg, bore, flat.top_mm, (wide, wide), (wide, wide))
    return _piece(1, "pipe", (*below, *line), inside, (*holes, pierced), (flat,))


def _holes(bore: float, outside: float, start: float, parts: list[Part]) -> tuple[list[Hole], float]:
    """Holes in pairs, and where the last has left room [mm]."""
    sizes = [size for size in HOLES_MM if size <= WIDEST_SHARE * 2.0 * bore]
    if len(sizes) < SIZES_LEAST:
        raise Fault(
            f"a bore of {2.0 * bore:.1f} mm takes holes of {counted(len(sizes), 'size')}, and a slope needs "
            f"{SIZES_LEAST}",
            heading="no test coupon can be drawn for this",
        )
    place, found = start, []
    for size in sizes:
        place += 0.5 * size
        for mark, azimuth in (("a", 0.0), ("b", 90.0)):
            if mark == "b" and size > BESIDE_SHARE * 2.0 * bore:
                place += size + APART_MM
            name = f"h{size:g}{mark}"
            found.append(Hole(name, "tone", place, azimuth, bore, outside, (size, size), (size, size)))
            parts.append(Part("hole", name, size, "pipe", place))
        place += 0.5 * size + APART_MM
    return found, round(place, 2)


def _seat(bore: float, outside: float, place: float, parts: list[Part]) -> Flat:
    parts.append(Part("seat", "s1", 0.0, "pipe", place))
    wide = SEAT_SHARE * 2.0 * bore + 2.0 * RIM_MM
    return Flat("s1", place, 180.0, wide, outside + RAISED_MM, sunk=False)


def _tenon(rules: BodySections, radius: float, shoulder: float, parts: list[Part]) -> tuple[Outline, float]:
    """The tenon's outside with a groove of each depth, and where it ends [mm]."""
    width, place = rules.groove_width_per_cord * rules.cord_mm, shoulder + LAND_MM
    points = [(shoulder, radius)]
    for number, deep in enumerate(_grooves(rules), start=1):
        points += [
            (place, radius), (place, radius - deep), (place + width, radius - deep), (place + width, radius)
        ]  # fmt: skip
        parts.append(Part("groove", f"g{number}", deep, "pipe", place + 0.5 * width))
        place = round(place + width + LAND_MM, 2)
    parts.append(Part("outside", "o-tenon", round(2.0 * radius, 2), "pipe", place - 0.5 * LAND_MM))
    end = place
    return (*points, (end - CHAMFER_MM, radius), (end, radius - CHAMFER_MM)), end


def _sleeve(rules: BodySections, tenon: float, parts: list[Part]) -> CouponPiece:
    """The sleeve: below a plain socket for the grooves, above it one socket in the other, the widest on top."""
    deep = round(LAND_MM + len(SQUEEZES_PERCENT) * (rules.groove_width_per_cord * rules.cord_mm + LAND_MM), 2)
    inside = [(0.0, 0.5 * tenon + rules.radial_clearance_mm), (deep, 0.5 * tenon + rules.radial_clearance_mm)]
    for number, clearance in enumerate(CLEARANCES_MM):
        place, radius = deep + number * SOCKET_STEP_MM, 0.5 * tenon + clearance
        inside += [(place, radius), (place + SOCKET_STEP_MM, radius)]
        parts.append(Part("clearance", f"c{number + 1}", clearance, "sleeve", place + 0.5 * SOCKET_STEP_MM))
    end, outside = inside[-1][0], 0.5 * tenon + CLEARANCES_MM[-1] + rules.socket_wall_mm
    return _piece(2, "sleeve", ((0.0, outside - CHAMFER_MM), (CHAMFER_MM, outside), (end, outside)), tuple(inside))


def _steps(project: Project, parts: list[Part]) -> CouponPiece:
    """Steps of bore and outside."""
    high = STEP_MM * len(BORES_MM)
    bed = project.printer.diameter_max_mm
    wide = [size for size in OUTSIDES_MM if size <= bed]
    if len(wide) < SIZES_LEAST:
        raise Fault(
            f"the bed takes {bed:.0f} mm across, and the coupon's steps need {OUTSIDES_MM[-SIZES_LEAST]:g}",
            heading="no test coupon can be drawn for this",
        )
    tall = high / len(wide)
    outside: list[tuple[float, float]] = [(0.0, 0.5 * wide[0] - CHAMFER_MM), (CHAMFER_MM, 0.5 * wide[0])]
    for number, size in enumerate(wide):
        low = number * tall if number else CHAMFER_MM
        outside += [(low, 0.5 * size), ((number + 1) * tall, 0.5 * size)]
        parts.append(Part("outside", f"o{size:g}", size, "steps", (number + 0.5) * tall))
    inside: list[tuple[float, float]] = []
    for number, size in enumerate(BORES_MM):
        inside += [(number * STEP_MM, 0.5 * size), ((number + 1) * STEP_MM, 0.5 * size)]
        parts.append(Part("bore", f"b{size:g}", size, "steps", (number + 0.5) * STEP_MM))
    return _piece(3, "steps", tuple(dict.fromkeys(outside)), tuple(inside))
