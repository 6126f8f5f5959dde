"""What coupons told of their printer."""

from collections.abc import Sequence

from optimizer.records.coupon import CouponFigure, CouponRecord
from optimizer.views.table import Column, Table, tabled

FIGURES: Sequence[Column[CouponFigure]] = [
    Column("figure", lambda figure: figure.told),
    Column("value", lambda figure: figure.value, ".4g", right=True),
    Column("unit", lambda figure: figure.unit),
    Column("+-", lambda figure: figure.sd, ".2g"),
    Column("from", lambda figure: figure.low, ".4g"),
    Column("to", lambda figure: figure.high, ".4g"),
]

UNTOLD = ("hole_known",)
"""Figures for the file alone."""


def coupon_table(record: CouponRecord, remarks: Sequence[str] = ()) -> Table:
    """Every figure with its deviation and interval; remarks: further ones."""
    said = "+-: one standard deviation; from, to: the interval that holds it with 95 %; scatter: reading taken off"
    told = [figure for figure in record.figures if figure.name not in UNTOLD]
    heading = f"Printer by {record.prints} {'print' if record.prints == 1 else 'prints'} of the test coupon"
    return tabled(heading, FIGURES, told, record.source, [said, *record.remarks, *remarks])
