"""Tables of an instrument that is made: its holes and its bore, as a rule and calipers tell them."""

import itertools
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from optimizer.project.model import FINGERS
from optimizer.project.sentences import nearest
from optimizer.prototype.measured_table import Problems, Row, read_table
from optimizer.prototype.quantities import Quantity
from optimizer.prototype.toml_table import read_toml_table
from optimizer.words import listed

LONGEST_MM = 6000.0
WIDEST_MM = 200.0

HOLES = (
    Quantity("hole", "", "its name, as in the project", needed=True),
    Quantity("from_reed", "mm", "its middle from the reed end, along the bore", True, 0.0, LONGEST_MM),
    Quantity("bore_end", "mm", "its diameter at the bore", True, 0.0, WIDEST_MM, at_least=False),
    Quantity("outer_end", "mm", "its diameter at the top, if another", False, 0.0, WIDEST_MM, at_least=False),
    Quantity("chimney", "mm", "its height, from the bore to finger or pad", True, 0.0, 100.0, at_least=False),
    Quantity("azimuth", "deg", "round the body, clockwise seen from the reed", False, -360.0, 360.0),
    Quantity("worked_by", "", "the finger on it, or key", words=(*FINGERS, "key")),
    Quantity("cover", "", "bare finger, or a plate under it", words=("finger", "plate")),
    Quantity("rest", "", "how it is when nothing is touched", words=("open", "closed")),
    Quantity("role", "", "tone hole, or vent of a register", words=("tone", "vent")),
    Quantity("seat", "", "what it ends in", words=("saddle", "raised", "sunk")),
    Quantity("touch_from_reed", "mm", "where its plate is touched, from the reed end", False, 0.0, LONGEST_MM),
    Quantity("pad_diameter", "mm", "of the pad that closes it", False, 0.0, WIDEST_MM, at_least=False),
    Quantity("pad_height", "mm", "how far its open pad stands off", False, 0.0, 50.0, at_least=False),
)  # fmt: skip
"""What a table of holes may say; of a project's holes it need not say what the project does."""

BORE = (
    Quantity("from_reed", "mm", "from the reed end", True, 0.0, LONGEST_MM),
    Quantity("diameter", "mm", "how wide the bore is there", True, 0.0, 400.0, at_least=False),
)

KEYS = {
    "from_reed_mm": "position_mm", "bore_end_mm": "diameter_mm", "chimney_mm": "chimney_mm",
    "azimuth_deg": "azimuth_deg", "worked_by": "by", "cover": "cover", "rest": "rest", "role": "role", "seat": "seat",
    "pad_diameter_mm": "pad_diameter_mm", "pad_height_mm": "pad_lift_mm",
}  # fmt: skip
"""Keys of a project's hole, by the headers that they are told under."""

INCHES_SHARE = 1.0 / 15.0
"""Of a bore's length a table that reaches no further is likely one of inches, in which it is 1/25."""


@dataclass(frozen=True)
class TableOfHoles:
    """Holes that are there: for each, by its name, what a project's hole says, and where plates are touched [mm]."""

    entries: dict[str, dict[str, Any]]
    touch_mm: dict[str, float] = field(default_factory=dict)


def read_holes(path: Path, holes: Mapping[str, Mapping[str, Any]], end_mm: float | None) -> TableOfHoles:
    """The table of the holes that an instrument has.

    Parameters
    ----------
    path : of the table, .csv or .toml
    holes : the project's own by name, in their order, which may say what the table does not; none where it has none
    end_mm : where the bore ends, where that is known

    Raises
    ------
    TableError
        with everything that is wrong with it
    """
    by_line = path.suffix.lower() == ".toml"
    table = read_toml_table(path, "holes table", HOLES, "holes") if by_line else read_table(path, "holes table", HOLES)
    problems = table.problems
    rows: dict[str, Row] = {}
    for row in table.rows:
        name = str(row.values["hole"])
        if name in rows:
            problems.say(f"{name} stands on line {rows[name].line} already; each hole has one line", row.line, "hole")
        elif holes and name not in holes:
            problems.say(f"the project has no hole {name!r}{nearest(name, holes)}", row.line, "hole")
        rows.setdefault(name, row)
    missing = [name for name in holes if name not in rows]
    if missing:
        problems.say(f"has no line for {listed(missing)}, which the project's [holes] name")
    problems.refuse()
    _look_for_other_scales(rows, holes, end_mm, problems)
    found = {name: _entry(row, holes.get(name), problems) for name, row in rows.items()}
    problems.refuse()
    touched = {name: row.number("touch_from_reed_mm") for name, row in rows.items()}
    order = list(holes) or sorted(
        found, key=lambda name: (found[name].get("role") == "vent", -found[name]["position_mm"])
    )
    return TableOfHoles({name: found[name] for name in order}, {k: v for k, v in touched.items() if v is not None})


def _entry(row: Row, known: Mapping[str, Any] | None, problems: Problems) -> dict[str, Any]:
    """What a project's hole says, by the table where that speaks of it."""
    entry = {key: value for key, value in (known or {}).items() if key not in ("finish", "locked")}
    entry |= {KEYS[header]: value for header, value in row.values.items() if header in KEYS}
    if "by" not in entry:
        problems.say("must be the finger on the hole, or key, as the project has no [holes]", row.line, "worked_by")
    if entry.get("cover") == "either":
        problems.say(
            "must be finger or plate: the project leaves it open, the instrument has one of them", row.line, "cover"
        )
    top, bottom = row.number("outer_end_mm"), row.number("bore_end_mm") or 1.0
    if top is None:
        return entry
    share = round(top / bottom, 6)
    if not 0.3 <= share <= 2.0:
        problems.say(
            f"is {share:.2g} times as wide as the bore end; it must be 0.3 to 2 times", row.line, "outer_end_mm"
        )
    return entry | {"top_ratio": share}


def _look_for_other_scales(
    rows: Mapping[str, Row], holes: Mapping[str, Mapping[str, Any]], end_mm: float | None, problems: Problems
) -> None:
    """Places that are likely inches, or counted from the bell."""
    places = {name: row.number("from_reed_mm") or 0.0 for name, row in rows.items()}
    farthest = max(places, key=lambda name: places[name])
    if end_mm and places[farthest] < end_mm * INCHES_SHARE:
        said = (
            f"no hole lies beyond {places[farthest]:g} mm of a bore of {end_mm:g}; are these inches? write millimetres"
        )
        problems.say(said, rows[farthest].line, "from_reed_mm")
    elif end_mm and places[farthest] >= end_mm:
        said = f"{farthest} lies at {places[farthest]:g}, but the bore ends at {end_mm:g}"
        problems.say(said, rows[farthest].line, "from_reed_mm")
    tones = [name for name, entry in holes.items() if entry.get("role", "tone") == "tone"]
    steps = [places[lower] - places[upper] for lower, upper in itertools.pairwise(tones)]
    if len(steps) > 1 and sum(step < 0.0 for step in steps) > 0.8 * len(steps):
        said = (
            f"{tones[0]} is listed as the hole nearest the bell and lies nearest the reed; are places counted from the "
            "bell? write the bore's length less each"
        )
        problems.say(said, rows[tones[0]].line, "from_reed_mm")


def read_bore(path: Path) -> list[list[float]]:
    """Points [position, diameter] of a bore that is there [mm].

    Raises
    ------
    TableError
        with everything that is wrong with it
    """
    table = read_table(path, "bore table", BORE)
    points = [[row.number("from_reed_mm") or 0.0, row.number("diameter_mm") or 0.0] for row in table.rows]
    if len(points) < 2:
        table.problems.say("must have two places at least, the reed end and the bell end", table.rows[0].line)
    elif points[0][0] != 0.0:
        said = f"the first place must be 0, the reed end, but is {points[0][0]:g}; the last one is the bell end"
        table.problems.say(said, table.rows[0].line, "from_reed_mm")
    for row, (before, after) in zip(table.rows[1:], itertools.pairwise(points), strict=True):
        if after[0] < before[0]:
            said = f"goes back to {after[0]:g} after {before[0]:g}; places go from the reed end to the bell"
            table.problems.say(said, row.line, "from_reed_mm")
    table.problems.refuse()
    return points
