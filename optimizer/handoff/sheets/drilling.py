"""The drilling sheet: what to do to each hole of a printed piece, from the bell up, and where the tuner is to stop.

| rule | standing |
|---|---|
| drill 0.5 mm below the finished size, then ream | common practice, no source |
| no drill where the print comes out as wide as that | it would not cut |
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

from optimizer.geometry.build import is_lined
from optimizer.handoff.shapes.shape import Drawing, Hole
from optimizer.handoff.sheets.plan import Plan
from optimizer.records.layout import HoleRecord, LayoutRecord
from optimizer.records.tolerance import HoleAdvice
from optimizer.views.table import Column, Table, tabled

DRILL_UNDER_MM = 0.5
ROW_MM = 6.0
TOLD = (
    "Finished sizes, from the piece's reed end, its socket included; from the bell up. Back the wall with a mandrel, "
    "use step or brad-point drills, ream a little and measure often: a hole gets wider, never narrower.",
)


class Drilled(NamedTuple):
    """One hole at the bench: its piece, 0 for the crook, where it is, what it comes out of the printer with, what to
    drill, ream and undercut it to [mm], and the note to listen to, which the layout has so many cents off."""

    piece: int
    hole: str
    z_mm: float
    azimuth_deg: float
    printed_mm: float
    drill_mm: float | None
    finished_mm: float
    tool: str
    undercut_to_mm: float | None
    undercut_depth_mm: float | None
    note: str
    stop_cents: float | None


def drilled(
    finished: Drawing, record: LayoutRecord, printed: LayoutRecord, advice: Mapping[str, HoleAdvice]
) -> list[Drilled]:
    """What to do to each hole, piece by piece, from the bell up.

    Parameters
    ----------
    finished : the pieces in finished sizes
    record : the layout
    printed : the layout as it comes from the printer
    advice : how to ream, by hole; of those without, no note is told
    """
    holes = {hole.id: hole for hole in record.holes}
    prints = {hole.id: hole for hole in printed.holes}
    crook = () if finished.crook is None else finished.crook.holes
    parts = [*((piece.number, piece.holes) for piece in reversed(finished.pieces)), (0, crook)]
    return [
        _drilled(number, hole, holes[hole.id], prints[hole.id], advice.get(hole.id))
        for number, drawn in parts
        for hole in sorted(drawn, key=lambda hole: -hole.z_mm)
    ]


def _drilled(piece: int, drawn: Hole, hole: HoleRecord, made: HoleRecord, advice: HoleAdvice | None) -> Drilled:
    straight, from_print = (min(each.diameter_mm, each.top_diameter_mm) for each in (hole, made))
    lined, drill = is_lined(hole), round(straight - DRILL_UNDER_MM, 2)
    undercut = not lined and hole.diameter_mm > hole.top_diameter_mm
    return Drilled(
        piece, hole.id, drawn.z_mm, drawn.azimuth_deg, from_print,
        drill if drill > from_print and not lined else None,
        straight, _tool(hole),
        hole.diameter_mm if undercut else None, hole.chimney_mm if undercut else None,
        "" if advice is None else advice.note, None if advice is None else advice.reading_cents,
    )  # fmt: skip


def _tool(hole: HoleRecord) -> str:
    """What gives a hole its size, in words."""
    if is_lined(hole):
        return "line: tube" + (f" {hole.tool.called}" if hole.tool is not None else "")
    flared = [f"open to {hole.top_diameter_mm:.2f} at the top"] if hole.top_diameter_mm > hole.diameter_mm else []
    if hole.tool is None:
        return "".join(flared)
    return ", ".join(["as made" if hole.tool.kind == "made" else f"{hole.tool.kind} {hole.tool.called}", *flared])


def drilling_table(rows: list[Drilled]) -> Table:
    """The sheet as a table."""
    columns = [
        Column[Drilled]("piece", lambda row: float(row.piece), ".0f"),
        Column[Drilled]("hole", lambda row: row.hole),
        Column[Drilled]("from_end", lambda row: row.z_mm, ".2f", "mm"),
        Column[Drilled]("azimuth", lambda row: row.azimuth_deg, ".1f", "deg"),
        Column[Drilled]("from_print", lambda row: row.printed_mm, ".2f", "mm"),
        Column[Drilled]("drill", lambda row: row.drill_mm, ".2f", "mm"),
        Column[Drilled]("finished", lambda row: row.finished_mm, ".2f", "mm"),
        Column[Drilled]("tool", lambda row: row.tool or None),
        Column[Drilled]("undercut_to", lambda row: row.undercut_to_mm, ".2f", "mm"),
        Column[Drilled]("undercut_depth", lambda row: row.undercut_depth_mm, ".2f", "mm"),
        Column[Drilled]("listen_to", lambda row: row.note or None),
        Column[Drilled]("stop_at", lambda row: row.stop_cents, "+.1f", "cents"),
    ]
    return tabled("Drilling", columns, rows, notes=TOLD)


WIDE_MM, TOOL_MM = 23.0, 36.0
"""How wide columns are on paper; that of the tool is wider."""


def shown_columns(table: Table) -> Table:
    """The table without columns that say nothing of any hole."""
    kept = [at for at in range(len(table.columns)) if any(row[at] is not None for row in table.rows)]
    rows = [[row[at] for at in kept] for row in table.rows]
    return replace(table, columns=[table.columns[at] for at in kept], rows=rows)


def drilling_plans(table: Table, drawing: Drawing) -> list[Plan]:
    """The table on paper, one for each piece that has holes, and for the crook."""
    parts = [(0, "crook"), *((piece.number, piece.name) for piece in drawing.pieces)]
    return [
        _plan(table, rows, f"drilling-{number}", f"{drawing.instrument}, {name}: drilling sheet")
        for number, name in parts
        if (rows := [[cell.words for cell in row] for row in table.cells() if row[0].words == str(number)])
    ]


def _plan(table: Table, rows: list[list[str]], name: str, title: str) -> Plan:
    plan = Plan(name, title, table.notes)
    widths = [TOOL_MM if column.key == "tool" else WIDE_MM for column in table.columns]
    starts = [sum(widths[:number]) for number in range(len(widths))]
    heads = [[column.key.replace("_", " ") for column in table.columns], [column.unit for column in table.columns]]
    for number, row in enumerate([*heads, *rows]):
        for start, words in zip(starts, row, strict=True):
            plan.text((start, -ROW_MM * number), words, 2.4)
    for number in range(1, len(rows) + 2):
        y = -ROW_MM * number - 1.8
        plan.line("marks" if number > 1 else "outline", (0.0, y), (sum(widths), y))
    return plan
