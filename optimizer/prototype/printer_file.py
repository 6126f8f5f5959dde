"""The printer file that coupons make: figures of a printer, each with its deviation beside it."""

import math

import tomlkit
from tomlkit.items import Table

from optimizer.project.faults import Fault
from optimizer.project.printer import PrintedKind, Printer
from optimizer.records.coupon import CouponFigure, CouponRecord
from optimizer.words import counted

FACED_SD = 2.0
"""Facing is enough for all seats but those so many deviations above the mean."""

FREE_MM = "radial_clearance_mm"


def learned_printer(record: CouponRecord, base: Printer, name: str | None = None) -> tuple[Printer, list[str]]:
    """A printer as its coupons tell it, and remarks.

    Parameters
    ----------
    record : what they say
    base : the printer with its bed, nozzle and walls, and with what no coupon told
    name : of the printer; default: the base's

    Raises
    ------
    Fault
        where what they say makes no printer
    """
    remarks: list[str] = []
    told: dict[str, object] = {
        "name": name or base.name.replace("(estimate)", "(by its coupon)"),
        "source": f"{counted(record.prints, 'print')} of the test coupon, {record.source}",
        **_offsets(record),
        **_tried(record),
        "shrinkage_percent": _shrinkage(record, base, remarks),
        "deviations": dict(base.deviations) | _deviations(record),
    }
    for key, value in told.items():
        field = Printer.model_fields[key]
        if isinstance(value, float) and not _allowed(field.metadata, value):
            raise Fault(f"{key} would be {value:g}, which no printer has; are the readings of this coupon?")
    return Printer.model_validate(base.model_dump(exclude_unset=True) | told), remarks


def _allowed(limits: list[object], value: float) -> bool:
    """Whether a value keeps to the limits of its field."""
    least = max((each.ge for each in limits if hasattr(each, "ge")), default=-math.inf)
    most = min((each.le for each in limits if hasattr(each, "le")), default=math.inf)
    return bool(least <= value <= most)


def _offsets(record: CouponRecord) -> dict[str, float]:
    """What holes, bores and outsides lack of what is drawn [mm]."""
    told: dict[str, float] = {}
    offset, slope = record.figure("hole_offset_round"), record.figure("hole_slope_round")
    if offset is not None and slope is not None:
        told["hole_undersize_mm"] = round(-offset.value / slope.value, 4)
        told["hole_slope"] = round(slope.value, 5)
    oval, across = record.figure("hole_oval"), record.figure("shrinkage_across")
    if oval is not None:
        told["hole_oval_mm"] = round(oval.value, 4)
    for what in ("bore", "outside"):
        lacks = record.figure(f"{what}_offset")
        if lacks is not None and across is not None:
            told[f"{what}_undersize_mm"] = round(-lacks.value / (1.0 - max(across.value, 0.0) / 100.0), 4)
    return told


def _tried(record: CouponRecord) -> dict[str, float]:
    """What fitted and sealed."""
    told = {}
    for name, key in (("clearance", FREE_MM), ("squeeze", "cord_squeeze_percent")):
        figure = record.figure(name)
        if figure is not None:
            told[key] = round(figure.value, 3)
    facing, scatter = record.figure("facing"), record.figure("facing_scatter")
    if facing is not None and scatter is not None:
        told["facing_mm"] = round(facing.value + FACED_SD * scatter.value, 2)
    return told


def _shrinkage(record: CouponRecord, base: Printer, remarks: list[str]) -> list[float]:
    """By how much a print is smaller along x, y and z [%]."""
    found = {way: record.figure(f"shrinkage_{way}") for way in ("along", "across")}
    shrinks = list(base.shrinkage_percent)
    for axis in range(3):
        way = "along" if axis == base.along_axis else "across"
        figure = found[way]
        if figure is not None:
            shrinks[axis] = round(max(figure.value, 0.0), 4)
    for way, figure in found.items():
        if figure is None:
            remarks.append(f"nothing was told of shrinkage {way} the bore: it stays as {base.name} has it")
        elif figure.value < 0.0:
            remarks.append(f"shrinkage {way} the bore came out as {figure.value:.2f} %, and is taken for none")
    return shrinks


def _deviations(record: CouponRecord) -> dict[PrintedKind, float]:
    """One standard deviation of what each hole and each piece does by itself, and of what is left open of all."""
    along, known = record.figure("shrinkage_along"), record.figure("hole_known")
    found: dict[PrintedKind, float | None] = {
        "hole_diameter_mm": _value(record.figure("hole_scatter_round")),
        "all_holes_mm": _value(known),
        "bore_diameter_mm": _of_the_bore(record),
        "shrinkage_percent": along.sd if along is not None else None,
    }
    return {kind: round(value, 4) for kind, value in found.items() if value is not None}


def _of_the_bore(record: CouponRecord) -> float | None:
    """Of a piece's bore: of its place, of its print, and of what is left open of the offset."""
    offset, scatter = record.figure("bore_offset"), record.figure("step_scatter")
    if offset is None or scatter is None:
        return None
    return math.hypot(offset.sd, scatter.value, _value(record.figure("step_scatter_of_prints")) or 0.0)


def _value(figure: CouponFigure | None) -> float | None:
    return None if figure is None else figure.value


BESIDE = {
    "hole_undersize_mm": "hole_offset_round",
    "hole_slope": "hole_slope_round",
    "hole_oval_mm": "hole_oval",
    "bore_undersize_mm": "bore_offset",
    "outside_undersize_mm": "outside_offset",
    FREE_MM: "clearance",
    "cord_squeeze_percent": "squeeze",
    "facing_mm": "facing",
}
"""The figure whose deviation is told beside a key."""


def printer_toml(printer: Printer, record: CouponRecord) -> str:
    """TOML text of a printer that coupons told, one standard deviation beside each of their figures."""
    document = tomlkit.document()
    document.add(tomlkit.comment(f"A printer as {counted(record.prints, 'print')} of the test coupon told it."))
    for line in record.remarks:
        document.add(tomlkit.comment(line))
    for key in (key for key in Printer.model_fields if key in printer.model_fields_set):
        value = getattr(printer, key)
        figure = record.figure(BESIDE[key]) if key in BESIDE else None
        if value is None or key == "deviations":
            continue
        document.add(key, tomlkit.item(list(value) if isinstance(value, tuple) else value))
        if figure is not None:
            document[key].comment(f"+- {figure.sd:.3g}, one standard deviation")
    if printer.deviations:
        document.add("deviations", _table(printer))
    return tomlkit.dumps(document)


def _table(printer: Printer) -> Table:
    table = tomlkit.table()
    table.comment("one standard deviation of each, for [uncertainty] where a project states none")
    for kind, value in printer.deviations.items():
        table.add(kind, value)
    return table
