"""What gauges said of an instrument that is made: sizes with their deviations."""

from typing import Literal, TypeAlias

from optimizer.records.files import SCHEMA_VERSION, Record

Measure: TypeAlias = Literal["hole", "hole_top", "chimney", "position", "bore", "length"]


class GaugedValue(Record):
    """One size.

    what : `hole` and `hole_top` its diameters at the bore and at the top, `chimney` its height, `position` from the
    reed end; `bore` a diameter of the bore; `length` from the reed end to the bell
    where : the hole, the place from the reed end [mm], or `bell`
    value_mm, sd_mm : mean of its readings, and one standard deviation of that: of the tools, and of their scatter
    readings, scatter_mm : how many, and one standard deviation of a single one; null of one alone and of pins
    oval_mm : along less around, where both were read
    drawn_mm : what the layout has there
    """

    what: Measure
    where: str
    value_mm: float
    sd_mm: float
    readings: int
    scatter_mm: float | None = None
    oval_mm: float | None = None
    tools: list[str]
    drawn_mm: float | None = None


class GaugedRecord(Record):
    """All that was gauged of one instrument; remarks: tools that do not agree, a sentence each."""

    schema_name: Literal["holewright-gauged"] = "holewright-gauged"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    layout: str
    values: list[GaugedValue]
    remarks: list[str]
