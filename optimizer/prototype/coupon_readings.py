"""Readings of test coupons: a table with a line for each thing of each print, and the sizes that it tells.

A coupon's gauges are those of any instrument (`gauge_readings`). Repeated readings tell how far a tool's readings
scatter, pooled over all that it was used for; what a tool errs alike in all of them stays apart, as it does not shrink
with their number. Pins and taper gauges go by the narrower way of an oval hole.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple, TypeAlias, get_args

import numpy as np

from optimizer.prototype.coupon_lines import Sizes
from optimizer.prototype.gauge_readings import PINS, READINGS, TOOLS, between_pins, check_reading, size_read
from optimizer.prototype.measured_table import Problems, Row, read_table
from optimizer.prototype.quantities import Quantity
from optimizer.records.coupon import Feature, Way

TRIED = ("clearance", "groove")
"""What is tried by hand, not read."""

VERDICTS = ("tight", "fits", "loose")
INSIDE = ("hole", "bore")
NARROW = (*PINS, "cone")
"""Tools that go by the narrower way of an oval hole."""

FIRST = "1"
"""The print of a table that names none."""

_SHARED = {each.name: each for each in READINGS}
COLUMNS = (
    replace(_SHARED["what"], words=get_args(Feature)),
    Quantity("where", "", "its mark on the coupon's drawing", needed=True),
    Quantity("drawn", "mm", "its size as it was drawn", needed=True, low=0.0, high=400.0),
    Quantity("print", "", "which print of the coupon; default: 1"),
    *(_SHARED[name] for name in ("reading", "along", "around")),
    replace(_SHARED["tool"], needed=False),
    *(_SHARED[name] for name in ("flat", "times")),
    Quantity("verdict", "", "of a clearance or groove tried by hand", words=VERDICTS),
)
"""Columns of a table of readings."""


class Wider(NamedTuple):
    """By how much a hole's circle is wider than what pins and taper gauges feel of it: in the mean, how that scatters
    from hole to hole, and how surely the mean is known [mm]."""

    mean: float = 0.0
    scatter: float = 0.0
    sd: float = 0.0


NOT_WIDER = Wider()

Repeats: TypeAlias = Mapping[tuple[str, Way], float]
"""One standard deviation of a single reading of each tool, one way [mm]."""


class Thing(NamedTuple):
    """A thing of a print: which print, what it is, its mark, and what was drawn [mm]."""

    print: str
    what: Feature
    where: str
    drawn_mm: float


@dataclass(frozen=True)
class ThingRead:
    """A thing as it was read one way: values by tool [mm], and what pins leave of it with their deviation [mm]."""

    thing: Thing
    way: Way
    values: dict[str, list[float]]
    pins: tuple[float, float] | None = None


@dataclass(frozen=True)
class CouponReadings:
    """What a table says: things read, verdicts of things tried, and what its remarks say."""

    read: list[ThingRead]
    tried: dict[Thing, str]
    remarks: dict[str, str]
    problems: Problems

    @property
    def prints(self) -> list[str]:
        """Names of the prints."""
        return sorted({each.thing.print for each in self.read} | {each.print for each in self.tried})


def read_coupons(path: Path) -> CouponReadings:
    """Read a table of coupons.

    Raises
    ------
    TableError
        with everything that is wrong with it
    """
    table = read_table(path, "table of coupon readings", COLUMNS)
    things: dict[Thing, list[Row]] = {}
    tried: dict[Thing, str] = {}
    for row in table.rows:
        thing = _thing(row)
        if thing.what in TRIED:
            _try(row, thing, tried, table.problems)
        else:
            _check(row, thing, table.problems)
            things.setdefault(thing, []).append(row)
    table.problems.refuse()
    read = [found for thing, rows in things.items() for found in _ways(thing, rows, table.problems)]
    table.problems.refuse()
    return CouponReadings(read, tried, dict(table.remarks), table.problems)


def _thing(row: Row) -> Thing:
    what: Feature = row.values["what"]  # type: ignore[assignment]
    return Thing(row.word("print") or FIRST, what, row.word("where") or "", row.number("drawn_mm") or 0.0)


def _try(row: Row, thing: Thing, tried: dict[Thing, str], problems: Problems) -> None:
    verdict = row.word("verdict")
    if verdict is None:
        problems.say(f"is empty; a {thing.what} is tried by hand: {', '.join(VERDICTS)}", row.line, "verdict")
    elif tried.setdefault(thing, verdict) != verdict:
        said = f"{thing.what} {thing.where} of print {thing.print} is {verdict} here and {tried[thing]} above"
        problems.say(f"{said}; keep one", row.line, "verdict")


def _check(row: Row, thing: Thing, problems: Problems) -> None:
    if row.word("verdict"):
        problems.say(f"a {thing.what} is read, not tried; give a reading", row.line, "verdict")
    elif row.word("tool") is None:
        problems.say("is empty", row.line, "tool")
    elif thing.what == "seat":
        if row.number("reading_mm") is None:
            problems.say("is empty; give what was taken off until it sealed", row.line, "reading_mm")
    else:
        check_reading(row, (thing.what, thing.where), thing.drawn_mm, problems)


def _ways(thing: Thing, rows: Sequence[Row], problems: Problems) -> Iterable[ThingRead]:
    """A thing as a circle, along and around, as far as each was read."""
    pins = [row for row in rows if row.word("tool") in PINS]
    others = [row for row in rows if row.word("tool") not in PINS]
    left = between_pins((thing.what, thing.where), pins, problems)
    yield ThingRead(thing, "round", _by_tool(others, thing.what, "round"), left)
    both = [row for row in others if row.number("along_mm") is not None]
    ways: tuple[Way, Way] = ("along", "around")
    for way in ways if both else ():
        yield ThingRead(thing, way, _by_tool(both, thing.what, way))


def _by_tool(rows: Sequence[Row], what: Feature, way: Way) -> dict[str, list[float]]:
    found: dict[str, list[float]] = {}
    for row in rows:
        value = size_read(row, what, way)
        found.setdefault(str(row.word("tool")), []).extend([value] * round(row.number("times_x") or 1))
    return found


def repeats(read: Sequence[ThingRead]) -> Repeats:
    """How single readings scatter, of each tool that read anything more than once."""
    squares: dict[tuple[str, Way], float] = {}
    freedom: dict[tuple[str, Way], int] = {}
    for each in read:
        for tool, values in each.values.items():
            if len(values) > 1:
                key = tool, each.way
                squares[key] = squares.get(key, 0.0) + float(np.var(values)) * len(values)
                freedom[key] = freedom.get(key, 0) + len(values) - 1
    return {key: math.sqrt(each / freedom[key]) for key, each in squares.items()}


def sizes_of(read: Sequence[ThingRead], scatter: Repeats, wider: Wider = NOT_WIDER) -> Sizes:
    """Sizes of things, each of one or more tools.

    Parameters
    ----------
    read : n things
    scatter : of single readings, as far as known
    wider : what pins and taper gauges do not feel of holes
    """
    kinds = sorted({kind for each in read for kind in map(_family, [each] * len(each.values), each.values)})
    prints = sorted({each.thing.print for each in read})
    rows = [_size(each, scatter, wider, kinds) for each in read]
    return Sizes(
        made=np.array([made for made, _, _ in rows]),
        own=np.array([own for _, own, _ in rows]),
        shared=np.array([shared for _, _, shared in rows]).reshape(len(rows), len(kinds) + 1),
        prints=np.array([prints.index(each.thing.print) for each in read]),
        moved=np.ones(len(rows)),
    )


def _family(read: ThingRead, tool: str) -> tuple[str, bool]:
    """What errs alike: a tool as it is used inside, or outside."""
    return tool, read.thing.what in INSIDE


def _size(
    read: ThingRead, scatter: Repeats, wider: Wider, kinds: Sequence[tuple[str, bool]]
) -> tuple[float, float, np.ndarray]:
    """A size, its own deviation and those that it shares (tools + 1,) [mm], the last of all that feels the
    narrower way alone; tools count by their deviations."""
    more = wider if read.thing.what == "hole" else NOT_WIDER
    parts = [
        (float(np.mean(values)), scatter.get((tool, read.way), 0.0) / math.sqrt(len(values)), tool)
        for tool, values in read.values.items()
    ]
    if read.pins is not None:
        parts.append((*read.pins, ""))
    parts = [
        (made + more.mean, math.hypot(own, more.scatter), tool) if tool in ("", *NARROW) else (made, own, tool)
        for made, own, tool in parts
    ]
    weights = np.array([1.0 / max(own**2 + TOOLS.get(tool, 0.0) ** 2, 1e-8) for _, own, tool in parts])
    weights /= np.sum(weights)
    shared = np.zeros(len(kinds) + 1)
    for weight, (_, _, tool) in zip(weights, parts, strict=True):
        if tool in ("", *NARROW):
            shared[-1] += weight * more.sd
        if tool:
            shared[kinds.index(_family(read, tool))] = weight * TOOLS[tool]
    made, own = (np.array([part[place] for part in parts]) for place in (0, 1))
    return float(weights @ made), float(np.sqrt(weights**2 @ own**2)), shared
