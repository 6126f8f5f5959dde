"""Lengths that are likely in another unit, from the other end, or a radius: one hole among others, all holes, the bore.

A hole is suspected only where it goes against the others as it stands, and with them as it is asked for.
"""

import itertools
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from optimizer.project.findings import Suspicion, at
from optimizer.project.model import Hole
from optimizer.project.numbers import MM_IN
from optimizer.project.venting import Venting

Span = tuple[float, float]
UNDER_KEY, UNDER_FINGER = (
    Venting.model_fields[name].default for name in ("least_under_key_share", "least_under_finger_share")
)
UNITS = {"cm": "centimetres", "in": "inches", "m": "metres"}


def length_suspicions(data: Mapping[str, Any], sections: Mapping[str, Any]) -> list[Suspicion]:
    """Lengths of bore and holes that are likely mistaken; the bore's first, since holes are judged by it."""
    holes: list[Hole] = sections.get("holes", [])
    points = _points(data)
    if not holes or not points:
        return []
    tone = [hole for hole in holes if hole.role == "tone"]
    end = sections["bore"].end_span_mm[1] if "bore" in sections else points[-1][0]
    found = _bore_length(holes, points) or _all_positions(tone, end) or _bore_width(holes, points)
    if found:
        return found
    found = _turned_round(tone, end) or _all_radii(tone, points)
    return found or [*_one_position(tone, end), *_one_size(tone, "diameter_mm"), *_one_size(tone, "chimney_mm")]


def _points(data: Mapping[str, Any]) -> list[Span]:
    """The bore's points as written, where they are pairs of numbers."""
    written = data.get("bore", {}).get("points_mm", []) if isinstance(data.get("bore"), dict) else []
    good = isinstance(written, list) and all(
        isinstance(point, list) and len(point) == 2 and all(type(each) in (int, float) for each in point)
        for point in written
    )
    return [(float(place), float(wide)) for place, wide in written] if good and len(written) > 1 else []


def shown(span: Span, digits: int = 4) -> str:
    """A range as it is written."""
    low, high = (f"{each:.{digits}g}" for each in span)
    return low if span[0] == span[1] else f"[{low}, {high}]"


def _times(span: Span, factor: float) -> Span:
    return span[0] * factor, span[1] * factor


def _bore_length(holes: Sequence[Hole], points: Sequence[Span]) -> list[Suspicion]:
    """A bore whose end lies before most of its holes: in another unit than they."""
    end, far = points[-1][0], max(hole.position_mm[1] for hole in holes)
    beyond = sum(hole.position_mm[0] > end for hole in holes)
    if end <= 0 or 2 * beyond < len(holes):
        return []
    for unit, name in UNITS.items():
        factor = MM_IN[unit]
        if 0.8 * far <= factor * end <= 2.0 * far:
            wide = max(hole.diameter_mm[1] for hole in holes)
            both = factor if max(width for _, width in points) < wide else 1.0
            some = ", ".join(f"[{factor * place:.6g}, {both * width:.4g}]" for place, width in points[:3])
            more = ", ..." if len(points) > 3 else ""
            said = (
                f"the bore ends at {end:g}, but holes lie at up to {far:g}; did you mean [{some}{more}]? It looks "
                f"written in {name}"
            )
            return [Suspicion(at("bore.points_mm", said), ("bore.*", "holes.*_mm", "hand"))]
    return []


def _bore_width(holes: Sequence[Hole], points: Sequence[Span]) -> list[Suspicion]:
    """Holes wider than the bore where they lie, and not if its diameters were radii or in another unit."""
    places, widths = np.array(points).T
    room = [float(np.interp(hole.position_mm[1], places, widths)) for hole in holes]
    if sum(hole.diameter_mm[1] > width for hole, width in zip(holes, room, strict=True)) * 3 < len(holes):
        return []
    for factor, what in ((2.0, "its diameters look like radii"), (10.0, "its diameters look like centimetres"),
                         (25.4, "its diameters look like inches")):  # fmt: skip
        if all(hole.diameter_mm[1] <= factor * width for hole, width in zip(holes, room, strict=True)):
            some = ", ".join(f"[{place:g}, {factor * width:.4g}]" for place, width in points[:3])
            more = ", ..." if len(points) > 3 else ""
            worst = max(zip(holes, room, strict=True), key=lambda pair: pair[0].diameter_mm[1] / pair[1])
            said = (
                f"the bore is {worst[1]:.3g} wide where {worst[0].id} may be {worst[0].diameter_mm[1]:g}; did you mean "
                f"[{some}{more}]? {what}"
            )
            return [Suspicion(at("bore.points_mm", said), ("bore.*", "holes.*_mm", "hand"))]
    return []


RADIUS_SHARE = 0.85
"""Of the least width that a tone hole wants (`[venting]`): where the middles of half of the ranges are less, all are
likely radii."""


def _all_radii(tone: Sequence[Hole], points: Sequence[Span]) -> list[Suspicion]:
    """All tone holes so narrow for their bore that a maker's are twice as wide, and would still be no wider than it."""
    places, widths = np.array(points).T
    wide, widest = (np.array([np.interp(hole.position_mm[end], places, widths) for hole in tone]) for end in (0, 1))
    least = np.array([UNDER_KEY if hole.padded else UNDER_FINGER for hole in tone]) * wide
    low, high = np.array([hole.diameter_mm for hole in tone], float).reshape(-1, 2).T
    if len(tone) < 3 or np.median(0.5 * (low + high) / least) >= RADIUS_SHARE or np.any(2.0 * high > widest):
        return []
    first = tone[0]
    said = (
        f"all tone holes are narrow for their bore, {first.id} {shown(first.diameter_mm)} in {wide[0]:.3g}; did you "
        f"mean {shown(_times(first.diameter_mm, 2.0))}, and so on? They look like radii"
    )
    return [Suspicion(at(f"holes.{first.id}.diameter_mm", said), ("holes.*.diameter_mm", "hand"))]


def _all_positions(tone: Sequence[Hole], end: float) -> list[Suspicion]:
    """All tone holes crowded at the reed: in another unit than the bore."""
    far = max((hole.position_mm[1] for hole in tone), default=0.0)
    fits = [unit for unit in UNITS if far * MM_IN[unit] <= 1.02 * end]
    if len(tone) < 3 or not 0 < far < 0.12 * end or not fits:
        return []
    unit = fits[-1]
    first = shown(_times(tone[0].position_mm, MM_IN[unit]), 6)
    said = (
        f"all tone holes lie within the first {far:g} mm of a bore of {end:g}; did you mean {tone[0].id} at {first}, "
        f"and so on? Positions look written in {UNITS[unit]}"
    )
    return [Suspicion(at("holes", said), ("holes.*.position_mm", "hand"))]


def _against(hole: Hole, span: Span, tone: Sequence[Hole]) -> int:
    """How many tone holes a hole at a place could not keep its order with."""
    here = next(number for number, each in enumerate(tone) if each is hole)
    below = sum(span[0] > each.position_mm[1] for each in tone[:here])
    return below + sum(span[1] < each.position_mm[0] for each in tone[here + 1 :])


def _turned_round(tone: Sequence[Hole], end: float) -> list[Suspicion]:
    """A list whose order is the reverse: positions counted from the bell, or holes listed from the reed."""
    pairs = list(itertools.combinations(tone, 2))
    wrong = sum(above.position_mm[0] > below.position_mm[1] for below, above in pairs)
    right = sum(below.position_mm[0] > above.position_mm[1] for below, above in pairs)
    if len(tone) < 3 or wrong < 2 or right * 4 > wrong:
        return []
    hands = [hole.by[0] for hole in tone if hole.by != "key" and hole.by[1] != "T"]
    middle = [sum(hole.diameter_mm) for hole in (tone[0], tone[-1])]
    from_bell = hands[0] == "R" if len(set(hands)) == 2 else middle[0] > middle[1]
    low, high = tone[0].position_mm
    if from_bell:
        said = (
            f"positions grow from the first hole to the last, as if they were counted from the bell; they count from "
            f"the reed: {tone[0].id} at {shown((end - high, end - low))} in a bore of {end:g}, and so on"
        )
    else:
        said = f"they are listed from the reed; list them from the bell, {tone[-1].id} first"
    return [Suspicion(at("holes", said), ("holes.*.position_mm", "hand"))]


def _one_position(tone: Sequence[Hole], end: float) -> list[Suspicion]:
    """Holes that are out of order alone, and in order in another unit or counted from the bell."""
    found = []
    for hole in tone:
        span, others = hole.position_mm, [each for each in tone if each is not hole]
        out = _against(hole, span, tone)
        settled = all(not _against(each, each.position_mm, others) for each in others)
        if len(tone) < 3 or not settled or (not out and span[1] < end) or (0 < out < 2 and len(tone) > 3):
            continue
        ways = [(_times(span, MM_IN[unit]), f"in {name}") for unit, name in UNITS.items()]
        ways += [(_times(span, 0.1), "with a digit too many"), ((end - span[1], end - span[0]), "from the bell")]
        for meant, how in ways:
            if meant[0] >= 0 and meant[1] < end and not _against(hole, meant, tone):
                said = (
                    f"{shown(span)} is out of order with the other holes; did you mean {shown(meant)}? It looks written"
                )
                path = f"holes.{hole.id}"
                found.append(Suspicion(at(f"{path}.position_mm", f"{said} {how}"), (f"{path}.position_mm", "hand")))
                break
    return found


def _one_size(tone: Sequence[Hole], name: str) -> list[Suspicion]:
    """Holes of a size that goes with no neighbour's, and with both in another unit or as a diameter, not a radius."""
    found = []
    spans: list[Span] = [getattr(hole, name) for hole in tone]
    for number, hole in enumerate(tone):
        near = [spans[beside] for beside in (number - 1, number + 1) if 0 <= beside < len(tone)]
        if len(tone) < 3 or len(near) < 2:
            near = [span for other, span in enumerate(spans) if other != number][:2] if len(tone) > 2 else []
        ways = [(10.0, "in centimetres"), (25.4, "in inches"), (1000.0, "in metres")]
        ways += [(2.0, "as a radius")] if name == "diameter_mm" and 0 < number < len(tone) - 1 else []
        for factor, how in ways if near else ():
            slack = 1.0 if factor == 2.0 else 1.4
            meant = _times(spans[number], factor)
            if all(
                min(each[side] for each in near) / slack <= meant[side] <= max(each[side] for each in near) * slack
                for side in (0, 1)
            ) and spans[number][1] < min(each[1] for each in near):
                said = (
                    f"{shown(spans[number])} goes with no hole beside it; did you mean {shown(meant)}? It looks written"
                )
                path = f"holes.{hole.id}.{name}"
                found.append(Suspicion(at(path, f"{said} {how}"), (path,)))
                break
    return found
