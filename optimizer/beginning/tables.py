"""The tables of a begun project: what pieces, holes, keys, rows, chart lines and weights say."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from optimizer.beginning.answers import AnswersError
from optimizer.beginning.family import Family, Line
from optimizer.beginning.hole_starts import HoleStart
from optimizer.beginning.meant import Meant
from optimizer.beginning.start import Start
from optimizer.project.body import BodySections
from optimizer.project.findings import at
from optimizer.project.numbers import COUNT_MOST
from optimizer.project.printer import Printer

JOINT_PER_BORE, JOINT_MM = 1.0, (12.0, 28.0)
"""A tenon is as long as the bore in the middle is wide, (common practice, no source)."""
SECTIONS = {name: BodySections.model_fields[name].default for name in ("tenon_wall_mm", "tenon_length_per_diameter")}
ROOM_OF_JOINTS = 1.2
"""Pieces together are so much longer than the body, so that joints can go where holes leave room."""
ROW_ASIDE_MM = 12.0
"""From the edge of a hole to the middle of a finger in its row beside it: rim, cup and half a finger."""
WEIGHT_LOWEST, WEIGHT_HIGHEST, WEIGHT_SHADED = 0.7, 0.5, 0.3

NO_PIECES = (
    "a joint of this bore is as long as the longest piece that can be printed, {longest:g} mm; take a narrower bore"
)


def pieces_of(family: Family, start: Start, printer: Printer, sizes: Sequence[str]) -> dict[str, Any]:
    """How many joints, how long, and where.

    Parameters
    ----------
    family : by which keys and holes go
    start : bore, and where it may end
    printer : how long a piece may be
    sizes : names of the answers that the bore is by

    Raises
    ------
    AnswersError
        where no number of pieces makes the body
    """
    joint = round(min(max(JOINT_PER_BORE * start.bore.at(0.5 * start.end[1]), JOINT_MM[0]), JOINT_MM[1]))
    longest, body = printer.piece_max_mm, start.end[1] - start.bore.crook_end
    if body <= longest:
        return {"joints": None, "joint_mm": joint, "zones": None}
    if _lost(family, max(start.bore.at(place) for place in (start.bore.crook_end, *start.end)), joint) >= longest:
        raise AnswersError([at(name, NO_PIECES.format(longest=longest)) for name in sizes])
    fewest = _pieces(family, start, joint, longest) - 1
    joints = (fewest, max(fewest + 1, _pieces(family, start, joint, longest, ROOM_OF_JOINTS) - 1))
    zones = _zones(family, start, joint, longest - joint)
    return {"joints": tuple(min(each, COUNT_MOST) for each in joints), "joint_mm": joint, "zones": zones}


def _pieces(family: Family, start: Start, joint: float, longest: float, room: float = 1.0) -> int:
    """How many pieces no longer than that make the body, with so many times the room they need."""
    place, count = start.bore.crook_end, 0
    while place < start.end[1] and count <= COUNT_MOST:
        place += (longest - _lost(family, start.bore.at(min(place + longest, start.end[1])), joint)) / room
        count += 1
    return count


def _lost(family: Family, bore: float, joint: float) -> float:
    """How much of a piece goes into its joint [mm]. In a bore wider than a joint is long the tenon grows with it, and
    half a hole is lost, too, as the joint goes before or after."""
    if bore <= JOINT_MM[1]:
        return joint
    tenon = SECTIONS["tenon_length_per_diameter"] * (bore + 2.0 * SECTIONS["tenon_wall_mm"])
    return float(max(joint, tenon + 0.5 * family.told["widest_of_bore"] * bore))


def _zones(family: Family, start: Start, joint: float, longest: float) -> list[tuple[int, int]] | None:
    """Where the middles of joints may lie: off the holes of each hand, as far as no piece becomes too long; None:
    anywhere."""
    ends = (start.bore.crook_end + 20.0, start.end[0] - 0.04 * start.length)
    spans = [
        [start.place(family.told["first_position"] * 2.0 ** (-step / 12.0)) for step in (high, low)]
        for low, high in family.told["joint_free"]
    ]
    while spans:
        edges = [ends[0], *(edge for low, high in spans for edge in (low - 0.5 * joint, high + 0.5 * joint)), ends[1]]
        pairs = zip(edges[::2], edges[1::2], strict=True)
        zones = [(round(low), round(high)) for low, high in pairs if high > low]
        if _in_pieces(zones, start, longest):
            return zones
        spans.pop()
    return None


def _in_pieces(zones: Sequence[tuple[int, int]], start: Start, longest: float) -> bool:
    """Whether pieces no longer than that reach from crook to bell with joints in some zones."""
    place, end = start.bore.crook_end, sum(start.end) / 2.0
    while place + longest < end:
        within = [min(high, place + longest) for low, high in zones if low <= place + longest and high > place]
        if not within or max(within) <= place:
            return False
        place = max(within)
    return True


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
    body = 0.5 * start.bore.at(0.5 * start.end[1]) + start.wall
    aside = math.degrees((ROW_ASIDE_MM + 0.5 * family.told["widest_of_bore"] * (2.0 * (body - start.wall))) / body)
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
                "azimuth_deg": round(math.copysign(min(max(aside, abs(azimuth)), 100.0), azimuth)),
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
    plain = {line.semitones for line in family.lines if "order" not in family.chart or not _shaded(line)}
    shaded = [step for step in steps if step not in plain]
    weights = dict.fromkeys(steps[:2], WEIGHT_LOWEST) | dict.fromkeys(steps[-3:], WEIGHT_HIGHEST)
    weights |= dict.fromkeys(shaded, WEIGHT_SHADED)
    return {meant.named(meant.lowest + step): weight for step, weight in weights.items()}


def _shaded(line: Line) -> bool:
    """Whether a pattern is a fork or half holes a finger."""
    pattern = line.pressed.split()[0]
    return "h" in pattern or "xo" in pattern
