"""The `[bends]` table: where a body folds back on itself, and how its tubes then run.

A bend turns the centre line by half a circle, so that the next tube runs back beside the last one. Places stay along
the centre line, and azimuths count alike on every tube: 0 is the front as the player holds it, 90 the player's right.

| quantity | code | unit |
|---|---|---|
| down the instrument from the reed end's level, along the first tube | depth | mm |
| of a tube's axis, toward the front and toward the player's right | front, right | mm |
"""

import math
from collections.abc import Sequence
from typing import Annotated, NamedTuple

from pydantic import Field

from optimizer.project.numbers import Positive, Section

BENDS_MOST = 2
"""Three tubes at the most."""


class Bend(Section):
    """A bend of half a circle: where it begins along the centre line, the radius of its centre line, which is half the
    distance of the tubes' axes, and the azimuth toward which the next tube lies."""

    id: Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9_]*$", max_length=16)]
    at_mm: Annotated[Positive, Field(description="where it begins along the centre line")]
    radius_mm: Annotated[
        Positive, Field(le=500, description="of its centre line: half the distance of the tubes' axes")
    ]
    toward_deg: Annotated[
        float, Field(strict=True, ge=-360, le=360, description="azimuth of the next tube: 0 in front, 90 to the right")
    ]

    @property
    def length_mm(self) -> float:
        """Of its centre line [mm]."""
        return math.pi * self.radius_mm

    @property
    def end_mm(self) -> float:
        """Where it ends along the centre line [mm]."""
        return self.at_mm + self.length_mm


class Tube(NamedTuple):
    """A straight tube [mm]: from where to where along the centre line, the last without an end; 1 where it runs down
    and -1 where it runs up; the depth where it begins; its axis."""

    begin: float
    end: float
    down: int
    depth: float
    front: float
    right: float


def tubes_of(bends: Sequence[Bend]) -> tuple[Tube, ...]:
    """The straight tubes of a body, from the reed."""
    tube = Tube(0.0, math.inf, 1, 0.0, 0.0, 0.0)
    found = []
    for bend in bends:
        found.append(tube._replace(end=bend.at_mm))
        turn = math.radians(bend.toward_deg)
        tube = Tube(
            bend.end_mm,
            math.inf,
            -tube.down,
            tube.depth + tube.down * (bend.at_mm - tube.begin),
            tube.front + 2.0 * bend.radius_mm * math.cos(turn),
            tube.right + 2.0 * bend.radius_mm * math.sin(turn),
        )
    return (*found, tube)


def tube_at(bends: Sequence[Bend], place_mm: float) -> int:
    """Number of the tube that a place along the centre line lies on, from 0; in a bend, of the one before it."""
    return sum(place_mm >= bend.end_mm for bend in bends)


def depth_at(bends: Sequence[Bend], place_mm: float) -> float:
    """How far down the instrument a place along the centre line lies [mm]."""
    number = tube_at(bends, place_mm)
    tube = tubes_of(bends)[number]
    if place_mm <= tube.end:
        return tube.depth + tube.down * (place_mm - tube.begin)
    bend = bends[number]
    within = bend.radius_mm * math.sin((place_mm - bend.at_mm) / bend.radius_mm)
    return tube.depth + tube.down * (tube.end - tube.begin + within)


def depth_span(bends: Sequence[Bend], low_mm: float, high_mm: float) -> tuple[float, float]:
    """Between which depths what lies between two places along the centre line may be [mm]."""
    turning = [middle for bend in bends if low_mm < (middle := 0.5 * (bend.at_mm + bend.end_mm)) < high_mm]
    depths = [depth_at(bends, place) for place in (low_mm, *turning, high_mm)]
    return min(depths), max(depths)


def down_at(bends: Sequence[Bend], place_mm: float) -> int:
    """1 where the centre line runs down at a place along it, -1 where it runs up."""
    return tubes_of(bends)[tube_at(bends, place_mm)].down


def straight_spans(
    bends: Sequence[Bend], low_mm: float, high_mm: float, off_mm: float = 0.0
) -> list[tuple[float, float]]:
    """The parts of a stretch of the centre line that lie on straight tubes, so far off the bends [mm]."""
    tubes, last = tubes_of(bends), len(bends)
    parts = [
        (max(tube.begin + off_mm * (number > 0), low_mm), min(tube.end - off_mm * (number < last), high_mm))
        for number, tube in enumerate(tubes)
    ]
    return [(low, high) for low, high in parts if low < high]
