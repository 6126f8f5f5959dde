"""What is said of a layout's body as a whole: what it weighs, where it balances, what is fastened to it. Reads records
only."""

from collections.abc import Sequence

from optimizer.records.fittings import FittingRecord
from optimizer.records.layout import LayoutRecord
from optimizer.views.table import Cell, Column, Table, tabled


def seen_words(record: LayoutRecord) -> str:
    """How the drawing of a whole body shows it."""
    if not record.bore.bends:
        return "From the front, reed end left"
    return (
        "Unrolled along its centre line, reed end left, the player's right below on all tubes, so that those that run "
        "up are mirror images of what is seen from the front; shaded: bends"
    )


def mass_words(record: LayoutRecord) -> str:
    """What a layout weighs, where it balances, and what that counts; empty of a file that does not tell."""
    mass = record.mass
    if mass is None:
        return ""
    parts = ", ".join(f"{name} {value:.0f}" for name, value in mass.parts_g.items() if value)
    where = "below the reed end" if record.bore.bends else "from the reed end along the bore"
    return (
        f"about {mass.mass_g:.0f} g, balancing {mass.balance_mm:.0f} mm {where}: {parts} g; "
        f"printed solid at {mass.density_g_per_cm3:g} g/cm3, keys by rule of thumb; not counted: {mass.left_out}"
    )


def _room(each: FittingRecord) -> Cell:
    return Cell(f"{each.room_mm:.1f}", "" if each.room_mm >= each.clear_mm else "bad")


def fittings_table(fittings: Sequence[FittingRecord]) -> Table:
    """Zones kept clear for strap ring, thumb rest and what else is fastened to the body."""
    columns: list[Column[FittingRecord]] = [
        Column("fitting", lambda each: each.id.replace("_", " ")),
        Column("middle", lambda each: each.position_mm, ".2f"),
        Column("azimuth", lambda each: each.azimuth_deg, "z.0f"),
        Column("long", lambda each: each.length_mm, ".1f"),
        Column("wide", lambda each: each.width_mm, ".1f"),
        Column("piece", lambda each: each.piece, "d"),
        Column("room", _room, right=True),
        Column("nearest", lambda each: each.nearest),
    ]
    said = "mm and degrees; room: from the zone kept clear to what stands nearest"
    return tabled("Fittings", columns, fittings, said)
