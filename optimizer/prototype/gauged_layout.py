"""Gauge readings of the instrument of a layout: what it should have, what was read, a sheet to fill in at the bench."""

from collections.abc import Iterator
from pathlib import Path

from optimizer.prototype.gauge_readings import READINGS, Drawn, Thing, read_gauges
from optimizer.prototype.measured_table import table_text
from optimizer.records.gauge import GaugedRecord
from optimizer.records.layout import LayoutRecord

BELL = "bell"


def drawn_of(record: LayoutRecord) -> Drawn:
    """What a layout has of all that can be gauged."""
    sizes: dict[Thing, float] = {("length", BELL): record.bore.points_mm[-1][0]}
    for hole in record.holes:
        sizes["hole", hole.id], sizes["hole_top", hole.id] = hole.diameter_mm, hole.top_diameter_mm
        sizes["chimney", hole.id], sizes["position", hole.id] = hole.chimney_mm, hole.position_mm
    return Drawn(sizes, record.bore.points_mm)


def gauged(record: LayoutRecord, readings: Path) -> GaugedRecord:
    """What gauges said of the instrument of a layout.

    Parameters
    ----------
    record : the layout
    readings : path of the table of readings

    Raises
    ------
    TableError
        with everything that is wrong with the table
    """
    values, remarks = read_gauges(readings, drawn_of(record))
    return GaugedRecord(instrument=record.instrument, layout=record.id, values=values, remarks=remarks)


def sheet(record: LayoutRecord) -> str:
    """A table of readings to fill in: every hole, the bore where it bends and where pieces end, the length."""
    headers = [each.header for each in READINGS]
    remarks = (
        f"{record.instrument}, layout {record.id}: fill in what was read, in mm, and cut the lines that were not",
        *(f"{each.header}: {each.told}" + (f" ({', '.join(each.words)})" if each.words else "") for each in READINGS),
    )
    return table_text(headers, ([*each, *[""] * (len(headers) - 2)] for each in _to_gauge(record)), remarks)


def _to_gauge(record: LayoutRecord) -> Iterator[Thing]:
    yield from (("hole", hole.id) for hole in record.holes)
    places = {place for place, _ in record.bore.points_mm} | {piece.to_mm for piece in record.pieces}
    yield from (("bore", f"{place:g}") for place in sorted(places))
    yield "length", BELL
