"""What is not known exactly of an instrument that is printed and played: as its project states it, or as its printer's
tolerance has it."""

from typing import Annotated, Literal

from pydantic import Field

from optimizer.project.numbers import NotNegative, Section
from optimizer.project.printer import PrintedKind, Printer

PRINTED_SIZES = ("hole_diameter_mm", "chimney_mm", "position_mm", "bore_diameter_mm")
"""Deviations that the printer decides."""

Unit = Literal["mm", "%", "degC", "cm3"]
_UNITS: dict[str, Unit] = {"percent": "%", "degC": "degC", "cm3": "cm3"}


def unit_of(kind: str) -> Unit:
    """What a kind of deviation is counted in: what its name ends in."""
    return _UNITS.get(kind.rpartition("_")[2], "mm")


class Uncertainty(Section):
    """One standard deviation of what is not known exactly. Defaults: common practice for printed parts, for drawn tubes
    and for turned or drawn staples, no source. A crook or vent that is printed: state what print comes to."""

    hole_diameter_mm: NotNegative = 0.1
    vent_diameter_mm: Annotated[NotNegative, Field(description="of a vent under a key, taken for a lined tube")] = 0.03
    chimney_mm: NotNegative = 0.15
    position_mm: NotNegative = 0.2
    bore_diameter_mm: Annotated[NotNegative, Field(description="of each printed piece by itself")] = 0.1
    crook_bore_mm: Annotated[NotNegative, Field(description="of the crook, taken for a drawn tube")] = 0.05
    staple_bore_mm: Annotated[NotNegative, Field(description="of the staple, drawn or turned")] = 0.03
    shrinkage_percent: Annotated[NotNegative, Field(le=5, description="of the body, what a coupon left unknown")] = 0.1
    temperature_degC: NotNegative = 1.5
    reed_volume_percent: NotNegative = 5.0
    reed_volume_cm3: Annotated[
        NotNegative, Field(description="of reed volume and compliance together, beside what is a share")
    ] = 0.0
    all_holes_mm: Annotated[
        NotNegative, Field(description="of the diameters of all printed holes alike, what a coupon left unknown")
    ] = 0.0

    def taken_from(self, printer: Printer) -> "Uncertainty":
        """Those not stated here are the printer's, or, of printed sizes, half of its stated tolerance: common practice,
        no source."""
        known = {name: printer.deviations[name] for name in self.from_printer(printer)}
        values = self.model_dump() | dict.fromkeys(self.from_tolerance(printer), printer.tolerance_mm / 2) | known
        return Uncertainty.model_construct(_fields_set=set(self.model_fields_set), **values)

    def from_printer(self, printer: Printer) -> tuple[PrintedKind, ...]:
        """Names of the deviations that `taken_from` took from the printer's coupon."""
        return tuple(name for name in printer.deviations if name not in self.model_fields_set)

    def from_tolerance(self, printer: Printer) -> tuple[str, ...]:
        """Names of the deviations that `taken_from` took from the printer's tolerance."""
        if "tolerance_mm" not in printer.model_fields_set:
            return ()
        known = {*self.model_fields_set, *printer.deviations}
        return tuple(name for name in PRINTED_SIZES if name not in known)
