"""Every figure of a layout's pieces as tables, and the tables as CSV: units in the heads, full figures.

Pieces are told in the sizes of the drawing, in each piece's own frame: z from its reed end, its socket included. What
of the keys lies on a piece is placed in that frame, too; what they are made of is finished sizes.
"""

import csv
import io
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from optimizer.handoff.shapes.link_axis import link_axis
from optimizer.handoff.shapes.shape import Drawing, Piece, Socket, Tenon
from optimizer.records.keys import KeyRecord
from optimizer.records.layout import LayoutRecord
from optimizer.views.table import Column, Table, tabled

DECIMALS = 4


class Placed(NamedTuple):
    """A place in a piece's own frame: the piece's number, 0 for the crook, and z as it is drawn [mm]."""

    piece: int
    z_mm: float


def placed(drawing: Drawing, position_mm: float) -> Placed:
    """Which piece a place along the finished instrument lies on, and where: in a joint the one with the socket.

    Parameters
    ----------
    drawing : whose sizes are meant
    position_mm : along the finished instrument [mm]
    """
    for piece in reversed(drawing.pieces):
        if position_mm >= piece.begin_mm - 1e-9:
            return Placed(piece.number, (position_mm - piece.begin_mm) * piece.sizing.along)
    return Placed(0, position_mm)


def parameter_tables(drawing: Drawing, record: LayoutRecord) -> dict[str, Table]:
    """Tables by the names of their files.

    Parameters
    ----------
    drawing : the layout's pieces in the sizes that are wanted
    record : the layout
    """
    return {
        "pieces": _pieces(drawing),
        "outside": _outlines(drawing, "Outside of each piece, straight between points", "outside"),
        "inside": _outlines(drawing, "Bore of each piece, its socket included, straight between points", "inside"),
        "holes": _holes(drawing),
        "seats": _flats(drawing),
        "joints": _joints(drawing),
        "grooves": _grooves(drawing),
        "posts": _posts(drawing, record),
        "keys": _keys(drawing, record),
        "levers": _levers(record),
        "fittings": _fittings(drawing, record),
    }


def _of_pieces(drawing: Drawing, name: str) -> list[tuple[int, Any]]:
    """What pieces have several of, each with its piece's number; the crook's first, as piece 0."""
    crook = [] if drawing.crook is None else [(0, each) for each in getattr(drawing.crook, name, ())]
    return [*crook, *((piece.number, each) for piece in drawing.pieces for each in getattr(piece, name))]


def _number(key: str, value: Any, unit: str = "mm") -> Column[Any]:
    return Column(key, value, f".{DECIMALS}f", unit)


_PIECE: Column[Any] = Column("piece", lambda row: float(row[0]), ".0f")


def _pieces(drawing: Drawing) -> Table:
    columns = [
        Column[Piece]("piece", lambda piece: float(piece.number), ".0f"),
        Column[Piece]("state", lambda piece: piece.sizing.state),
        _number("begins_at", lambda piece: piece.begin_mm),
        _number("length", lambda piece: piece.length_mm),
        _number("widest", lambda piece: 2.0 * max(radius for _, radius in piece.outside)),
        Column[Piece]("stands_on", lambda piece: f"{piece.down} end"),
        Column[Piece]("factor_along", lambda piece: piece.sizing.along, ".6f"),
        Column[Piece]("factor_across", lambda piece: piece.sizing.across, ".6f"),
    ]
    return tabled("Pieces", columns, drawing.pieces)


def _outlines(drawing: Drawing, title: str, name: str) -> Table:
    columns = [_PIECE, _number("z", lambda row: row[1][0]), _number("diameter", lambda row: 2.0 * row[1][1])]
    return tabled(title, columns, _of_pieces(drawing, name))


def _holes(drawing: Drawing) -> Table:
    columns = [
        _PIECE,
        Column("hole", lambda row: row[1].id),
        _number("z", lambda row: row[1].z_mm),
        _number("azimuth", lambda row: row[1].azimuth_deg, "deg"),
        _number("bore_along", lambda row: row[1].bore_mm[0]),
        _number("bore_around", lambda row: row[1].bore_mm[1]),
        _number("top_along", lambda row: row[1].mouth_mm[0]),
        _number("top_around", lambda row: row[1].mouth_mm[1]),
        _number("crown_height", lambda row: row[1].crown_mm),
        _number("top_height", lambda row: row[1].top_mm),
    ]
    return tabled("Holes, heights from the axis", columns, _of_pieces(drawing, "holes"))


def _flats(drawing: Drawing) -> Table:
    columns = [
        _PIECE,
        Column("hole", lambda row: row[1].hole),
        _number("z", lambda row: row[1].z_mm),
        _number("azimuth", lambda row: row[1].azimuth_deg, "deg"),
        _number("diameter", lambda row: row[1].diameter_mm),
        _number("height", lambda row: row[1].top_mm),
        Column("kind", lambda row: "sunk" if row[1].sunk else "raised"),
    ]
    return tabled("Seats, heights from the axis", columns, _of_pieces(drawing, "flats"))


def _joints(drawing: Drawing) -> Table:
    found: list[tuple[int, str, float, Tenon | Socket]] = []
    for piece in drawing.pieces:
        if piece.socket is not None:
            name = f"socket for the {piece.socket.takes}"
            found.append((piece.number, name, piece.socket.depth_mm, piece.socket))
        if piece.tenon is not None:
            found.append((piece.number, "tenon", piece.tenon.length_mm, piece.tenon))
    columns = [
        _PIECE,
        Column("part", lambda row: row[1]),
        _number("length", lambda row: row[2]),
        _number("diameter", lambda row: row[3].diameter_mm),
        _number("outside", lambda row: getattr(row[3], "outer_diameter_mm", None)),
        _number("chamfer", lambda row: row[3].chamfer_mm),
    ]
    return tabled("Tenons and sockets", columns, found)


def _grooves(drawing: Drawing) -> Table:
    found = [
        (piece.number, number, groove)
        for piece in drawing.pieces
        if piece.tenon is not None
        for number, groove in enumerate(piece.tenon.grooves, start=1)
    ]
    columns = [
        _PIECE,
        Column("groove", lambda row: float(row[1]), ".0f"),
        _number("from_shoulder", lambda row: row[2].from_mm),
        _number("width", lambda row: row[2].to_mm - row[2].from_mm),
        _number("floor_diameter", lambda row: row[2].diameter_mm),
    ]
    return tabled("Grooves of tenons", columns, found)


def _posts(drawing: Drawing, record: LayoutRecord) -> Table:
    found = [
        (placed(drawing, post.position_mm), key, number, key.axle)
        for key in record.keys
        if key.axle is not None
        for number, post in enumerate(key.axle.posts, start=1)
    ]
    columns = [
        Column("key", lambda row: row[1].id),
        Column("post", lambda row: float(row[2]), ".0f"),
        Column("piece", lambda row: float(row[0].piece), ".0f"),
        _number("z", lambda row: row[0].z_mm),
        _number("azimuth", lambda row: row[3].azimuth_deg, "deg"),
        _number("axle_above_body", lambda row: row[3].height_mm),
        _number("diameter", lambda row: row[3].post_diameter_mm),
    ]
    return tabled("Posts of keys; finished heights and diameters", columns, found)


def _keys(drawing: Drawing, record: LayoutRecord) -> Table:
    def touch(key: KeyRecord) -> Placed | None:
        return None if key.touch_position_mm is None else placed(drawing, key.touch_position_mm)

    columns = [
        Column[KeyRecord]("key", lambda key: key.id),
        Column[KeyRecord]("finger", lambda key: key.touch),
        Column[KeyRecord]("opens", lambda key: " ".join(key.opens)),
        Column[KeyRecord]("closes", lambda key: " ".join(key.closes)),
        Column[KeyRecord]("moved_by", lambda key: " ".join(key.moved_by)),
        Column[KeyRecord]("piece", lambda key: _or_none(touch(key), "piece"), ".0f"),
        _number("z", lambda key: _or_none(touch(key), "z_mm")),
        _number("azimuth", lambda key: key.touch_azimuth_deg, "deg"),
        _number("axle_azimuth", lambda key: _or_none(key.axle or link_axis(record, key), "azimuth_deg"), "deg"),
        _number("axle_above_body", lambda key: _or_none(key.axle or link_axis(record, key), "height_mm")),
        _number("axle_length", lambda key: _or_none(key.axle, "length_mm")),
        _number("axle_outside", lambda key: _or_none(key.axle, "outer_diameter_mm")),
        _number("axle_inside", lambda key: _or_none(key.axle, "inner_diameter_mm")),
    ]
    return tabled("Keys: touches and axles; finished sizes but for z", columns, record.keys)


def _or_none(thing: Any, name: str) -> float | None:
    return None if thing is None else float(getattr(thing, name))


def _levers(record: LayoutRecord) -> Table:
    columns = [
        Column("key", lambda row: row[0].id),
        Column("hole", lambda row: row[1].hole),
        _number("length", lambda row: row[1].length_mm),
        _number("touch_arm", lambda row: row[1].touch_arm_mm),
        _number("pad_arm", lambda row: row[1].pad_arm_mm),
    ]
    return tabled("Levers; finished sizes", columns, [(key, lever) for key in record.keys for lever in key.levers])


def _fittings(drawing: Drawing, record: LayoutRecord) -> Table:
    columns = [
        Column("fitting", lambda row: row[1].id),
        Column("piece", lambda row: float(row[0].piece), ".0f"),
        _number("z", lambda row: row[0].z_mm),
        _number("azimuth", lambda row: row[1].azimuth_deg, "deg"),
        _number("length", lambda row: row[1].length_mm),
        _number("width", lambda row: row[1].width_mm),
    ]
    found = [(placed(drawing, each.position_mm), each) for each in record.fittings]
    return tabled("Zones kept clear for fittings; finished sizes but for z", columns, found)


def csv_text(table: Table) -> str:
    """A table as CSV: keys of columns with their units as heads, figures as they are, nothing where there is none."""
    heads = [column.key.replace(" ", "_") + (f"_{column.unit}" if column.unit else "") for column in table.columns]
    return _written(heads, ([_figure(value, column) for value, column in zip(row, table.columns, strict=True)]
                            for row in table.rows))  # fmt: skip


def _figure(value: Any, column: Column[Any]) -> str:
    if value is None:
        return ""
    return f"{value:{column.pattern}}" if column.pattern else str(getattr(value, "words", value))


def _written(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(heads)
    writer.writerows(rows)
    return text.getvalue()


def parameters_csv(tables: dict[str, Table]) -> str:
    """All figures of all tables one below the other, for parametric CAD: name, value, unit, what it is.

    A name is that of the table, of what the row is about, and of the column; rows that nothing names are counted.
    """
    rows = []
    for name, table in tables.items():
        for number, values in enumerate(table.rows, start=1):
            row = list(zip(table.columns, values, strict=True))
            about = [str(value) if not column.pattern else f"{value:{column.pattern}}" for column, value in row[:2]
                     if value is not None and (not column.pattern or column.pattern == ".0f")]  # fmt: skip
            named = "_".join(about) + ("" if len(about) > 1 else f"_{number}")
            rows += [
                [_name(f"{name}_{named}_{column.key}"), f"{value:{column.pattern}}", column.unit, table.title]
                for column, value in row
                if column.unit and value is not None
            ]
    return _written(("name", "value", "unit", "of"), rows)


def _name(text: str) -> str:
    """A name that programs take: letters, digits and underscores."""
    spelled = text.replace("#", "sharp")
    return "".join(character if character.isascii() and character.isalnum() else "_" for character in spelled)
