"""Ways out of a reach that binds, each a project with one thing changed: plate, key, turned hole, wider range, touch
drawn in, crook, narrower bore, and the hand taken to its maximum. What each costs is solved, elsewhere (`reliefs`)."""

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from optimizer.limits.catalogue import of_the_hand
from optimizer.project.fingers import finger_holes, finger_pairs, finger_places, row_spacing_mm, row_span
from optimizer.project.hand import PAIRS, SIDES, knuckle_spacing_mm, pair_limits
from optimizer.project.model import Hole, Project
from optimizer.project.rows import Row
from optimizer.project.touches import touch_plans

KEY_ARM_MM = 60.0
"""How far a key on a rod may carry a touch from its hole: common practice, no source."""

TOUCH_MM = 5.0
TURN_DEG = 20.0
WIDER_MM = 20.0
CROOK_MM = 20.0
BORE_SHARE = 0.95


@dataclass(frozen=True)
class Relief:
    """One way out. offset_mm: touches of other holes that must stay as near as the project says, by hole id [mm]."""

    name: str
    sentence: str
    project: Project
    offset_mm: Mapping[str, float] = field(default_factory=dict)


def holes_of(names: Sequence[str], project: Project) -> list[int]:
    """Indices of the holes that limits of the hand (their names) speak of."""
    under, ids = finger_holes(project), [hole.id for hole in project.holes]
    found: dict[int, None] = {}
    for name in of_the_hand(names):
        for label in name.split(".", 1)[1].split("-"):
            if label in under or label in ids:
                found[under[label] if label in under else ids.index(label)] = None
    return sorted(found)


def reliefs_of(names: Sequence[str], project: Project) -> list[Relief]:
    """Every single way out for limits of the hand that bind, by their names; the likeliest first.

    The first way of each limit in turn, then those of the whole instrument, then the second of each limit, and so on;
    within a limit a plate comes first, then its holes freed and turned, keys, and the hand's maximum last. However
    little time there is, each limit that binds gets its share of it.
    """
    queues = [_of_one(name, project) for name in of_the_hand(names)]
    rounds = list(itertools.zip_longest(*queues))
    ordered = [*(rounds[0] if rounds else ()), *_bore(project), *itertools.chain.from_iterable(rounds[1:])]
    return list({way.name: way for way in ordered if way is not None}.values())


def _of_one(name: str, project: Project) -> list[Relief]:
    """Ways out for one limit, the likeliest first."""
    if name.startswith("touch_reach."):
        return list(_touches(name, project))
    holes = holes_of([name], project)
    plates, keys = list(_plates(holes, project)), list(_keys(holes, project))
    rows = list(_rows(name, project))
    turned = [way for index in holes for way in _turned(index, project)]
    wider = [way for index in holes for way in _wider(index, project)]
    return [*plates, *rows, *wider, *turned, *keys, *_hands([name], project)]


def _with_hole(project: Project, index: int, changes: Mapping[str, Any]) -> Project:
    holes = list(project.holes)
    holes[index] = holes[index].model_copy(update=changes)
    return project.model_copy(update={"holes": holes})


def _plates(holes: Sequence[int], project: Project) -> Iterator[Relief]:
    """A plate on each bare hole."""
    play = project.keywork.plate_offset_max_mm
    for index in holes:
        hole = project.holes[index]
        if hole.by != "key" and hole.cover == "finger" and not hole.locked:
            text = f"a plate over {hole.id}, its touch up to {play:g} mm from it"
            yield Relief(f"plate.{hole.id}", text, _with_hole(project, index, {"cover": "plate"}))


def _rows(name: str, project: Project) -> Iterator[Relief]:
    """The row of a hand that a limit speaks of: freed further along, and its fingers drawn together."""
    kind, _, label = name.partition(".")
    in_rows = finger_places(project).keys() - finger_holes(project).keys()
    for side, row in project.rows.by_side.items():
        if not any(part in in_rows and part[0] == side for part in label.split("-")):
            continue
        hand, (low, high) = SIDES[side], row_span(project, side)
        low, high = max(project.bore.crook_end_mm, low - WIDER_MM), min(high + WIDER_MM, project.bore.end_span_mm[0])
        text = f"the row of the {hand} hand anywhere from {low:g} to {high:g} mm"
        yield Relief(f"row.{hand}", text, _with_row(project, hand, row.model_copy(update={"position_mm": (low, high)})))
        least = knuckle_spacing_mm(project.hand, side)
        if kind == "reach" and row_spacing_mm(project, side) > least:
            text = f"the fingers of the {hand} hand {least:g} mm apart in their row, as its knuckles are"
            yield Relief(
                f"spacing.{hand}", text, _with_row(project, hand, row.model_copy(update={"spacing_mm": least}))
            )


def _with_row(project: Project, hand: str, row: Row) -> Project:
    return project.model_copy(update={"rows": project.rows.model_copy(update={hand: row})})


def _keys(holes: Sequence[int], project: Project) -> Iterator[Relief]:
    """A key on each hole."""
    play = project.keywork.plate_offset_max_mm
    keywork = project.keywork.model_copy(update={"plate_offset_max_mm": max(KEY_ARM_MM, play)})
    for index in holes:
        hole = project.holes[index]
        if hole.by != "key" and not hole.locked and play < KEY_ARM_MM:
            keyed = _with_hole(project, index, {"cover": "plate"}).model_copy(update={"keywork": keywork})
            near = {other.id: play for other in project.holes if other.id != hole.id}
            text = f"a key on {hole.id}: {hole.by} presses a touch up to {KEY_ARM_MM:g} mm from it"
            yield Relief(f"key.{hole.id}", text, keyed, near)


def _touches(name: str, project: Project) -> Iterator[Relief]:
    """The touch that a limit speaks of drawn nearer, all touches closer beside one another, a little finger's reach
    taken to the hand's maximum."""
    key_id, _, origin = name.partition(".")[2].rpartition("-")
    (plan,) = (plan for plan in touch_plans(project) if plan.key.id == key_id)
    finger, little = plan.key.touch, plan.key.touch != origin
    from_ring = plan.rest.along_mm if little else 0.0
    away = from_ring + plan.along_mm, plan.across_mm
    share = 1.0 - TOUCH_MM / max(math.hypot(*away), TOUCH_MM)
    place = {
        "touch_along_mm": round(share * away[0] - from_ring, 2),
        "touch_across_mm": round(share * away[1], 2),
    }
    keys = [key.model_copy(update=place) if key.id == key_id else key for key in project.keys]
    text = f"the touch of {key_id} {TOUCH_MM:g} mm nearer to {finger[0] + '3' if little else f'where {finger} rests'}"
    yield Relief(f"touch.{key_id}", text, project.model_copy(update={"keys": keys}))
    keywork = project.keywork
    least = keywork.touch_spacing_min_mm
    if keywork.touch_spacing_mm > least:
        text = f"touches side by side {least:g} in place of {keywork.touch_spacing_mm:g} mm apart"
        closer = keywork.model_copy(update={"touch_spacing_mm": least})
        yield Relief("spacing.touches", text, project.model_copy(update={"keywork": closer}))
    if little:
        yield _at_maximum(origin, finger, project)


def _hands(names: Sequence[str], project: Project) -> Iterator[Relief]:
    """The reach of each pair that binds, taken to the hand's maximum."""
    for pair in finger_pairs(project):
        if f"reach.{pair.label}" in names:
            yield _at_maximum(pair.upper_finger, pair.lower_finger, project)


def _at_maximum(upper: str, lower: str, project: Project) -> Relief:
    """The working limit of a pair of fingers raised to the hand's maximum; those of the other pairs as they are."""
    side, limits = upper[0], pair_limits(project.hand, upper[0])
    (raised,) = (name for name, numbers in PAIRS.items() if numbers == (upper[1], lower[1]))
    comfortable, working, most = limits[raised][:3]
    gauges = {f"{name}_mm": tuple(limit[:3]) for name, limit in limits.items()}
    gauges[f"{raised}_mm"] = (comfortable, most, most)
    reach = getattr(project.hand, SIDES[side]).model_copy(update=gauges)
    hand = project.hand.model_copy(update={SIDES[side]: reach})
    text = (
        f"{upper}-{lower} taken to the hand's maximum, {most:.4g} in place of {working:.4g} mm: "
        "hurts when held, not advised"
    )
    return Relief(f"maximum.{upper}-{lower}", text, project.model_copy(update={"hand": hand}))


def _bore(project: Project) -> Iterator[Relief]:
    """The crook's end moved either way, and a narrower bore."""
    bore = project.bore
    if bore.crook_end_mm > 0:
        for way, place in (("shorter", bore.crook_end_mm - CROOK_MM), ("longer", bore.crook_end_mm + CROOK_MM)):
            if 0 <= place < bore.end_span_mm[0]:
                moved = bore.model_copy(update={"crook_end_mm": place})
                text = f"a {way} crook, ending at {place:g} in place of {bore.crook_end_mm:g} mm"
                yield Relief(f"crook.{way}", text, project.model_copy(update={"bore": moved}))
    scale = tuple(BORE_SHARE * share for share in bore.diameter_scale)
    if scale[0] >= 0.5 and not bore.shaped_by:
        text = f"a bore {100 * (1 - BORE_SHARE):.0f} % narrower all along"
        narrower = bore.model_copy(update={"diameter_scale": scale})
        yield Relief("bore.narrower", text, project.model_copy(update={"bore": narrower}))


def _turned(index: int, project: Project) -> Iterator[Relief]:
    hole = project.holes[index]
    if hole.locked:
        return
    for turn in (TURN_DEG, -TURN_DEG):
        azimuth = (hole.azimuth_deg + turn + 180.0) % 360.0 - 180.0
        text = f"{hole.id} at {azimuth:g} in place of {hole.azimuth_deg:g} degrees"
        yield Relief(f"turned.{hole.id}{turn:+g}", text, _with_hole(project, index, {"azimuth_deg": azimuth}))


def _wider(index: int, project: Project) -> Iterator[Relief]:
    """The hole's position freed by some way more at both ends."""
    hole: Hole = project.holes[index]
    if hole.locked:
        return
    low, high = max(0.0, hole.position_mm[0] - WIDER_MM), hole.position_mm[1] + WIDER_MM
    high = max(hole.position_mm[1], min(high, project.bore.end_span_mm[1]))
    text = f"{hole.id} anywhere from {low:g} to {high:g} mm"
    yield Relief(f"wider.{hole.id}", text, _with_hole(project, index, {"position_mm": (low, high)}))
