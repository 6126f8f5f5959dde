"""What each limit of a layout costs, as a table. Reads records only."""

from collections.abc import Sequence

from rich.console import Console

from optimizer.records.prices import LimitPrice, MostMoved, PricesRecord
from optimizer.views.table import Column, Table, tabled
from optimizer.views.terminal import show_lines, show_table

NOT_AT_REST = "it had not come to rest when the time was up, so prices are rough; more `--minutes` settle it"


def show_prices(console: Console, record: PricesRecord) -> None:
    """Prices, then what is left out and why."""
    console.print(f"{record.instrument}, layout {record.layout}: what does it cost", style="bold")
    does = "rests" if record.rests else "is"
    console.print(
        f"solved for tuning alone from there it {does} at {record.cents:.3f} cents RMS (as saved "
        f"{record.saved_cents:.3f}); prices are cents RMS more than that",
        soft_wrap=True,
    )
    if not record.rests:
        console.print(NOT_AT_REST, style="yellow", soft_wrap=True)
    if record.prices:
        show_table(console, prices_table(record.prices))
    elif record.rests:
        kept = " with all of them kept" if record.kept else "; but the layout breaks a limit, so prices say little"
        console.print(f"no limit costs anything: tuning is as good as it gets{kept}")
    _legend(console, record)


def prices_table(prices: Sequence[LimitPrice]) -> Table:
    """What each limit costs, dearest first."""
    return tabled("Prices, dearest first", PRICES, prices)


def _step(price: LimitPrice, number: int) -> str | float | None:
    """What the first or second step costs."""
    if number >= len(price.tried):
        return None
    dearer = price.tried[number].dearer_cents
    return "no room" if dearer is None else dearer


def _moved(most: MostMoved | None) -> str | None:
    return None if most is None else f"{most.written} {most.grows_cents:+.2f}"


PRICES: Sequence[Column[LimitPrice]] = [
    Column("limit", lambda price: price.sentence, heading="tightened by a unit"),
    Column("costs", lambda price: _plain(price), "+.2f", unit="cents", wraps=True),
    Column("0.2 mm cost", lambda price: _step(price, 0), "+.3f", wraps=True),
    Column("0.5 mm cost", lambda price: _step(price, 1), "+.3f", wraps=True),
    Column("most moved", lambda price: _moved(price.most_moved), wraps=True),
    Column("remark", lambda price: price.remark, wraps=True),
    Column("by multiplier", lambda price: price.by_multiplier, ".3f", wraps=True),
    Column("by re-solve", lambda price: price.by_solving, ".3f", wraps=True),
    Column("ratio", lambda price: price.ratio, ".2f", wraps=True),
]


def _plain(price: LimitPrice) -> float:
    """What a unit costs: as solved again, else by the multiplier."""
    return price.by_multiplier if price.by_solving is None else price.by_solving


def _legend(console: Console, record: PricesRecord) -> None:
    lines = [
        "costs: cents RMS more for a unit, as solved again, else by the multiplier; steps of 0.2 and 0.5 mm as solved",
        "by multiplier: the slope at rest; by re-solve: the slope there, drawn through both re-solves beside it",
        "most moved: the note whose error changes most by the longer step (reed: 0.025 cm3, bore: 0.5 %)",
        "a limit takes over: beyond that step another one has a price too, and the first one's no longer holds",
    ]
    if record.free:
        shown = ", ".join(record.free[:8]) + (f" and {len(record.free) - 8} more" if len(record.free) > 8 else "")
        lines.append(f"binding, yet below {record.least_cents:g} cents a unit: {shown}")
    show_lines(console, lines, "dim", whole=True)
    for off in record.plates_off:
        cost = (
            "no layout near by keeps all limits" if off.dearer_cents is None else f"{off.dearer_cents:+.2f} cents RMS"
        )
        show_lines(console, [f"{off.hole} bare, without its plate: {cost} (solved again)"], whole=True)
    if record.plates_untried:
        show_lines(console, [f"no time for {', '.join(record.plates_untried)} bare; more `--minutes` tell"], whole=True)
    if not record.plates_off and not record.plates_untried:
        said = (
            'one key or plate fewer is left out: no hole of this layout with a plate has cover = "either", and '
            "without its key a note has no fingering"
        )
        show_lines(console, [said], "dim", whole=True)
