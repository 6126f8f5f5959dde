"""What fits of a coupon's clearances and grooves, tried by hand: the middle of those that do, and how surely.

Where something begins to fit lies anywhere between the last that is tight and the first that fits, as likely at one
place as at another; where it ends, between the last that fits and the first that is loose.
"""

import math
from collections.abc import Mapping
from typing import NamedTuple

from optimizer.prototype.coupon_lines import Estimate, Line
from optimizer.prototype.coupon_readings import CouponReadings
from optimizer.records.coupon import CouponFigure
from optimizer.words import listed

NORMAL_95 = 1.96
CORD, BESIDE = "cord_mm", "groove_clearance_mm"
"""Remarks of a table: the cord in the grooves, and the clearance that is drawn beside them."""


class Fitting(NamedTuple):
    """What fits in the mean of all prints, as drawn, and one deviation of it [mm]."""

    middle: float
    sd: float


def tried_figures(readings: CouponReadings, steps: Line | None) -> tuple[list[CouponFigure], list[str]]:
    """Clearance and squeeze that fitted, and remarks.

    Parameters
    ----------
    readings : with what was tried
    steps : the line of outside and bore, by which drawn gaps become those made; None where it is not known
    """
    figures: list[CouponFigure] = []
    remarks: list[str] = []
    clearance = _fitting(readings, "clearance", remarks)
    groove = _fitting(readings, "groove", remarks)
    if (clearance or groove) and steps is None:
        remarks.append("bore and outside steps were not both read: what was tried counts as drawn")
    if clearance is not None:
        middle, sd = _gap_made(clearance.middle, steps)
        figures.append(_figure("clearance", "radial clearance that fits", "mm", middle, math.hypot(clearance.sd, sd)))
    cord, beside = (_number(readings.remarks, name) for name in (CORD, BESIDE))
    if groove is not None and cord is not None and beside is not None:
        gap, sd = _gap_made(beside, steps)
        deep = groove.middle * (steps.coefficients[-1].value if steps else 1.0)
        squeeze = 100.0 * (1.0 - (deep + gap) / cord)
        figures.append(
            _figure("squeeze", "squeeze of the cord that fits", "%", squeeze, 100.0 * math.hypot(groove.sd, sd) / cord)
        )
    elif groove is not None:
        remarks.append(f"grooves say nothing without the lines `# {CORD} = ...` and `# {BESIDE} = ...` of the table")
    return figures, remarks


def _gap_made(drawn_mm: float, steps: Line | None) -> tuple[float, float]:
    """A radial gap between bore and outside as made, and one deviation of what the offsets add [mm]."""
    if steps is None:
        return drawn_mm, 0.0
    outside, bore, slope = (each.value for each in steps.coefficients)
    (a, c), (_, b) = steps.covariance[:2, :2]
    return slope * drawn_mm + 0.5 * (bore - outside), 0.5 * math.sqrt(a + b - 2.0 * c)


def _figure(name: str, told: str, unit: str, value: float, sd: float) -> CouponFigure:
    found = Estimate(value, sd, value - NORMAL_95 * sd, value + NORMAL_95 * sd)
    value, sd, low, high = (round(each, 6) for each in found)
    return CouponFigure(name=name, told=told, unit=unit, value=value, sd=sd, low=low, high=high)  # type: ignore[arg-type]


def _fitting(readings: CouponReadings, what: str, remarks: list[str]) -> Fitting | None:
    """What fits, over all prints that have any."""
    found = []
    for name in readings.prints:
        tried = {
            thing.drawn_mm: word for thing, word in readings.tried.items() if (thing.print, thing.what) == (name, what)
        }
        fits = _middle(f"{what} of print {name}", tried, remarks) if tried else None
        if fits is not None:
            found.append(fits)
    if not found:
        return None
    middle = sum(each.middle for each in found) / len(found)
    apart = sum((each.middle - middle) ** 2 for each in found) / max(len(found) - 1, 1)
    own = sum(each.sd**2 for each in found) / len(found)
    return Fitting(middle, math.sqrt(max(apart, own) / len(found)))


def _middle(called: str, tried: Mapping[float, str], remarks: list[str]) -> Fitting | None:
    """The middle of what fits in one print; None, with a remark, where nothing does or the verdicts contradict."""
    sizes = {word: sorted(size for size, said in tried.items() if said == word) for word in ("tight", "fits", "loose")}
    if not sizes["fits"]:
        remarks.append(f"{called}: none fits")
        return None
    least, most = sizes["fits"][0], sizes["fits"][-1]
    if (sizes["tight"] and sizes["tight"][-1] > least) or (sizes["loose"] and sizes["loose"][0] < most):
        remarks.append(f"{called}: a wider one is tighter than one that fits, or a narrower one looser; try again")
        return None
    open_ends = [word for word in ("tight", "loose") if not sizes[word]]
    if open_ends:
        remarks.append(f"{called}: none is {listed(open_ends)}, so that more may fit than was drawn")
    low = sizes["tight"][-1] if sizes["tight"] else least
    high = sizes["loose"][0] if sizes["loose"] else most
    sd = 0.5 * math.hypot(least - low, high - most) / math.sqrt(12.0)
    return Fitting(0.25 * (low + least + most + high), sd)


def _number(remarks: Mapping[str, str], name: str) -> float | None:
    try:
        value = float(remarks[name])
    except (KeyError, ValueError):
        return None
    return value if value > 0.0 else None
