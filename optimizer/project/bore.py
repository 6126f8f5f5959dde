"""The `[bore]` table: points, and the few named numbers that the search may shape them by.

A number that is given moves the points it governs; what is not given stays as the points have it.

| number | governs |
|---|---|
| `reed_end_diameter_mm` | diameter at the reed end |
| `crook_end_diameter_mm` | diameter where the crook ends and the body begins |
| `crook_half_angle_deg` | taper of the crook, back from its end: how wide it begins, at the staple's end |
| `cone_half_angle_deg` | taper of the body, up to `cones_meet_mm` where the bore has two cones |
| `lower_cone_half_angle_deg` | taper of the body beyond `cones_meet_mm` |
| `bell_length_mm`, `bell_flare_mm` | the bell, and how much wider its end is than the cone carried on |

Limits: a half angle of 0.3 to 3 degrees, and 1 degree from one cone to the next (common practice, no source); what the
points themselves have is never too much. The wall is the same all along, so that the outside follows the bore.
"""

import itertools
import math
from typing import Annotated

import numpy as np
from pydantic import Field, model_validator

from optimizer.project.numbers import NotNegative, Positive, Section, Span

NUMBERS = (
    "reed_end_diameter_mm",
    "crook_end_diameter_mm",
    "crook_half_angle_deg",
    "cone_half_angle_deg",
    "lower_cone_half_angle_deg",
    "bell_length_mm",
    "bell_flare_mm",
)
"""Names of the numbers that shape a bore."""

WIDEST_HALF_ANGLE_DEG = 10.0
"""Beyond it the model of cones does not hold."""

PLAIN = (1.0, 1.0)


class BoreSection(Section):
    """Bore from the reed end: points [position along the centre line, diameter], joined by straight lines, and numbers
    that shape it; see the table of this module."""

    points_mm: Annotated[list[tuple[NotNegative, Positive]], Field(min_length=2, max_length=400)]
    wall_mm: Annotated[float, Field(strict=True, gt=0, le=30)]
    staple_end_mm: Annotated[NotNegative, Field(description="where the staple ends; 0: none is told apart")] = 0.0
    crook_end_mm: Annotated[NotNegative, Field(description="where the crook ends and the body begins")] = 0.0
    crook_wall_mm: Annotated[Positive, Field(le=30, description="of the crook's tube, for its weight")] = 0.8
    crook_density_g_per_cm3: Annotated[
        Positive, Field(le=25.0, description="of the crook: brass 8.5 (handbooks, from memory)")
    ] = 8.5
    water_line_deg: Annotated[
        float, Field(strict=True, ge=-360, le=360, description="azimuth that is lowest as it is held, where water runs")
    ] = 180.0
    water_line_width_deg: Annotated[NotNegative, Field(le=360, description="how wide round the bore that is")] = 40.0
    end_mm: Annotated[
        Span | None,
        Field(description="where the bell may end, the last line carried on at its own taper; default: the last point"),
    ] = None
    diameter_scale: Annotated[Span, Field(description="multiplies every diameter of the bore; 1 leaves them")] = PLAIN
    reed_end_diameter_mm: Annotated[Span | None, Field(description="at the reed end; default: by the points")] = None
    crook_end_diameter_mm: Annotated[
        Span | None, Field(description="where crook and body meet; default: by the points")
    ] = None
    crook_half_angle_deg: Annotated[
        Span | None, Field(description="taper of the crook, back from its end; default: it begins as by the points")
    ] = None
    cone_half_angle_deg: Annotated[
        Span | None, Field(description="taper of the body; default: it ends as by the points")
    ] = None
    cones_meet_mm: Annotated[
        Positive | None, Field(description="where a second cone begins; default: there is one")
    ] = None
    lower_cone_half_angle_deg: Annotated[
        Span | None, Field(description="taper beyond cones_meet_mm; default: it ends as by the points")
    ] = None
    bell_length_mm: Annotated[Span | None, Field(description="of the bell; default: none is told apart")] = None
    bell_flare_mm: Annotated[
        Span | None, Field(description="how much wider the bell ends than the cone carried on")
    ] = None
    reamer: Annotated[
        bool, Field(description="each part one straight cone, as a reamer cuts it, whatever points lie within")
    ] = False
    half_angle_limits_deg: Annotated[
        Span, Field(description="least and greatest half angle of a part that the numbers shape, its bell aside")
    ] = (0.3, 3.0)
    angle_step_max_deg: Annotated[
        Positive, Field(le=20, description="from one cone's half angle to the next one's")
    ] = 1.0

    @model_validator(mode="after")
    def _points_make_a_bore(self) -> "BoreSection":
        positions = [point[0] for point in self.points_mm]
        if positions[0] != 0.0:
            raise ValueError(f"points_mm: the first point must lie at 0, the reed end, but got {positions[0]:g}")
        for number, (before, after) in enumerate(itertools.pairwise(positions), start=2):
            if after < before:
                raise ValueError(
                    f"points_mm: positions must not go back, but point {number} is at {after:g} after {before:g}"
                )
        if positions[-1] <= positions[-2]:
            raise ValueError("points_mm: the last two points must lie apart; the bell end goes on along their line")
        nearest_end = self.end_span_mm[0]
        if self.crook_end_mm >= nearest_end:
            raise ValueError(
                f"crook_end_mm: must lie before the bore's end at {nearest_end:g}, but got {self.crook_end_mm:g}"
            )
        if self.staple_end_mm > self.crook_end_mm > 0.0 or self.staple_end_mm >= nearest_end:
            room = f"within the crook to {self.crook_end_mm:g}" if self.crook_end_mm else f"before {nearest_end:g}"
            raise ValueError(f"staple_end_mm: the staple must end {room}, but got {self.staple_end_mm:g}")
        if self.end_mm is not None and self.end_mm[0] <= positions[-2]:
            raise ValueError(
                f"end_mm: must lie beyond the last but one point at {positions[-2]:g}, but got {self.end_mm[0]:g}"
            )
        (s0, d0), (s1, d1), last = *self.points_mm[-2:], self.end_span_mm[1]
        if d0 + (d1 - d0) * (last - s0) / (s1 - s0) <= 0:
            raise ValueError(f"end_mm: the bore's last line closes before {last:g}; end it sooner, or add a point")
        if not 0.5 <= self.diameter_scale[0] <= self.diameter_scale[1] <= 2.0:
            raise ValueError(f"diameter_scale: must lie between 0.5 and 2, but got {list(self.diameter_scale)}")
        return self

    @property
    def end_span_mm(self) -> tuple[float, float]:
        """Where the bore may end [mm]."""
        last = self.points_mm[-1][0]
        return self.end_mm if self.end_mm is not None else (last, last)

    @property
    def shaped_by(self) -> tuple[str, ...]:
        """Names of the numbers that shape it."""
        return tuple(name for name in NUMBERS if getattr(self, name) is not None)

    @property
    def body_begin_mm(self) -> float:
        """Where the body's own bore begins [mm]: at the crook's end, the staple's, or the reed end."""
        return self.crook_end_mm or self.staple_end_mm

    @model_validator(mode="after")
    def _numbers_shape_a_bore(self) -> "BoreSection":
        if not self.shaped_by:
            return self
        for name in self.shaped_by:
            low, high = getattr(self, name)
            if low < 0 or (low == 0 and ("diameter" in name or "length" in name)):
                least = "at least" if name == "bell_flare_mm" or name.endswith("_deg") else "more than"
                raise ValueError(f"{name}: must be {least} 0, but got {low:g}")
            if name.endswith("_deg") and high > WIDEST_HALF_ANGLE_DEG:
                raise ValueError(
                    f"{name}: must be at most {WIDEST_HALF_ANGLE_DEG:g}, half of the cone, but got {high:g}"
                )
        if self.diameter_scale != PLAIN:
            raise ValueError("diameter_scale: leave it out where numbers shape the bore")
        if any(before == after for (before, _), (after, _) in itertools.pairwise(self.points_mm)):
            raise ValueError("points_mm: a bore that numbers shape has no step; part the two points at one place")
        if self.body_begin_mm >= self.points_mm[-1][0]:
            raise ValueError(f"points_mm: numbers shape a bore whose points reach beyond {self.body_begin_mm:g}")
        self._crook_is_one()
        self._cones_meet()
        self._bell_has_room()
        return self

    def _crook_is_one(self) -> None:
        """Numbers of the crook stand where there is one, and leave it open at its reed end."""
        of_crook = [name for name in self.shaped_by if name.startswith("crook")]
        if of_crook and not self.crook_end_mm:
            raise ValueError(f"{of_crook[0]}: there is no crook; say where it ends by crook_end_mm")
        if self.crook_half_angle_deg is None:
            return
        if self.reed_end_diameter_mm is not None and not self.staple_end_mm:
            raise ValueError("crook_half_angle_deg: the crook begins at reed_end_diameter_mm already; leave one out")
        end = self.crook_end_diameter_mm or (self.table_diameter(self.crook_end_mm),) * 2
        length, angle = self.crook_end_mm - self.staple_end_mm, self.crook_half_angle_deg[1]
        if end[0] <= 2.0 * length * math.tan(math.radians(angle)):
            raise ValueError(
                f"crook_half_angle_deg: {angle:g} over {length:g} mm closes a crook that ends {end[0]:g} mm wide"
            )

    def _cones_meet(self) -> None:
        """A second cone begins within the body."""
        meet = self.cones_meet_mm
        if meet is None:
            if self.lower_cone_half_angle_deg is not None:
                raise ValueError("lower_cone_half_angle_deg: say where the second cone begins by cones_meet_mm")
            return
        end = min(self.end_span_mm[0], self.points_mm[-1][0])
        if not self.body_begin_mm < meet < end:
            raise ValueError(f"cones_meet_mm: must lie between {self.body_begin_mm:g} and {end:g}, but got {meet:g}")

    def _bell_has_room(self) -> None:
        """The bell lies on the bore's last line."""
        if (self.bell_length_mm is None) != (self.bell_flare_mm is None):
            lacking = "bell_length_mm" if self.bell_length_mm is None else "bell_flare_mm"
            raise ValueError(f"{lacking}: a bell has bell_length_mm and bell_flare_mm; give both")
        if self.bell_length_mm is None:
            return
        within = 0.0 if self.reamer else self.points_mm[-2][0]
        before = max(within, self.body_begin_mm, self.cones_meet_mm or 0.0)
        room = self.end_span_mm[0] - before
        if self.bell_length_mm[1] >= room:
            raise ValueError(
                f"bell_length_mm: must be less than {room:g}, the bore's last line from {before:g}, but reaches to "
                f"{self.bell_length_mm[1]:g}"
            )

    def table_diameter(self, place_mm: float) -> float:
        """Diameter by the points [mm] at a place [mm]."""
        return float(np.interp(place_mm, *np.array(self.points_mm).T))
