"""What each limit of a layout costs, as a table for a terminal. Reads records only."""

from rich.console import Console
from rich.table import Table

from optimizer.records.prices import LimitPrice, MostMoved, PricesRecord
from optimizer.words import or_dash


def show_prices(console: Console, record: PricesRecord) -> None:
    """Prices, then what is left out and why."""
    console.print(f"{record.instrument}, layout {record.layout}: what does it cost", style="bold")
    console.print(
        f"solved for tuning alone from there it rests at {record.cents:.3f} cents RMS (as saved "
        f"{record.saved_cents:.3f}); prices are cents RMS more than that",
        soft_wrap=True,
    )
    if record.prices:
        console.print(_table(record.prices))
    else:
        kept = " with all of them kept" if record.kept else "; but the layout breaks a limit, so prices say little"
        console.print(f"no limit costs anything: tuning is as good as it gets{kept}")
    _legend(console, record)


def _table(prices: list[LimitPrice]) -> Table:
    table = Table(title="Prices, dearest first", title_justify="left", header_style="bold", pad_edge=False, box=None)
    heads = ("by multiplier", "by re-solve", "ratio", "0.2 mm cost", "0.5 mm cost")
    table.add_column("tightened by a unit", no_wrap=True)
    for name in heads:
        table.add_column(name, justify="right")
    table.add_column("most moved")
    table.add_column("remark")
    for price in prices:
        table.add_row(*_cells(price))
    return table


def _cells(price: LimitPrice) -> list[str]:
    steps = ["no room" if one.dearer_cents is None else f"{one.dearer_cents:+.3f}" for one in price.tried]
    return [
        price.sentence,
        f"{price.by_multiplier:.3f}",
        or_dash(price.by_solving, ".3f"),
        or_dash(price.ratio, ".2f"),
        *[*steps, "-", "-"][:2],
        _moved(price.most_moved),
        price.remark,
    ]


def _moved(most: MostMoved | None) -> str:
    return "-" if most is None else f"{most.written} {most.grows_cents:+.2f}"


def _legend(console: Console, record: PricesRecord) -> None:
    lines = [
        "by multiplier: the slope at rest; by re-solve: the slope there, drawn through both re-solves beside it",
        "most moved: the note whose error changes most by the longer step (reed: 0.025 cm3, bore: 0.5 %)",
        "a limit takes over: beyond that step another one has a price too, and the first one's no longer holds",
    ]
    if record.free:
        shown = ", ".join(record.free[:8]) + (f" and {len(record.free) - 8} more" if len(record.free) > 8 else "")
        lines.append(f"binding, yet below {record.least_cents:g} cents a unit: {shown}")
    for line in lines:
        console.print(f"  {line}", style="dim", soft_wrap=True)
    for off in record.plates_off:
        cost = (
            "no layout near by keeps all limits" if off.dearer_cents is None else f"{off.dearer_cents:+.2f} cents RMS"
        )
        console.print(f"  {off.hole} bare, without its plate: {cost} (solved again)", soft_wrap=True)
    if not record.plates_off:
        console.print(
            "  one key or plate fewer is left out: no hole of this layout with a plate has cover = \"either\", and "
            "without its key a note has no fingering",
            style="dim", soft_wrap=True,
        )  # fmt: skip
