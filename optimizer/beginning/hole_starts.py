"""Where the holes of a begun instrument may lie, and how wide and deep they may be: the textbook's places with room.

A hole lies short of the place that its note asks of an open end, by its own correction and that of the closed holes
above it, some 5 to 10 %.
"""

import math

from optimizer.beginning.family import Family
from optimizer.beginning.start import Start
from optimizer.project.venting import Venting

VENTING = Venting()
"""What a begun project asks of holes: what is usual."""

KEYED_LEAST = 0.27
"""Least width of a hole on a keyed instrument, of the bore in the middle of its range: less than venting asks of it in
any case, as searches that start from narrower holes put joints on the right side of them (own trials)."""

ROOM_SHARE = 0.08
"""Room of a hole on either side, of the textbook length of the lowest note."""

HoleStart = dict[str, tuple[float, float]]
"""Position, diameter and chimney of a hole [mm], each with its range."""


def holes_of(family: Family, start: Start) -> dict[str, HoleStart]:
    """What each hole of a family begins with, by its name."""
    return {name: _hole(family, name, start) for name in family.holes}


def _hole(family: Family, name: str, start: Start) -> HoleStart:
    places = _places(family, name, start)
    return {"position": places, **_sizes(family, name, start, places)}


def _places(family: Family, name: str, start: Start) -> tuple[float, float]:
    """Where a hole may lie; a vent that reaches the crook lies in it, all others beyond."""
    vent, crook_end = name in family.told["vent_shares"], start.bore.crook_end
    if vent:
        low, high = (start.place(share) for share in family.told["vent_shares"][name])
    else:
        up = 2.0 ** (-family.holes[name]["gives"] / 12.0)
        middle = start.place(family.told["first_position"] * up)
        room = ROOM_SHARE * start.length * (0.6 + 0.4 * up)
        low, high = middle - room, middle + room
    in_crook = vent and high < crook_end + 40.0
    least = 20.0 if in_crook else crook_end + 15.0
    most = crook_end - 10.0 if in_crook else start.end[0] + 0.1 * (start.end[1] - start.end[0])
    low, high = max(low, least), min(max(high, least + 0.06 * start.length), most)
    return round(low), round(high)


def _sizes(family: Family, name: str, start: Start, places: tuple[float, float]) -> HoleStart:
    """Diameter and chimney of a hole; a bare one nowhere less wide than it has to be to vent the bore where that is
    narrowest."""
    narrow, bore = start.bore.at(places[0]), start.bore.at(0.5 * sum(places))
    wall, keyed = start.wall, bool(family.keys)
    scale = start.low**-0.4
    if name in family.told["vent_shares"]:
        if not keyed:
            return {"diameter": (1.5, 5.0), "chimney": (wall, wall)}
        diameter = round(0.8 * max(scale, 1.0), 1), round(3.2 * scale, 1)
        return {"diameter": diameter, "chimney": (wall + 2.0, round(wall + family.told["vent_chimney"] * scale, 1))}
    palm = name in family.told["palm"]
    seat = wall + (round(max(1.0, 1.3 * scale - 0.2), 1) if keyed else 0.0)
    widest = max(0.8 if palm else 0.0, family.told["widest_of_bore"])
    least = KEYED_LEAST * bore if keyed else math.ceil(10.0 * VENTING.least_under_finger_share * narrow) / 10.0
    return {
        "diameter": (round(max(3.0, least), 1), round(max(widest * bore, 6.0), 1)),
        "chimney": (seat, round(seat + 4.0 * scale, 1) if palm else seat),
    }
