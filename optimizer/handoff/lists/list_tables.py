"""Parts and cuts as tables, and what the print weighs and takes in words."""

from optimizer.handoff.lists.bill import Counted, counted_parts, parts_of, print_cost, to_cut
from optimizer.handoff.lists.cutting import KERF_MM, Bar, cut_up
from optimizer.handoff.lists.drawer import drawer_of, in_drawer, lacks
from optimizer.handoff.shapes.shape import Drawing
from optimizer.project.stock import Stock
from optimizer.records.layout import LayoutRecord
from optimizer.views.table import Column, Table, tabled


def parts_table(record: LayoutRecord, stock: Stock | None = None) -> Table:
    """All parts, those that are alike together; with a stock also what lies in the drawer for each, and what it lacks.

    Parameters
    ----------
    record : the layout
    stock : the drawer
    """
    parts = counted_parts(parts_of(record))
    columns = [
        Column[Counted]("part", lambda part: part.what),
        Column[Counted]("size", lambda part: part.size),
        Column[Counted]("length", lambda part: part.length_mm, ".1f", "mm"),
        Column[Counted]("count", lambda part: float(part.number), ".0f"),
        Column[Counted]("for", lambda part: part.goes_to, wraps=True),
        Column[Counted]("rests_on", lambda part: part.rests_on),
    ]
    if stock is None:
        return tabled("Parts", columns, parts)
    drawer = drawer_of(stock)
    columns.insert(3, Column[Counted]("in_drawer", lambda part: in_drawer(part, drawer) or None))
    return tabled("Parts", columns, parts, notes=lacks(parts, stock))


def cuts_table(record: LayoutRecord) -> Table:
    """What to cut from which bar, a row for each bar."""
    bars = [
        (*kind, number, bar)
        for kind, lengths in to_cut(parts_of(record)).items()
        for number, bar in enumerate(cut_up(lengths), start=1)
    ]
    columns: list[Column[tuple[str, str, int, Bar]]] = [
        Column("part", lambda row: row[0]),
        Column("size", lambda row: row[1]),
        Column("bar", lambda row: float(row[2]), ".0f"),
        Column("bar_length", lambda row: row[3].mm, ".0f", "mm"),
        Column("cuts", lambda row: " + ".join(f"{cut.mm:g} ({cut.goes_to})" for cut in row[3].cuts), wraps=True),
        Column("left", lambda row: row[3].left_mm, ".1f", "mm"),
    ]
    notes = [
        f"Longest first, each from the first bar that takes it; {KERF_MM:g} mm lost with each cut. How long bars are "
        "and what a cut takes: common practice, no source."
    ]
    return tabled("Cuts", columns, bars, notes=notes)


def print_words(record: LayoutRecord, finished: Drawing) -> list[str]:
    """What the print weighs, piece by piece, and how long it takes."""
    cost = print_cost(record, finished)
    low, high = cost.hours
    each = ", ".join(f"{name} {grams:.0f} g" for name, grams in cost.grams.items())
    return [
        f"Printed solid, with seats and feet of posts, the body weighs {sum(cost.grams.values()):.0f} g ({each}), and "
        f"takes about {low:.0f} to {high:.0f} hours (12 to 18 g an hour: a rule of thumb, common practice, no source)."
    ]
