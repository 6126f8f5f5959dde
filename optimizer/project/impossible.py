"""Limits that no choice within the ranges can meet: found by interval arithmetic, before any search.

Each finding says what is asked, what the ranges allow, and what would relieve it. Only lengths along the body are
looked at, so what passes here may still turn out impossible; what fails here is.
"""

import itertools
from collections import Counter

from optimizer.project.findings import Finding, at
from optimizer.project.fingers import FingerPair, finger_holes, finger_pairs, row_places
from optimizer.project.hand import SIDES, pair_limits
from optimizer.project.model import Hole, Project


def impossibilities(project: Project) -> list[Finding]:
    """A finding for every limit of the hands and the order of holes that the ranges rule out."""
    return _order_findings(project.holes) or [
        *_crowded_hands(project),
        *_thumb_findings(project),
        *_pair_findings(project),
    ]


def touch_span(hole: Hole, project: Project) -> tuple[float, float]:
    """Where the touch of a hole may lie along the body [mm]."""
    play = project.keywork.plate_offset_max_mm if hole.cover in ("plate", "either") else 0.0
    return hole.position_mm[0] - play, hole.position_mm[1] + play


def _crowded_hands(project: Project) -> list[Finding]:
    """Fingers that need more room than the first and last of them may have between them."""
    under, least = finger_holes(project), project.hand.spacing_min_mm
    findings = []
    for side, name in SIDES.items():
        limits = pair_limits(project.hand, side)
        for pair, fingers, gaps in (("index_ring", "123", 2), ("index_little", "1234", 3)):
            limit, room = limits[pair].working_mm, gaps * least
            if {side + number for number in fingers} <= set(under) and room > limit:
                *first, last = (side + number for number in fingers)
                findings.append(
                    at(
                        "hand",
                        f"{', '.join(first)} and {last} need {gaps} x {least:g} = {room:g} mm, but "
                        f"hand.{name}.{pair}_mm allows {limit:.4g}; raise that, or lower hand.spacing_min_mm "
                        f"to {limit / gaps:.4g}",
                    )
                )
    return findings


def _thumb_findings(project: Project) -> list[Finding]:
    """Thumb holes that lie where the index finger is, and not behind the body."""
    under, least = finger_holes(project), project.hand.thumb_opposite_min_deg
    findings = []
    for side in SIDES:
        if {side + "T", side + "1"} <= set(under):
            thumb, index = (project.holes[under[side + finger]] for finger in "T1")
            turn = abs((thumb.azimuth_deg - index.azimuth_deg + 180.0) % 360.0 - 180.0)
            if turn < least:
                findings.append(
                    at(
                        f"holes.{thumb.id}.azimuth_deg",
                        f"the thumb lies opposite the fingers, at least {least:g} degrees "
                        f"round from {index.id}, but this is {turn:g}; turn it, or lower hand.thumb_opposite_min_deg",
                    )
                )
    return findings


def _pair_findings(project: Project) -> list[Finding]:
    findings = []
    for pair in finger_pairs(project):
        if max(pair.upper, pair.lower) >= len(project.holes):
            findings += _row_pair_findings(pair, project)
            continue
        upper, lower = project.holes[pair.upper], project.holes[pair.lower]
        (u0, u1), (l0, l1) = touch_span(upper, project), touch_span(lower, project)
        if upper.azimuth_deg == lower.azimuth_deg and pair.neighbours and l1 - u0 < project.hand.spacing_min_mm:
            findings.append(
                at(
                    "hand",
                    f"{pair.label} need {project.hand.spacing_min_mm:g} mm between centres, but the ranges of "
                    f"{upper.id} and {lower.id} allow at most {l1 - u0:g}; widen one of them, or lower "
                    "hand.spacing_min_mm",
                )
            )
        if l0 - u1 > pair.working_mm:
            findings.append(_out_of_reach(pair, upper, lower, l0 - u1))
    return findings


def _row_pair_findings(pair: FingerPair, project: Project) -> list[Finding]:
    """Two fingers in the row of their hand that lie too near each other or too far apart."""
    places = {place.finger: place for place in row_places(project)}
    upper, lower = places.get(pair.upper_finger), places.get(pair.lower_finger)
    if upper is None or lower is None:
        return []
    apart, least = lower.along_mm - upper.along_mm, project.hand.spacing_min_mm
    where = f"rows.{SIDES[pair.upper_finger[0]]}.spacing_mm"
    if pair.neighbours and upper.across_mm == lower.across_mm and apart < least:
        said = f"{pair.label} need {least:g} mm between centres, but the row leaves {apart:g}; widen it, or lower "
        return [at(where, f"{said}hand.spacing_min_mm")]
    if apart > pair.working_mm:
        said = f"{pair.label} reach {pair.working_mm:.4g} mm, but lie {apart:g} apart in the row; draw it together"
        return [at(where, said)]
    return []


def _out_of_reach(pair: FingerPair, upper: Hole, lower: Hole, least: float) -> Finding:
    bare = [hole.id for hole in (upper, lower) if hole.cover == "finger"]
    ways = "widen a range, or put a plate over " + " or ".join(bare) if bare else "widen a range, or make one a key"
    return at(
        "hand",
        f"{pair.label} reach {pair.working_mm:.4g} mm, but the ranges of {upper.id} and {lower.id} "
        f"leave at least {least:g}; {ways}",
    )


def _order_findings(holes: list[Hole]) -> list[Finding]:
    """A finding for each hole that is to blame for an order that cannot be: the one with the most others against it,
    then of those left; of two, the one that is listed later."""
    pairs = [
        (below, above)
        for below, above in itertools.combinations([hole for hole in holes if hole.role == "tone"], 2)
        if above.position_mm[0] > below.position_mm[1]
    ]
    found = []
    while pairs:
        blamed, _ = Counter(hole.id for pair in reversed(pairs) for hole in reversed(pair)).most_common(1)[0]
        found.append(_order_finding(*next(pair for pair in pairs if blamed in (pair[0].id, pair[1].id)), blamed))
        pairs = [pair for pair in pairs if blamed not in (pair[0].id, pair[1].id)]
    return found


def _order_finding(below: Hole, above: Hole, blamed: str) -> Finding:
    """Two holes that cannot be in order, told of the one that is to blame."""
    if blamed == above.id:
        other, limit = f"nearer the reed than {below.id}", f"at most {below.position_mm[1]:g}"
        came = f"starts at {above.position_mm[0]:g}"
    else:
        other, limit = f"nearer the bell than {above.id}", f"at least {above.position_mm[0]:g}"
        came = f"ends at {below.position_mm[1]:g}"
    order = "holes are listed from the bell toward the reed"
    said = f"{order}, so it must be able to lie {other} ({limit}), but {came}"
    return at(f"holes.{blamed}.position_mm", said)
