"""The `[printer]` table: what fits on the bed, how far a print differs from its drawing, and how thin it may be.

| figure | standing |
|---|---|
| bed 220 x 220 x 250 mm, 10 mm less on each axis | common practice: sizes from 220 to 350 mm; 5 to 10 mm less usable |
| tolerance 0.3 mm | makers' design guides for filament printing, below 100 mm; resin 0.1, sintered nylon 0.2 |
| holes 0.2 mm undersize | the same guides: 0.1 to 0.3 |
| walls from 1.2 mm | the same guides, with a 0.4 mm nozzle; airtight tubes 3 to 4 mm, common practice |
| density 1.24 g/cm3 | PLA, data-sheet value, from memory |
| shrinkage 0 | no figure holds for all plastics and slicers: print a coupon, measure it cold |
| standing | common practice: a lying bore comes out oval and holds supports |
| offsets, oval, clearance, squeeze, facing, deviations | a coupon's alone: none without one |
"""

from typing import Annotated, Any, Literal, Protocol

from pydantic import BeforeValidator, Field, model_validator

from optimizer.project.numbers import NotNegative, Positive, Section

AXES = "xyz"
DENSITY_G_PER_CM3 = 1.24
"""PLA, data-sheet value, from memory."""

Axes = tuple[float, float, float]

PrintedKind = Literal[
    "hole_diameter_mm", "chimney_mm", "position_mm", "bore_diameter_mm", "shrinkage_percent", "all_holes_mm"
]
"""Kinds of `Uncertainty` that a coupon may tell of its printer."""

Offset = Annotated[float, Field(strict=True, ge=-2.0, le=2.0)]
"""What a printed size lacks [mm]; less than 0 where it comes out too large."""


def _three(value: Any) -> Any:
    """Figures along x, y and z; a single number holds for all three."""
    items = list(value) if isinstance(value, list | tuple) else [value] * 3
    sound = all(isinstance(item, int | float) and not isinstance(item, bool) for item in items)
    if len(items) != 3 or not sound:
        raise ValueError(f"must be one number or [x, y, z], but got {value!r}")
    if min(items) < 0:
        raise ValueError(f"must be at least 0 on every axis, but got {value!r}")
    return tuple(map(float, items))


EachAxis = Annotated[Axes, BeforeValidator(_three)]


def usable_mm(bed_mm: Axes, margin_mm: Axes) -> Axes:
    """The bed less its margins [mm]."""
    x, y, z = (bed - margin for bed, margin in zip(bed_mm, margin_mm, strict=True))
    return x, y, z


def axis_along(orientation: str, usable: Axes) -> int:
    """Which axis of a printer the bore lies along; of a lying piece the one with more room."""
    if orientation == "standing":
        return 2
    return 0 if usable[0] >= usable[1] else 1


class OfHoles(Protocol):
    """What a printer does to holes."""

    @property
    def factor_along(self) -> float: ...  # noqa: D102
    @property
    def factor_across(self) -> float: ...  # noqa: D102
    @property
    def hole_undersize_mm(self) -> float: ...  # noqa: D102
    @property
    def hole_oval_mm(self) -> float: ...  # noqa: D102
    @property
    def hole_slope(self) -> float | None: ...  # noqa: D102


def hole_drawn(printer: OfHoles, finished_mm: float) -> tuple[float, float]:
    """A hole's diameter as it goes to the printer, along the bore and around it [mm]."""
    along, across = printer.factor_along, printer.factor_across
    if printer.hole_slope is not None:
        along = across = 1.0 / printer.hole_slope
    more, half = printer.hole_undersize_mm, 0.5 * printer.hole_oval_mm
    return finished_mm * along + more - half, finished_mm * across + more + half


class Printer(Section):
    """A printer and its material. Defaults: see the table of this module; all are to be replaced by a coupon's."""

    name: Annotated[str, Field(min_length=1, max_length=80)] = "a common bed (assumed)"
    source: str = "smallest common size, common practice; measure yours"
    bed_mm: Annotated[EachAxis, Field(description="width, depth and height that can be printed")] = (
        220.0,
        220.0,
        250.0,
    )
    margin_mm: Annotated[EachAxis, Field(description="what each axis loses of that")] = (10.0, 10.0, 10.0)
    orientation: Annotated[
        Literal["standing", "lying"], Field(description="the bore along z, or along the longer of x and y")
    ] = "standing"
    tolerance_mm: Annotated[NotNegative, Field(description="how far a cold part may be off, either way")] = 0.3
    shrinkage_percent: Annotated[
        EachAxis, Field(description="by how much a cold part is smaller than what was printed, one number or [x, y, z]")
    ] = (0.0, 0.0, 0.0)
    hole_undersize_mm: Annotated[Offset, Field(description="what a tone hole lacks, shrinkage aside")] = 0.2
    hole_oval_mm: Annotated[
        Offset, Field(description="how much longer along the bore than around it a hole comes out")
    ] = 0.0
    hole_slope: Annotated[
        float | None,
        Field(strict=True, ge=0.9, le=1.1, description="made over drawn of a hole; default: it shrinks as the rest"),
    ] = None
    bore_undersize_mm: Annotated[Offset, Field(description="what a bore or socket lacks, shrinkage aside")] = 0.0
    outside_undersize_mm: Annotated[Offset, Field(description="what a body or tenon lacks, shrinkage aside")] = 0.0
    radial_clearance_mm: Annotated[
        NotNegative | None, Field(description="that fitted, where [sections] states none")
    ] = None
    cord_squeeze_percent: Annotated[
        float | None, Field(strict=True, ge=5, le=40, description="that fitted, where [sections] states none")
    ] = None
    facing_mm: Annotated[NotNegative, Field(le=2.0, description="what a seat needs to be faced by")] = 0.0
    deviations: Annotated[
        dict[PrintedKind, NotNegative],
        Field(description="one standard deviation of each, by a coupon, where [uncertainty] states none"),
    ] = Field(default_factory=dict)
    nozzle_mm: Positive = 0.4
    layer_mm: Positive = 0.2
    wall_min_mm: Annotated[Positive, Field(description="thinnest wall that holds")] = 1.2
    density_g_per_cm3: Annotated[Positive, Field(le=25.0, description="of the print, solid: PLA by default")] = (
        DENSITY_G_PER_CM3
    )

    @model_validator(mode="after")
    def _figures_make_a_printer(self) -> "Printer":
        for axis, bed, margin in zip(AXES, self.bed_mm, self.margin_mm, strict=True):
            if bed <= margin:
                raise ValueError(f"bed_mm: must be more than the margin of {margin:g} along {axis}, but got {bed:g}")
        if max(self.shrinkage_percent) > 10.0:
            raise ValueError(f"shrinkage_percent: must be at most 10, but got {max(self.shrinkage_percent):g}")
        first, second = (axis for axis in range(3) if axis != self.along_axis)
        shrinks = self.shrinkage_percent[first], self.shrinkage_percent[second]
        if shrinks[0] != shrinks[1]:
            raise ValueError(
                f"shrinkage_percent: a round bore needs the same along {AXES[first]} and {AXES[second]} when printed "
                f"{self.orientation}, but got {shrinks[0]:g} and {shrinks[1]:g}; calibrate the printer first"
            )
        if self.wall_min_mm < self.nozzle_mm:
            raise ValueError(
                f"wall_min_mm: must be at least the nozzle's {self.nozzle_mm:g}, but got {self.wall_min_mm:g}"
            )
        return self

    @property
    def along_axis(self) -> int:
        """Which axis of the printer the bore lies along."""
        return axis_along(self.orientation, self.usable_mm)

    @property
    def usable_mm(self) -> Axes:
        """The bed less its margins [mm]."""
        return usable_mm(self.bed_mm, self.margin_mm)

    @property
    def factor_along(self) -> float:
        """Printed over finished length, along the bore."""
        return 1.0 / (1.0 - self.shrinkage_percent[self.along_axis] / 100.0)

    @property
    def factor_across(self) -> float:
        """Printed over finished diameter, across the bore."""
        return 1.0 / (1.0 - self.shrinkage_percent[0 if self.along_axis else 1] / 100.0)

    @property
    def piece_max_mm(self) -> float:
        """Longest finished piece that the bed holds as it is printed [mm]."""
        return self.usable_mm[self.along_axis] / self.factor_along

    @property
    def diameter_max_mm(self) -> float:
        """Widest finished piece that the bed holds [mm]."""
        across = min(usable for axis, usable in enumerate(self.usable_mm) if axis != self.along_axis)
        return across / self.factor_across
