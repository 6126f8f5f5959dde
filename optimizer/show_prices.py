"""What each limit of a layout costs, as a table for a terminal."""

from dataclasses import dataclass

import numpy as np
from rich.console import Console
from rich.table import Table

from optimizer.prices import LEAST_CENTS, Limit, Price, Rest, Unit
from optimizer.problem import Problem
from optimizer.records import LayoutRecord

DIFFERENT = 0.2
"""A multiplier and a re-solve that differ by a greater share are told."""


@dataclass(frozen=True)
class PlateOff:
    """A hole gone bare: RMS gained [cents]; None where no layout near by keeps all limits so."""

    hole: str
    dearer_cents: float | None


@dataclass(frozen=True)
class PriceList:
    """A layout, where it rests when solved for tuning alone, and what each of its limits costs, dearest first.

    plates_off : every hole that may go bare, solved again so; free : limits that bind and cost nothing
    """

    record: LayoutRecord
    rest: Rest
    problem: Problem
    prices: tuple[Price, ...]
    plates_off: tuple[PlateOff, ...]
    free: tuple[str, ...]


ENDS = {
    "diameter_mm": ("{0} at least {1} wider", "{0} at most {1} narrower"),
    "position_mm": ("{0} kept {1} further from the reed", "{0} kept {1} nearer the reed"),
    "chimney_mm": ("chimney of {0} at least {1} longer", "chimney of {0} at most {1} shorter"),
    "touch_offset_mm": ("touch of {0} kept {1} further from the reed", "touch of {0} kept {1} nearer the reed"),
    "end_mm": ("bell end {1} further out at least", "bell end {1} nearer at most"),
    "reed_volume_cm3": ("reed at least {1} larger", "reed at most {1} smaller"),
    "bore_scale": ("bore at least {1} wider", "bore at most {1} narrower"),
    "joint_mm": ("joint {0} kept {1} further from the reed", "joint {0} kept {1} nearer the reed"),
}
CONSTRAINTS = {
    "reach": "{0}: 1 mm less reach",
    "piece_long": "piece {0} at most 1 mm shorter",
    "piece_short": "piece {0} at least 1 mm longer",
    "web": "{0}: 1 mm more wall between",
    "cups": "{0}: cups 1 mm further apart",
    "joint": "joint and hole {0}: 1 mm more between",
    "seal": "{0}: a finger seals 1 mm less",
    "hand_gap": "{0}: hands 1 mm further apart",
    "finger_room": "{0}: 1 mm more room for fingers",
    "lever": "{0}: lever at most 1 mm shorter",
    "bell_margin": "{0}: 1 mm further from the bell end",
    "post": "post {0}: 1 mm more room",
}


def worded(limit: Limit) -> str:
    """What is asked of a layout when a limit is tightened by one unit."""
    kind, _, rest = limit.name.partition(".")
    if limit.side == "constraint":
        return CONSTRAINTS.get(kind, f"{kind} {{0}}: 1 mm more").format(rest)
    unit = limit.unit.name
    return ENDS[kind][limit.side == "high"].format(rest, unit if unit[0].isdigit() else f"1 {unit}")


def show_prices(console: Console, found: PriceList) -> None:
    """Prices, then what is left out and why."""
    record, rest = found.record, found.rest
    console.print(f"{record.instrument}, layout {record.id}: what does it cost", style="bold")
    console.print(
        f"solved for tuning alone from there it rests at {rest.cents:.3f} cents RMS (as saved "
        f"{record.objectives['tuning']:.3f}); prices are cents RMS more than that",
        soft_wrap=True,
    )
    if found.prices:
        console.print(_table(found))
    else:
        console.print("no limit costs anything: tuning is as good as it gets with all of them kept")
    _legend(console, found)


def _table(found: PriceList) -> Table:
    table = Table(title="Prices, dearest first", title_justify="left", header_style="bold", pad_edge=False, box=None)
    heads = ("by multiplier", "by re-solve", "ratio", "0.2 mm cost", "0.5 mm cost")
    table.add_column("tightened by a unit", no_wrap=True)
    for name in heads:
        table.add_column(name, justify="right")
    table.add_column("most moved")
    table.add_column("remark")
    for price in found.prices:
        table.add_row(*_cells(price, found))
    return table


def _cells(price: Price, found: PriceList) -> list[str]:
    again, ratio = price.by_solving, price.ratio
    step_cells = [_step_cell(price, number) for number in range(2)]
    return [
        worded(price.limit),
        f"{price.by_multiplier:.3f}",
        "-" if again is None else f"{again:.3f}",
        "-" if ratio is None else f"{ratio:.2f}",
        *step_cells,
        _most_moved(price, found),
        remark(price),
    ]


def _step_cell(price: Price, number: int) -> str:
    step = price.limit.unit.steps[number]
    found = next((one for one in price.tried if one.step == step), None)
    if found is None:
        return "-"
    return f"{found.dearer_cents:+.3f}" if found.kept else "no room"


def _most_moved(price: Price, found: PriceList) -> str:
    """The note whose error grows or shrinks most at the longer step."""
    kept = [one for one in price.tried if one.kept]
    if not kept:
        return "-"
    change = np.abs(kept[-1].errors) - np.abs(found.rest.errors)
    line = int(np.argmax(np.abs(change)))
    return f"{found.problem.notes[line].written} {change[line]:+.2f}"


def remark(price: Price) -> str:
    """What a re-solve says that the multiplier does not: another limit, no room, or another price."""
    for one in price.tried:
        unit = _amount(price.limit.unit, one.step)
        if not one.kept:
            return f"no room {unit} further"
        if one.came_in:
            verb = "takes" if len(one.came_in) == 1 else "take"
            return f"{', '.join(map(_named, one.came_in[:2]))} {verb} over within {unit}"
        if not one.still_binds:
            return f"binds no more within {unit}"
    if not price.tried:
        return "not re-solved"
    ratio = price.ratio
    return "differs: curved" if ratio is not None and abs(ratio - 1.0) > DIFFERENT else ""


def _named(name: str) -> str:
    """A limit's name in a sentence: ranges by what they are of."""
    kind, _, rest = name.partition(".")
    return f"{kind.rsplit('_', 1)[0].replace('_', ' ')} of {rest}" if kind in ENDS and rest else name


def _amount(unit: Unit, step: float) -> str:
    if unit.name == "mm":
        return f"{step:g} mm"
    return f"{step:g} cm3" if "cm3" in unit.name else f"{100.0 * step:g} %"


def _legend(console: Console, found: PriceList) -> None:
    lines = [
        "by multiplier: the slope at rest; by re-solve: the slope there, drawn through both re-solves beside it",
        "most moved: the note whose error changes most by the longer step (reed: 0.025 cm3, bore: 0.5 %)",
        "a limit takes over: beyond that step another one has a price too, and the first one's no longer holds",
    ]
    if found.free:
        shown = ", ".join(found.free[:8]) + (f" and {len(found.free) - 8} more" if len(found.free) > 8 else "")
        lines.append(f"binding, yet below {LEAST_CENTS:g} cents a unit: {shown}")
    for line in lines:
        console.print(f"  {line}", style="dim", soft_wrap=True)
    for off in found.plates_off:
        cost = (
            "no layout near by keeps all limits" if off.dearer_cents is None else f"{off.dearer_cents:+.2f} cents RMS"
        )
        console.print(f"  {off.hole} bare, without its plate: {cost} (solved again)", soft_wrap=True)
    if not found.plates_off:
        console.print(
            "  one key or plate fewer is left out: no hole of this layout with a plate has cover = \"either\", and "
            "without its key a note has no fingering",
            style="dim", soft_wrap=True,
        )  # fmt: skip
