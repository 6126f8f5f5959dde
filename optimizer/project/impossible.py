"""Limits that no choice within the ranges can meet: found by interval arithmetic, before any search.

Each finding says what is asked, what the ranges allow, and what would relieve it. Only lengths along the body are
looked at, so what passes here may still turn out impossible; what fails here is.
"""

import itertools
import json
import math
from collections import Counter

from optimizer.project.bends import depth_span
from optimizer.project.findings import Finding, at
from optimizer.project.fingers import FingerPair, finger_holes, finger_pairs, row_places, row_span
from optimizer.project.hand import SIDES, pair_limits
from optimizer.project.model import Hole, Project
from optimizer.project.touches import lands_across_mm, touch_plans

SLACK_MM = 1e-6
"""What arithmetic may add to a distance."""


def impossibilities(project: Project) -> list[Finding]:
    """A finding for every limit of the hands and the order of holes that the ranges rule out."""
    return _order_findings(project.holes) or [
        *_crowded_hands(project),
        *_thumb_findings(project),
        *_pair_findings(project),
        *_little_findings(project),
    ]


def touch_span(hole: Hole, project: Project) -> tuple[float, float]:
    """Where the touch of a hole may lie along the body [mm]; down it, where it is folded."""
    play = project.keywork.plate_offset_max_mm if hole.cover in ("plate", "either") else 0.0
    low, high = depth_span(project.bends, *hole.position_mm)
    return low - play, high + play


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
    far = _far_holes(project)
    findings = list(far.values())
    for pair in finger_pairs(project):
        if pair.upper_finger in far or pair.lower_finger in far:
            continue
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


def _far_holes(project: Project) -> dict[str, Finding]:
    """A finding for each finger whose hole lies so far beyond the hand that no plate helps, by the finger: the one in
    most such pairs first, of two the lower."""
    play, under = project.keywork.plate_offset_max_mm, finger_holes(project)
    far = []
    for pair in finger_pairs(project):
        fingers = pair.upper_finger, pair.lower_finger
        (_, nearest), (farthest, _) = (_finger_span(finger, project) for finger in fingers)
        bare = sum(project.holes[under[finger]].cover == "finger" for finger in fingers if finger in under)
        if farthest - nearest - bare * play > pair.working_mm and any(finger in under for finger in fingers):
            far.append((pair, farthest - nearest))
    found: dict[str, Finding] = {}
    while far:
        named = [name for pair, _ in far for name in (pair.lower_finger, pair.upper_finger)]
        counted = Counter(name for name in named if name in under)
        finger, _ = counted.most_common(1)[0]
        pair, least = next((pair, least) for pair, least in far if finger in (pair.upper_finger, pair.lower_finger))
        found[finger] = _far_hole(finger, project.holes[under[finger]], pair, least, project)
        far = [(pair, least) for pair, least in far if finger not in (pair.upper_finger, pair.lower_finger)]
    return found


def _finger_span(finger: str, project: Project) -> tuple[float, float]:
    """Where a finger that has a place may lie along the body [mm]."""
    under = finger_holes(project)
    if finger in under:
        return touch_span(project.holes[under[finger]], project)
    (along,) = (place.along_mm for place in row_places(project) if place.finger == finger)
    low, high = depth_span(project.bends, *row_span(project, finger[0]))
    return low + along, high + along


def _far_hole(finger: str, hole: Hole, pair: FingerPair, least: float, project: Project) -> Finding:
    """What to write for a hole that a finger cannot lie on."""
    side, keys = SIDES[finger[0]], {key.id for key in project.keys}
    name = next(name for name in (f"k_{hole.id}"[:16], *(f"key{n}" for n in range(1, 99))) if name not in keys)
    cover = "" if hole.cover == "finger" else f" and leave out cover = {json.dumps(hole.cover)}"
    row = "" if finger[0] in project.rows.by_side else f", and {side} = {{}} to [rows]"
    return at(
        f"holes.{hole.id}.by",
        f"{pair.label} reach {pair.working_mm:.4g} mm, but the ranges leave at least {least:g}, more than a plate "
        f'makes good; a key has to carry the touch to {finger}: write by = "key" here{cover}, add '
        f'{name} = {{ touch = "{finger}", closes = ["{hole.id}"] }} as the first key of {finger} to [keys]{row}; '
        f"{finger} in the chart then presses it",
    )


def _little_findings(project: Project) -> list[Finding]:
    """Touches that a little finger cannot reach from the ring finger, spread as far as it goes: it goes round the body,
    not through it."""
    under, findings = finger_holes(project), []
    for plan in touch_plans(project):
        finger = plan.key.touch
        if not plan.key.pressed or finger[1] != "4" or finger in under:
            continue
        most = pair_limits(project.hand, finger[0])["ring_little"].maximum_mm
        lands = lands_across_mm(project.hand, finger, finger[0] + "3")
        along, across = plan.rest.along_mm + plan.along_mm, plan.rest.across_mm + plan.across_mm
        far = math.hypot(along, across - lands)
        if far > most + SLACK_MM:
            findings.append(
                at(
                    f"keys.{plan.key.id}",
                    f"{finger} cannot reach its touch round the body: {abs(along):.4g} mm along and {abs(across):.4g} "
                    f"mm round it from {finger[0]}3, of which it lands {abs(lands):.4g} by itself, are {far:.3g} mm, "
                    f"and spread as far as it goes the hand has {most:.4g}; bring it nearer (touch_across_mm, "
                    "touch_along_mm), give that finger fewer keys, or the key another finger",
                )
            )
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
