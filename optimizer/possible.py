"""Limits that no choice within the ranges can meet: found by interval arithmetic, before any search.

Each sentence says what is asked, what the ranges allow, and what would relieve it. Only lengths along the body are
looked at, so what passes here may still turn out impossible; what fails here is.
"""

from optimizer.hand import FingerPair, finger_holes, finger_pairs
from optimizer.project import Hole, Project


def impossibilities(project: Project) -> list[str]:
    """A sentence for every limit of the hands and the order of holes that the ranges rule out."""
    return _order_sentences(project.holes) or [*_crowded_hands(project), *_pair_sentences(project)]


def touch_span(hole: Hole, project: Project) -> tuple[float, float]:
    """Where the touch of a hole may lie along the body [mm]."""
    play = project.keywork.plate_offset_max_mm if hole.cover in ("plate", "either") else 0.0
    return hole.position_mm[0] - play, hole.position_mm[1] + play


def _crowded_hands(project: Project) -> list[str]:
    """Three fingers that need more room than index and ring may have between them."""
    under, room = finger_holes(project), 2.0 * project.hand.spacing_min_mm
    sentences = []
    for side, name in (("L", "left"), ("R", "right")):
        limit = getattr(project.hand, name).index_ring_mm[1]
        if {side + "1", side + "2", side + "3"} <= set(under) and room > limit:
            sentences.append(
                f"hand: {side}1, {side}2 and {side}3 need 2 x {project.hand.spacing_min_mm:g} = {room:g} mm, but "
                f"hand.{name}.index_ring_mm allows {limit:g}; raise that, or lower hand.spacing_min_mm to {limit / 2:g}"
            )
    return sentences


def _pair_sentences(project: Project) -> list[str]:
    sentences = []
    for pair in finger_pairs(project):
        upper, lower = project.holes[pair.upper], project.holes[pair.lower]
        (u0, u1), (l0, l1) = touch_span(upper, project), touch_span(lower, project)
        if upper.azimuth_deg == lower.azimuth_deg and pair.neighbours and l1 - u0 < project.hand.spacing_min_mm:
            sentences.append(
                f"hand: {pair.label} need {project.hand.spacing_min_mm:g} mm between centres, but the ranges of "
                f"{upper.id} and {lower.id} allow at most {l1 - u0:g}; widen one of them, or lower hand.spacing_min_mm"
            )
        if l0 - u1 > pair.working_mm:
            sentences.append(_out_of_reach(pair, upper, lower, l0 - u1))
    return sentences


def _out_of_reach(pair: FingerPair, upper: Hole, lower: Hole, least: float) -> str:
    bare = [hole.id for hole in (upper, lower) if hole.cover == "finger"]
    ways = "widen a range, or put a plate over " + " or ".join(bare) if bare else "widen a range, or make one a key"
    return (
        f"hand: {pair.label} reach {pair.working_mm:g} mm, but the ranges of {upper.id} and {lower.id} "
        f"leave at least {least:g}; {ways}"
    )


def _order_sentences(holes: list[Hole]) -> list[str]:
    tone = [hole for hole in holes if hole.role == "tone"]
    return [
        f"holes.{above.id}.position_mm: holes are listed from the bell toward the reed, so it must be able to lie "
        f"nearer the reed than {below.id} (at most {below.position_mm[1]:g}), but starts at {above.position_mm[0]:g}"
        for number, below in enumerate(tone)
        for above in tone[number + 1 :]
        if above.position_mm[0] > below.position_mm[1]
    ]
