"""The body's pieces and their joints as tables for a terminal. Reads records only."""

from rich.console import Console
from rich.table import Table

from optimizer import cautions
from optimizer.records.layout import LayoutRecord
from optimizer.records.pieces import JointRecord, PieceRecord, PrintingRecord


def show_pieces(console: Console, record: LayoutRecord) -> None:
    """Pieces with finished and printed sizes, joints, how printing was allowed for, and cautions; nothing without."""
    if not record.pieces:
        return
    console.print(_pieces(record.pieces))
    joints = [piece.joint for piece in record.pieces if piece.joint is not None]
    if joints:
        console.print(_joints(joints))
        console.print(f"  {_seal(joints[0])}", style="dim")
    if record.printing is not None:
        console.print(f"  {_said(record.printing, joints)}", style="dim")
    for caution in (cautions.PRINTING, cautions.WORKING):
        console.print(f"  {caution}")


def _table(title: str, columns: list[tuple[str, str]]) -> Table:
    table = Table(title=title, title_justify="left", header_style="bold", pad_edge=False, box=None)
    for name, justify in columns:
        table.add_column(name, justify="right" if justify == "r" else "left", no_wrap=name != "holes")
    return table


def _pieces(pieces: list[PieceRecord]) -> Table:
    columns = [("piece", "r"), ("from", "r"), ("to", "r"), ("length", "r"), ("widest", "r"), ("print length", "r")]
    table = _table(
        "Pieces, mm, from the reed; a joint lies half on either side of where two meet", [*columns, ("holes", "l")]
    )
    for number, piece in enumerate(pieces, start=1):
        printed = "made" if piece.locked else "-" if piece.to_print is None else f"{piece.to_print.length_mm:.2f}"
        wide = "-" if piece.diameter_mm is None else f"{piece.diameter_mm:.2f}"
        places = f"{piece.from_mm:.2f}", f"{piece.to_mm:.2f}", f"{piece.length_mm:.2f}", wide, printed
        table.add_row(str(number) + (" locked" if piece.locked else ""), *places, ", ".join(piece.holes))
    return table


def _joints(joints: list[JointRecord]) -> Table:
    names = ("joint", "middle", "length", "bore", "tenon", "wall", "socket", "wall", "outside", "ring", "groove to")
    table = _table("Joints, mm, finished; tenon on the reed side", [(name, "r") for name in names])
    for number, joint in enumerate(joints, start=1):
        groove = "-" if joint.groove_diameter_mm is None else f"{joint.groove_diameter_mm:.2f}"
        table.add_row(
            str(number) + (" locked" if joint.locked else ""),
            f"{joint.at_mm:.2f}",
            f"{joint.length_mm:.2f}",
            f"{joint.bore_diameter_mm:.2f}",
            f"{joint.tenon_diameter_mm:.2f}",
            f"{joint.tenon_wall_mm:.2f}",
            f"{joint.socket_diameter_mm:.2f}",
            f"{joint.socket_wall_mm:.2f}",
            f"{joint.socket_outer_diameter_mm:.2f}",
            f"{joint.ring_mm:.2f}",
            groove,
        )
    return table


def _seal(joint: JointRecord) -> str:
    if joint.seal == "lapping":
        return f"tenons lapped with thread, {joint.radial_clearance_mm:g} mm free all round"
    return (
        f"{joint.grooves} O-rings on each tenon, grooves {joint.groove_width_mm:g} mm wide and "
        f"{joint.groove_depth_mm:g} deep, {joint.radial_clearance_mm:g} mm free all round"
    )


def _said(printing: PrintingRecord, joints: list[JointRecord]) -> str:
    said = (
        f"{printing.printer}, {printing.orientation}: printed sizes are finished ones x {printing.factor_along:.5f} "
        f"along and x {printing.factor_across:.5f} across (shrinkage, in the file already), holes "
        f"{printing.hole_undersize_mm:g} mm wider; tolerance +-{printing.tolerance_mm:g} mm"
    )
    if any(joint.radial_clearance_mm < printing.tolerance_mm for joint in joints):
        said += ", more than a joint has free: print a coupon of one joint first and lap it to fit"
    return said
