"""Reach as a table for a terminal."""

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table

from optimizer import cautions
from optimizer.analysis.hand_fit import HandFit, verdict
from optimizer.records.layout import ReachRecord


def reach_table(reach: Sequence[ReachRecord]) -> Table:
    """Spacing of each pair against its limits."""
    table = Table(
        title="Reach, mm between touch centres", title_justify="left", header_style="bold", pad_edge=False, box=None
    )
    table.add_column("fingers")
    for name in ("spacing", "comfortable", "working limit", "maximum", "+-"):
        table.add_column(name, justify="right")
    table.add_column("limits by")
    table.add_column("")
    for pair in reach:
        figures = (pair.spacing_mm, pair.comfortable_mm, pair.working_mm, pair.maximum_mm, pair.sd_mm)
        cells = ["-" if value is None else f"{value:.1f}" for value in figures]
        table.add_row(pair.pair, *cells, pair.basis, verdict(pair))
    return table


def show_fit(console: Console, found: HandFit) -> None:
    """A layout under a hand: table, what is wrong, advice, caution."""
    console.print(f"hand: {found.name}" + (f"; {found.source}" if found.source else ""))
    if found.reach:
        console.print(reach_table(found.reach))
        console.print("  +- is one standard deviation of the working limit", style="dim")
    else:
        console.print("no two fingers of one hand lie on holes")
    if found.troubles:
        console.print("This hand does not fit:", style="bold")
    for line in found.troubles:
        console.print(f"  {line}")
    for line in found.remarks:
        console.print(f"  {line}", style="yellow")
    for line in cautions.HANDS:
        console.print(f"  {line}", style="dim")
