"""A layout's body as tables: pieces and joints with how printing was allowed for, and fittings. Reads records only."""

from collections.abc import Sequence
from dataclasses import replace

from optimizer.records.layout import LayoutRecord
from optimizer.records.pieces import JointRecord, PieceRecord, PrintingRecord, without_holes
from optimizer.views.body_words import fittings_table
from optimizer.views.table import Cell, Column, Table, tabled


def pieces_table(pieces: Sequence[PieceRecord]) -> Table:
    """Where the body's pieces lie, their finished sizes, and the length to print."""
    columns: list[Column[tuple[int, PieceRecord]]] = [
        Column("piece", lambda row: f"{row[0]} locked" if row[1].locked else row[0], "d"),
        Column("from", lambda row: row[1].from_mm, ".2f"),
        Column("to", lambda row: row[1].to_mm, ".2f"),
        Column("length", lambda row: row[1].length_mm, ".2f"),
        Column("widest", lambda row: row[1].diameter_mm, ".2f"),
        Column("print length", lambda row: _print_length(row[1]), ".2f"),
        Column("holes", lambda row: ", ".join(row[1].holes) or Cell("none", "warn"), wraps=True),
    ]
    said = "mm, from the reed; a joint lies half on either side of where two meet"
    return tabled("Pieces", columns, enumerate(pieces, start=1), said)


def _print_length(piece: PieceRecord) -> str | float | None:
    return "made" if piece.locked else None if piece.to_print is None else piece.to_print.length_mm


def joints_table(joints: Sequence[JointRecord]) -> Table:
    """Sizes of tenon and socket, and how they seal."""
    columns: list[Column[tuple[int, JointRecord]]] = [
        Column("joint", lambda row: f"{row[0]} locked" if row[1].locked else row[0], "d"),
        Column("middle", lambda row: row[1].at_mm, ".2f"),
        Column("length", lambda row: row[1].length_mm, ".2f"),
        Column("bore", lambda row: row[1].bore_diameter_mm, ".2f"),
        Column("tenon", lambda row: row[1].tenon_diameter_mm, ".2f"),
        Column("tenon wall", lambda row: row[1].tenon_wall_mm, ".2f"),
        Column("socket", lambda row: row[1].socket_diameter_mm, ".2f"),
        Column("socket wall", lambda row: row[1].socket_wall_mm, ".2f"),
        Column("outside", lambda row: row[1].socket_outer_diameter_mm, ".2f"),
        Column("socket stands out", lambda row: row[1].ring_mm, ".2f"),
        Column("groove floor", lambda row: row[1].groove_diameter_mm, ".2f"),
    ]
    if any(joint.o_ring for joint in joints):
        columns.append(Column("O-ring", lambda row: row[1].o_ring))
    notes = [_seal(joints[0]), "each joint may leak: blow into the body with every hole shut before playing"]
    return tabled("Joints", columns, enumerate(joints, start=1), "mm, finished; tenon on the reed side", notes)


def body_tables(record: LayoutRecord) -> list[Table]:
    """Pieces and joints with how printing was allowed for, not of a body in one piece; fittings."""
    fittings = [fittings_table(record.fittings)] if record.fittings else []
    if not record.pieces:
        return fittings
    joints = [piece.joint for piece in record.pieces if piece.joint is not None]
    pieces = pieces_table(record.pieces)
    pieces = replace(pieces, notes=[*pieces.notes, *without_holes(record.pieces, record.printing)])
    tables = [pieces, *([joints_table(joints)] if joints else [])]
    if record.printing is not None:
        said = _printed(record.printing, joints)
        tables[-1] = replace(tables[-1], notes=[*tables[-1].notes, said])
    return [*tables, *fittings]


def _seal(joint: JointRecord) -> str:
    if joint.seal == "lapping":
        return f"tenons lapped with thread, {joint.radial_clearance_mm:g} mm free all round"
    return (
        f"{joint.grooves} O-rings on each tenon, grooves {joint.groove_width_mm:g} mm wide and "
        f"{joint.groove_depth_mm:g} deep, {joint.radial_clearance_mm:g} mm free all round"
    )


def _printed(printing: PrintingRecord, joints: Sequence[JointRecord]) -> str:
    larger = f"x {printing.factor_along:.5f} along and x {printing.factor_across:.5f} across for shrinkage"
    said = (
        f"{printing.printer}, {printing.orientation}: all tables give finished sizes, to drill and gauge by. "
        f"`to_print` in the layout's file is larger already, {larger}, its holes "
        f"{printing.hole_undersize_mm:g} mm wider: do not scale it again; tolerance +-{printing.tolerance_mm:g} mm"
    )
    if any(joint.radial_clearance_mm < printing.tolerance_mm for joint in joints):
        said += ", more than a joint has free: print a coupon of one joint first and lap it to fit"
    return said
