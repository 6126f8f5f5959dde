"""What was gauged of an instrument, beside what its layout has."""

from collections.abc import Sequence

from optimizer.records.gauge import GaugedRecord, GaugedValue
from optimizer.views.table import Column, Table, tabled

GAUGED: Sequence[Column[GaugedValue]] = [
    Column("what", lambda value: value.what.replace("_", " ")),
    Column("where", lambda value: value.where),
    Column("size", lambda value: value.value_mm, ".2f"),
    Column("+-", lambda value: value.sd_mm, ".3f", heading="size +-"),
    Column("drawn", lambda value: value.drawn_mm, ".2f"),
    Column("off", lambda value: None if value.drawn_mm is None else value.value_mm - value.drawn_mm, "+z.2f"),
    Column("readings", lambda value: value.readings, "d"),
    Column("scatter", lambda value: value.scatter_mm, ".3f"),
    Column("oval", lambda value: value.oval_mm, "+z.2f"),
    Column("tools", lambda value: ", ".join(value.tools), wraps=True),
]


def gauged_table(record: GaugedRecord) -> Table:
    """Every size that was gauged."""
    said = "+-: one standard deviation of the size; scatter: of a single reading; oval: along less around"
    return tabled("Gauged", GAUGED, record.values, "mm", [said, *record.remarks])
