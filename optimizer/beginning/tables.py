"""The tables of a begun project: what pieces, holes, keys, rows, chart lines and weights say."""

import math
from collections.abc import Mapping
from typing import Any

from optimizer.beginning.family import Family
from optimizer.beginning.hole_starts import HoleStart
from optimizer.beginning.meant import Meant
from optimizer.beginning.start import END_SHARES, Start
from optimizer.project.printer import Printer

JOINT_PER_BORE, JOINT_MM = 1.0, (12.0, 28.0)
"""A tenon is as long as the bore in the middle is wide, (common practice, no source)."""
ROOM_OF_JOINTS = 1.2
"""Pieces together are so much longer than the body, so that joints can go where holes leave room."""
JOINTS_MOST = 12
"""As many as a project may have."""
WEIGHT_LOWEST, WEIGHT_HIGHEST, WEIGHT_SHADED = 0.7, 0.5, 0.3


def pieces_of(family: Family, start: Start, printer: Printer) -> dict[str, Any]:
    """How many joints, how long, and where."""
    crook_end = start.bore.crook_end
    joint = round(min(max(JOINT_PER_BORE * start.bore.at(0.5 * start.end[1]), JOINT_MM[0]), JOINT_MM[1]))
    fewest = math.ceil(ROOM_OF_JOINTS * (start.end[1] - crook_end) / (printer.piece_max_mm - joint)) - 1
    if fewest < 1:
        return {"joints": None, "joint_mm": joint, "zones": None}
    zones = None
    if family.told["joint_free"]:
        lower, upper = (
            family.told["first_position"] * start.length * 2.0 ** (-step / 12.0) for step in family.told["joint_free"]
        )
        before = END_SHARES[0] * start.length - start.end[0]
        zones = [
            (round(crook_end + 20.0), round(upper - before)),
            (round(lower - before), round(start.end[0] - 0.04 * start.length)),
        ]
        zones = [zone for zone in zones if zone[1] - zone[0] > joint]
    return {"joints": (min(fewest, JOINTS_MOST), min(fewest + 1, JOINTS_MOST)), "joint_mm": joint, "zones": zones}


def hole_of(family: Family, name: str, begun: HoleStart) -> dict[str, Any]:
    """What a hole's line says."""
    hole = family.holes[name]
    entry: dict[str, Any] = {"by": hole["by"], "rest": hole["rest"]}
    if "role" in hole:
        entry["role"] = hole["role"]
    elif hole["by"] != "key" and family.keys and hole["by"] not in ("LT", "RT"):
        entry["cover"] = "plate"
    entry |= {f"{word}_mm": size for word, size in begun.items()}
    if hole["by"] in ("LT", "RT") and family.keys:
        entry["seat"] = "raised"
    entry["azimuth_deg"] = hole["azimuth_deg"]
    return entry | ({"on_water_line": True} if hole.get("on_water_line") else {})


def key_of(key: Mapping[str, Any]) -> dict[str, Any]:
    """What a key's line says."""
    words = ("touch", "touch_across_mm", "moved_by", "together", "opens", "closes")
    return {word: key[word] for word in words if key.get(word)}


def rows_of(family: Family, start: Start, holes: Mapping[str, HoleStart]) -> dict[str, Any]:
    """Where the rows of both hands may lie: about the holes that their fingers work."""
    found = {}
    for side, word, azimuth in (("L", "left", -70), ("R", "right", 60)):
        worked = [
            hole
            for key in family.keys.values()
            if key["touch"] in (f"{side}1", f"{side}2", f"{side}3") and key.get("when") == "rows"
            for hole in key.get("closes", ())
        ]
        places = [sum(holes[hole]["position"]) / 2.0 for hole in worked]
        if places:
            middle = sum(places) / len(places)
            found[word] = {
                "position_mm": (round(middle - 0.07 * start.length), round(middle + 0.06 * start.length)),
                "azimuth_deg": azimuth,
            }
    return found


def lines_of(meant: Meant) -> list[str]:
    """The lines of the chart."""
    lines = meant.family.lines
    names = [meant.named(meant.lowest + line.semitones) for line in lines]
    wide = max(map(len, names))
    return [
        f"{name:<{wide}}  {line.register}  {line.pressed}{'  option' if line.option else ''}"
        for name, line in zip(names, lines, strict=True)
    ]


def weights_of(meant: Meant) -> dict[str, float]:
    """The two lowest and the three highest notes; forks and half holes, which a player shades anyway."""
    family = meant.family
    steps = sorted({line.semitones for line in family.lines})
    if len(steps) < 8:
        return {}
    if family.keys:
        weights = dict.fromkeys(steps[:2], WEIGHT_LOWEST) | dict.fromkeys(steps[-3:], WEIGHT_HIGHEST)
    else:
        patterns = {line.semitones: line.pressed.split()[0] for line in family.lines}
        weights = {step: WEIGHT_SHADED for step, pattern in patterns.items() if "h" in pattern or "xo" in pattern}
    return {meant.named(meant.lowest + step): weight for step, weight in weights.items()}
