"""From answers to the text of a project file that passes every check."""

import math
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from acoustics.pitch import midi_number, note_name
from optimizer.beginning.answers import Answers
from optimizer.beginning.family import Family, family_file, family_of
from optimizer.beginning.start import BELL_DEGC, CO2_PERCENT, END_SHARES, HUMIDITY_PERCENT, REED_DEGC, Start, start_of
from optimizer.project.faults import Fault
from optimizer.project.included import read_included
from optimizer.project.loading import LoadedProject, parse_project, text_with_files
from optimizer.project.printer import Printer
from optimizer.prototype.present_tables import read_bore

HEADING = "the answers make no project"
JOINT_PER_BORE, JOINT_MM = 1.0, (12.0, 28.0)
"""A tenon is as long as the bore in the middle is wide, (common practice, no source)."""
ROOM_OF_JOINTS = 1.2
"""Pieces together are so much longer than the body, so that joints can go where holes leave room."""
JOINT_CLEARANCE_MM = 2.0
"""As little as can be built, so that joints find room between holes a semitone apart."""
WEIGHT_LOWEST, WEIGHT_HIGHEST = 0.7, 0.5


def begun(answers: Answers, path: Path) -> LoadedProject:
    """The project of some answers, checked, not written yet.

    Parameters
    ----------
    answers : as they were given
    path : where its file will be, from whose folder hand, printer and stock files are named

    Raises
    ------
    Fault
        where answers do not go together, or a file that they name cannot be read
    """
    kind = _kind(answers)
    lowest = _lowest(answers)
    family = family_of(answers, lowest)
    if not family.lines:
        raise Fault("no note of the family is left; take more notes", heading=HEADING)
    table = [(s, d) for s, d in read_bore(answers.bore_table)] if answers.bore_table else None
    start = start_of(answers, family, kind, lowest + answers.transposition_semitones, table)
    text = _text(answers, family, start, kind, lowest, path)
    return parse_project(text_with_files(text, path, None), str(path), False, text)


def _kind(answers: Answers) -> str:
    """Cone or cylinder, as the family has it."""
    fixed = family_file(answers.family).get("bore")
    if fixed and answers.bore and answers.bore != fixed:
        said = f"{answers.family} has a {fixed} for a bore, and not a {answers.bore}; take six-hole, or leave bore out"
        raise Fault(said, heading=HEADING)
    if answers.family == "six-hole" and answers.rows:
        raise Fault("six-hole has no keys, so that no touches can stand in rows", heading=HEADING)
    return fixed or answers.bore or "cone"


def _lowest(answers: Answers) -> int:
    """MIDI key number of the lowest written note."""
    try:
        return midi_number(answers.lowest or family_file(answers.family)["usual_lowest"])
    except ValueError as error:
        raise Fault(f"lowest: {error}", heading=HEADING) from None


def _text(answers: Answers, family: Family, start: Start, kind: str, lowest: int, path: Path) -> str:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    known = Environment(
        loader=PackageLoader("optimizer", "beginning"),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        autoescape=False,  # TOML: strings are quoted by `quoted`
        keep_trailing_newline=True,
    )
    known.filters |= {"quoted": _toml, "toml": _toml, "num": _toml, "span": _span, "entry": _entry, "bare": _bare}
    printer = read_included(answers.printer, Printer, "printer").model if answers.printer else Printer()
    return known.get_template("project.toml.jinja").render(
        name=answers.name,
        title=str(family.told["title"]),
        kind=kind,
        table=answers.bore_table.name if answers.bore_table else None,
        lowest=note_name(lowest),
        sounding=note_name(lowest + answers.transposition_semitones),
        count=len({line.semitones for line in family.lines}),
        start=start,
        bore_told=_bore_told(start, kind),
        included=_included(answers, path),
        transposition=answers.transposition_semitones,
        reed_degC=REED_DEGC,
        bell_degC=BELL_DEGC,
        humidity=HUMIDITY_PERCENT,
        co2=CO2_PERCENT,
        **_pieces(family, start, printer),
        joint_clearance=JOINT_CLEARANCE_MM,
        piece_max=printer.piece_max_mm,
        holes={name: _hole(family, start, name) for name in family.holes},
        vents_keyed=any(hole.get("role") == "vent" for hole in family.holes.values()) and bool(family.keys),
        keys={name: _key(key) for name, key in family.keys.items()},
        rows=_rows(family, start) if answers.rows else None,
        chart=family.chart,
        lines=_lines(family, lowest),
        weights=_weights(family, lowest),
        lever_max=round(max(300.0, 0.42 * start.length), -1),
        ratio=family.told.get("register_ratio_min", 1.0),
    )


def _included(answers: Answers, path: Path) -> list[tuple[str, str, str]]:
    """Tables that are files of their own: their name, path from the project's folder, and what they are."""
    told = {
        "printer": "What it prints with: how long a piece may be, and how far a print is enlarged.",
        "stock": "What lies in the drawer: sizes that holes, tubes and pads are taken from.",
        "hand": "The player's hand; limits are estimates until it is gauged (`holewright gauge`).",
    }
    given = {name: getattr(answers, name) for name in told}
    return [
        (name, Path(os.path.relpath(file, path.parent)).as_posix(), told[name]) for name, file in given.items() if file
    ]


def _bore_told(start: Start, kind: str) -> str:
    """The bore in words."""
    (s0, d0), (s1, d1) = start.points[-2:]
    if kind == "cylinder" or d1 <= d0:
        return f"{d0:g} mm all the way"
    angle = math.degrees(2.0 * math.atan((d1 - d0) / (s1 - s0) / 2.0))
    return f"A straight cone of {angle:.1f} degrees (full angle), {d1:g} mm at the bell"


def _pieces(family: Family, start: Start, printer: Printer) -> dict[str, Any]:
    """How many joints, how long, and where."""
    joint = round(min(max(JOINT_PER_BORE * start.bore_at(0.5 * start.end[1]), JOINT_MM[0]), JOINT_MM[1]))
    fewest = math.ceil(ROOM_OF_JOINTS * (start.end[1] - start.crook_end) / (printer.piece_max_mm - joint)) - 1
    if fewest < 1:
        return {"joints": None, "joint_mm": joint, "zones": None}
    zones = None
    if family.told["joint_free"]:
        lower, upper = (
            family.told["first_position"] * start.length * 2.0 ** (-step / 12.0) for step in family.told["joint_free"]
        )
        before = END_SHARES[0] * start.length - start.end[0]
        zones = [
            (round(start.crook_end + 20.0), round(upper - before)),
            (round(lower - before), round(start.end[0] - 0.04 * start.length)),
        ]
        zones = [zone for zone in zones if zone[1] - zone[0] > joint]
    return {"joints": (fewest, fewest + 1), "joint_mm": joint, "zones": zones}


def _hole(family: Family, start: Start, name: str) -> dict[str, Any]:
    hole, sizes = family.holes[name], start.holes[name]
    entry: dict[str, Any] = {"by": hole["by"], "rest": hole["rest"]}
    if "role" in hole:
        entry["role"] = hole["role"]
    elif hole["by"] != "key" and family.keys and hole["by"] not in ("LT", "RT"):
        entry["cover"] = "plate"
    entry |= {f"{word}_mm": sizes[word] for word in ("position", "diameter", "chimney")}
    if hole["by"] in ("LT", "RT") and family.keys:
        entry["seat"] = "raised"
    entry["azimuth_deg"] = hole["azimuth_deg"]
    return entry | ({"on_water_line": True} if hole.get("on_water_line") else {})


def _key(key: Mapping[str, Any]) -> dict[str, Any]:
    words = ("touch", "touch_across_mm", "moved_by", "together", "opens", "closes")
    return {word: key[word] for word in words if key.get(word)}


def _rows(family: Family, start: Start) -> dict[str, Any]:
    """Where the rows of both hands may lie: about the holes that their fingers work."""
    found = {}
    for side, word, azimuth in (("L", "left", -70), ("R", "right", 60)):
        worked = [
            hole
            for key in family.keys.values()
            if key["touch"] in (f"{side}1", f"{side}2", f"{side}3") and key.get("when") == "rows"
            for hole in key.get("closes", ())
        ]
        places = [sum(start.holes[hole]["position"]) / 2.0 for hole in worked]
        if places:
            middle = sum(places) / len(places)
            found[word] = {
                "position_mm": (round(middle - 0.07 * start.length), round(middle + 0.06 * start.length)),
                "azimuth_deg": azimuth,
            }
    return found


def _lines(family: Family, lowest: int) -> list[str]:
    names = [note_name(lowest + line.semitones) for line in family.lines]
    wide = max(map(len, names))
    return [
        f"{name:<{wide}}  {line.register}  {line.pressed}{'  option' if line.option else ''}"
        for name, line in zip(names, family.lines, strict=True)
    ]


def _weights(family: Family, lowest: int) -> dict[str, float]:
    """The two lowest and the three highest notes; forks and half holes, which a player shades anyway."""
    steps = sorted({line.semitones for line in family.lines})
    if len(steps) < 8:
        return {}
    if not family.keys:
        shaded = [
            line.semitones
            for line in family.lines
            if "h" in line.pressed.split()[0] or _forked(line.pressed.split()[0])
        ]
        return {note_name(lowest + step): 0.3 for step in shaded}
    weights = dict.fromkeys(steps[:2], WEIGHT_LOWEST) | dict.fromkeys(steps[-3:], WEIGHT_HIGHEST)
    return {note_name(lowest + step): weight for step, weight in weights.items()}


def _forked(pattern: str) -> bool:
    """Whether a closed hole lies below an open one."""
    return "xo" in pattern


def _toml(value: Any) -> str:
    """A value as TOML has it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"')
        return f'"{escaped}"'
    if isinstance(value, tuple | list):
        return f"[{', '.join(_toml(each) for each in value)}]"
    return f"{value:g}" if abs(value) < 1e5 else repr(value)


def _span(value: tuple[float, float]) -> str:
    """A range, or a point."""
    return _toml(list(value))


def _entry(table: Mapping[str, Any]) -> str:
    """The inside of an inline table; ranges of one number are that number."""

    def told(value: Any) -> str:
        return _toml(value[0] if isinstance(value, tuple) and value[0] == value[1] else value)

    return ", ".join(f"{_bare(name)} = {told(value)}" for name, value in table.items())


def _bare(name: str) -> str:
    """A key of TOML, quoted where it must be."""
    return name if name.replace("_", "").replace("-", "").isalnum() and name.isascii() else _toml(name)
