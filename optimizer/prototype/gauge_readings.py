"""Gauge readings: several of one thing become one size with its deviation, whatever tools they were taken with.

| tool | what it reads | one standard deviation [mm] |
|---|---|---|
| `go`, `no-go` | the thickest pin that goes in, the thinnest that does not: between them | gap / sqrt(12) |
| `caliper` | jaws with flats `flat_mm` wide read sqrt(d^2 - flat^2) in a hole d wide | 0.03 |
| `cone` | a taper gauge, at the rim | 0.05 |
| `telescope` | a telescoping gauge and a micrometer | 0.02 |
| `depth` | a depth gauge | 0.05 |
| `ruler` | places and lengths | 0.25 |

(deviations: common practice, no source.) A tool errs the same in all of its readings; their scatter falls with their
number. Tools count by their deviations. Of `along_mm` and `around_mm` the size is the circle of the same area.
"""

import math
import statistics
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import cast, get_args

from optimizer.project.sentences import nearest
from optimizer.prototype.measured_table import Problems, Row, read_table
from optimizer.prototype.quantities import Quantity
from optimizer.records.coupon import Way
from optimizer.records.gauge import GaugedValue, Measure

TOOLS = {"caliper": 0.03, "cone": 0.05, "telescope": 0.02, "depth": 0.05, "ruler": 0.25}
PINS = ("go", "no-go")
ROUND = ("hole", "hole_top", "bore")
"""What is measured across, in the round."""

APART = 3.0
"""Tools whose sizes differ by more than so many deviations do not agree."""

FAR_SHARE = 0.4
"""A reading off by more than so much of what is drawn is of something else, or in another unit."""

READINGS = (
    Quantity("what", "", "what was measured", needed=True, words=get_args(Measure)),
    Quantity("where", "", "the hole; of a bore the place from the reed end in mm; of the length: bell", needed=True),
    Quantity("reading", "mm", "what the tool read", False, 0.0, 6000.0, at_least=False),
    Quantity("along", "mm", "in place of it: read along the bore", False, 0.0, 200.0, at_least=False),
    Quantity("around", "mm", "and read around the bore", False, 0.0, 200.0, at_least=False),
    Quantity("tool", "", "what it was read with", needed=True, words=(*PINS, *TOOLS)),
    Quantity("flat", "mm", "width of the flats of a caliper's jaws", False, 0.0, 5.0),
    Quantity("times", "x", "how often the same was read; default: once", False, 1.0, 100.0),
)

Thing = tuple[str, str]
"""What was measured, and where."""


@dataclass(frozen=True)
class Drawn:
    """What the instrument should have: sizes by what and where [mm], and its bore as points [position, diameter]."""

    sizes: Mapping[Thing, float]
    bore_mm: Sequence[tuple[float, float]]

    def at(self, what: str, where: str) -> float | None:
        """What is drawn there [mm], or None where nothing is."""
        if what != "bore":
            return self.sizes.get((what, where))
        place = _place(where)
        if place is None or not self.bore_mm[0][0] <= place <= self.bore_mm[-1][0]:
            return None
        for (s0, d0), (s1, d1) in zip(self.bore_mm, self.bore_mm[1:], strict=False):
            if s0 <= place <= s1 and s1 > s0:
                return d0 + (d1 - d0) * (place - s0) / (s1 - s0)
        return self.bore_mm[-1][1]


def _place(where: str) -> float | None:
    try:
        return float(where)
    except ValueError:
        return None


def read_gauges(path: Path, drawn: Drawn) -> tuple[list[GaugedValue], list[str]]:
    """The sizes that a table of readings tells, and remarks on tools that do not agree.

    Parameters
    ----------
    path : of the table
    drawn : what the instrument should have there

    Raises
    ------
    TableError
        with everything that is wrong with the table
    """
    table = read_table(path, "table of readings", READINGS)
    things: dict[Thing, list[Row]] = {}
    for row in table.rows:
        thing = str(row.values["what"]), str(row.values["where"])
        things.setdefault(thing, []).append(row)
        _check(row, thing, drawn, table.problems)
    table.problems.refuse()
    remarks: list[str] = []
    found = [_size(thing, rows, drawn.at(*thing), table.problems, remarks) for thing, rows in things.items()]
    table.problems.refuse()
    return [size for size in found if size is not None], remarks


def _check(row: Row, thing: Thing, drawn: Drawn, problems: Problems) -> None:
    """Take note of what no reading can be."""
    what, where = thing
    wanted = drawn.at(what, where)
    if wanted is None:
        known = sorted({place for kind, place in drawn.sizes if kind == what})
        least, most = drawn.bore_mm[0][0], drawn.bore_mm[-1][0]
        said = f"must be a place between {least:g} and {most:g}, but got {where!r}"
        if what != "bore":
            said = f"there is no {what} {where!r}{nearest(where, known)}"
        problems.say(said, row.line, "where")
        return
    check_reading(row, thing, wanted, problems)


def check_reading(row: Row, thing: Thing, wanted: float, problems: Problems) -> None:
    """Take note of what no reading of a thing can be.

    Parameters
    ----------
    row : of the table
    thing : what it was taken of
    wanted : the size that this should have [mm]
    problems : takes what is wrong
    """
    what, where = thing
    both = row.number("along_mm") is not None, row.number("around_mm") is not None
    if any(both) and (not all(both) or row.number("reading_mm") is not None):
        problems.say("give reading_mm, or along_mm and around_mm together", row.line)
    elif not any(both) and row.number("reading_mm") is None:
        problems.say("is empty", row.line, "reading_mm")
    if row.number("flat_mm") and row.word("tool") != "caliper":
        problems.say("only the jaws of a caliper have flats", row.line, "flat_mm")
    if row.word("tool") in PINS and (what not in ROUND or any(both)):
        problems.say("a pin gauges the diameter of a hole or bore, by reading_mm", row.line, "tool")
    for header in ("reading_mm", "along_mm", "around_mm"):
        reading = row.number(header)
        if reading is not None and row.word("tool") not in PINS and abs(reading - wanted) > FAR_SHARE * wanted:
            inch = abs(25.4 * reading - wanted) < FAR_SHARE * wanted
            asked = "; is it in inches? write millimetres" if inch else "; is it this place?"
            problems.say(
                f"{reading:g} mm is far from the {wanted:.2f} that {what} {where} has{asked}", row.line, header
            )


def _size(
    thing: Thing, rows: Sequence[Row], drawn: float | None, problems: Problems, remarks: list[str]
) -> GaugedValue | None:
    """One size from all of its readings."""
    what, where = thing
    by_tool: dict[str, list[float]] = {}
    ovals: list[float] = []
    for row in rows:
        if row.word("tool") not in PINS:
            by_tool.setdefault(str(row.word("tool")), []).extend(
                [size_read(row, what)] * round(row.number("times_x") or 1)
            )
            if row.number("along_mm") is not None:
                ovals.append((row.number("along_mm") or 0.0) - (row.number("around_mm") or 0.0))
    sizes = {tool: _of_tool(tool, values) for tool, values in by_tool.items()}
    pins = between_pins(thing, [row for row in rows if row.word("tool") in PINS], problems)
    if pins is not None:
        sizes["pins"] = pins
    if problems.found:
        return None
    weight = {tool: 1.0 / max(sd, 1e-4) ** 2 for tool, (_, sd) in sizes.items()}
    mean = sum(weight[tool] * value for tool, (value, _) in sizes.items()) / sum(weight.values())
    remarks += [
        f"{what} {where}: {tool} says {value:.2f} +-{sd:.2f}, all together {mean:.2f}; they do not agree, read again"
        for tool, (value, sd) in sizes.items()
        if abs(value - mean) > APART * sd and len(sizes) > 1
    ]
    values = [value for each in by_tool.values() for value in each]
    return GaugedValue(
        what=cast(Measure, what),
        where=where,
        value_mm=round(mean, 4),
        sd_mm=round(sum(weight.values()) ** -0.5, 4),
        readings=len(values) + sum(row.word("tool") in PINS for row in rows),
        scatter_mm=round(statistics.stdev(values), 4) if len(values) > 1 else None,
        oval_mm=round(statistics.mean(ovals), 4) if ovals else None,
        tools=sorted({str(row.word("tool")) for row in rows}),
        drawn_mm=None if drawn is None else round(drawn, 4),
    )


def size_read(row: Row, what: str, way: Way = "round") -> float:
    """A size by one reading [mm].

    Parameters
    ----------
    row : of the table
    what : was read
    way : along or around alone, where both were read; round is the circle of the same area
    """
    flat = (row.number("flat_mm") or 0.0) if what in ROUND else 0.0
    along, around = row.number("along_mm"), row.number("around_mm")
    if way != "round":
        return math.hypot(row.number(f"{way}_mm") or 0.0, flat)
    if along is not None and around is not None:
        return math.sqrt(math.hypot(along, flat) * math.hypot(around, flat))
    return math.hypot(row.number("reading_mm") or 0.0, flat)


def _of_tool(tool: str, values: Sequence[float]) -> tuple[float, float]:
    """Mean of a tool's readings and its deviation [mm]."""
    scatter = statistics.stdev(values) if len(values) > 1 else 0.0
    return statistics.mean(values), math.hypot(TOOLS[tool], scatter / math.sqrt(len(values)))


def between_pins(thing: Thing, rows: Sequence[Row], problems: Problems) -> tuple[float, float] | None:
    """Middle of what pins leave, and its deviation [mm]; None without pins.

    Parameters
    ----------
    thing : what they were tried in
    rows : of pins alone
    problems : takes what is wrong with them
    """
    if not rows:
        return None
    what, where = thing
    read = {tool: [row.number("reading_mm") or 0.0 for row in rows if row.word("tool") == tool] for tool in PINS}
    if not all(read.values()):
        lacking = "thinnest pin that does not go, no-go" if read["go"] else "thickest pin that goes, go"
        problems.say(f"{what} {where} needs a line for the {lacking}, too", rows[0].line)
        return None
    most, least = max(read["go"]), min(read["no-go"])
    if most >= least:
        problems.say(
            f"in {what} {where} a pin of {most:g} goes and one of {least:g} does not; gauge again", rows[0].line
        )
        return None
    return 0.5 * (most + least), (least - most) / math.sqrt(12.0)
