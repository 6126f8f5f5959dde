"""What limits say of one layout: reach, touches, clearances, what binds. Reads records only."""

from collections.abc import Mapping, Sequence

from optimizer.analysis.hand_fit import ReachedTouch, verdict
from optimizer.records.layout import LayoutRecord, ReachRecord
from optimizer.views.table import Cell, Column, Table, tabled

LOOKS = {"comfortable": "good", "just comfortable": "good", "strained": "warn"}
"""How a verdict on a reach looks; any other is bad."""


REACH: Sequence[Column[ReachRecord]] = [
    Column("fingers", lambda pair: pair.pair),
    Column("spacing", lambda pair: pair.spacing_mm, ".1f"),
    Column("comfortable", lambda pair: pair.comfortable_mm, ".1f"),
    Column("working limit", lambda pair: pair.working_mm, ".1f"),
    Column("maximum", lambda pair: pair.maximum_mm, ".1f"),
    Column("+-", lambda pair: pair.sd_mm, ".1f", heading="limit +-"),
    Column("limits by", lambda pair: pair.basis, wraps=True),
    Column("verdict", lambda pair: Cell(verdict(pair), LOOKS.get(verdict(pair), "bad")), wraps=True),
]


def reach_table(reach: Sequence[ReachRecord]) -> Table:
    """Spacing of each pair of fingers against the hand's limits."""
    said = "limit +-: one standard deviation of the working limit, over hands that what was measured may belong to"
    return tabled("Reach", REACH, reach, "mm between touch centres", [said])


TOUCHES: Sequence[Column[ReachedTouch]] = [
    Column("key", lambda touch: touch.key),
    Column("finger", lambda touch: touch.finger),
    Column("from", lambda touch: "its rest" if touch.origin == touch.finger else touch.origin),
    Column("distance", lambda touch: touch.distance_mm, ".1f"),
    Column("limit", lambda touch: touch.limit_mm, ".1f"),
    Column("share", lambda touch: Cell(f"{touch.percent:.0f} %", "bad" if touch.trouble else "good"), right=True),
]


def touches_table(touches: Sequence[ReachedTouch]) -> Table:
    """How far fingers reach for touches that they do not rest on."""
    said = (
        "share: of the limit; from: where the finger rests itself, or for a little finger another finger, less what it "
        "lands by itself"
    )
    return tabled("Touches reached for", TOUCHES, touches, "mm", [said])


def clearances_table(margins_mm: Mapping[str, float]) -> Table:
    """The tightest limit of each kind."""
    tightest: dict[str, tuple[float, str]] = {}
    for name, margin in margins_mm.items():
        kind, _, where = name.partition(".")
        tightest[kind] = min(tightest.get(kind, (float("inf"), "")), (margin, where))
    columns: list[Column[tuple[str, tuple[float, str]]]] = [
        Column("kind", lambda row: row[0]),
        Column("to spare", lambda row: row[1][0], ".2f"),
        Column("where", lambda row: row[1][1]),
    ]
    said = "mm beyond what each limit asks, so that 0 just keeps it; the tightest of each kind"
    return tabled("Clearances", columns, tightest.items(), said)


def binding_lines(record: LayoutRecord) -> list[str]:
    """What binds in a layout, a sentence each."""
    return [
        f"{found.name}: "
        + (f"broken by {-found.margin_mm:.2f} mm; must hold: " if found.margin_mm < 0 else "")
        + found.sentence
        for found in record.binds
    ]
