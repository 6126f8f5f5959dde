"""What the test coupon said of a printer: figures with their intervals, and the sizes that they come from."""

from typing import Literal, TypeAlias

from optimizer.records.files import SCHEMA_VERSION, Record

Feature: TypeAlias = Literal["hole", "bore", "outside", "length", "clearance", "groove", "seat"]
"""What a coupon has: holes through its wall, steps of its bore and outside, faces apart, and what is tried by hand."""

Way: TypeAlias = Literal["round", "along", "around"]
"""How a size is read: as a circle, along the bore or around it."""


class CouponFigure(Record):
    """One figure of a printer: `value` with one standard deviation and the interval that holds it with 95 %.

    name : such as `hole_offset_along`; told : what that is
    """

    name: str
    told: str
    unit: Literal["mm", "%", ""]
    value: float
    sd: float
    low: float
    high: float


class CouponSize(Record):
    """One thing of one print as it was made, beside what was drawn [mm]."""

    print: str
    what: Feature
    where: str
    way: Way
    drawn_mm: float
    made_mm: float


class CouponRecord(Record):
    """All that coupons of one printer said; remarks: what is known less well than it might be, a sentence each."""

    schema_name: Literal["holewright-coupon"] = "holewright-coupon"
    schema_version: str = SCHEMA_VERSION
    source: str
    prints: int
    figures: list[CouponFigure]
    sizes: list[CouponSize]
    remarks: list[str]

    def figure(self, name: str) -> CouponFigure | None:
        """The figure of that name, or None where it could not be told."""
        return next((each for each in self.figures if each.name == name), None)
