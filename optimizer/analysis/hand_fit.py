"""A finished layout under a player's hands: what each pair must reach, and what is wrong, in sentences."""

import math
from dataclasses import dataclass

import numpy as np

from optimizer.geometry.reach import reach_distance
from optimizer.geometry.space import Places, ways_between
from optimizer.project.fingers import FingerPair, hand_pairs
from optimizer.project.hand import Hand, seal_limit_mm
from optimizer.records.layout import HoleRecord, LayoutRecord, ReachRecord

SLACK_MM = 0.005
"""Figures in a record are rounded to 0.01 mm."""


@dataclass(frozen=True)
class HandFit:
    """How a layout lies under a hand.

    troubles: a sentence for each limit that is broken; remarks: advice that breaks none
    """

    name: str
    source: str
    reach: list[ReachRecord]
    troubles: list[str]
    remarks: list[str]

    @property
    def strain_percent(self) -> float:
        """Root mean square strain: 0 comfortable, 100 at the working limit."""
        strains = [strain(pair) for pair in self.reach]
        return 100.0 * math.sqrt(sum(value**2 for value in strains) / len(strains)) if strains else 0.0

    @property
    def beyond_mm(self) -> float:
        """Sum of what the pairs lie beyond their working limits [mm]."""
        return sum(max(0.0, pair.spacing_mm - pair.working_mm) for pair in self.reach)


def strain(pair: ReachRecord) -> float:
    """How far a pair goes beyond comfortable, 1 at the working limit; never negative."""
    return max(0.0, pair.spacing_mm - pair.comfortable_mm) / max(pair.working_mm - pair.comfortable_mm, 0.1)


def reach_sentence(pair: ReachRecord) -> str | None:
    """Which pair, by how much and against what, when it is out of reach."""
    over = pair.spacing_mm - pair.working_mm
    if over <= SLACK_MM:
        return None
    known = "" if pair.sd_mm is None else f" (standard deviation {pair.sd_mm:.1f} mm, by: {pair.basis})"
    most = pair.maximum_mm
    never = f"; even spread as far as it goes the hand has {most:.1f}" if most and pair.spacing_mm > most else ""
    return (
        f"{pair.pair} must reach {pair.spacing_mm:.1f} mm, {over:.1f} mm beyond the working limit of "
        f"{pair.working_mm:.1f}{known}{never}"
    )


def saved_fit(record: LayoutRecord) -> HandFit:
    """The fit as the layout's own file has it, for the hand it was made for."""
    from optimizer.limits.catalogue import of_the_hand  # all limits, which no prediction asks for

    broken = [pair.pair for pair in record.reach if reach_sentence(pair)]
    troubles = [line for pair in record.reach if (line := reach_sentence(pair))]
    for binding in record.binds:
        kind, _, place = binding.name.partition(".")
        if binding.margin_mm < 0 and of_the_hand([binding.name]) and not (kind == "reach" and place in broken):
            troubles.append(f"{binding.name}: broken by {-binding.margin_mm:.2f} mm; must hold: {binding.sentence}")
    return HandFit("the hand it was made for", "", record.reach, troubles, [])


def fit(record: LayoutRecord, hand: Hand) -> HandFit:
    """How a layout lies under a hand; its geometry is taken from the record alone."""
    under: dict[str, int] = {hole.by: index for index, hole in enumerate(record.holes) if hole.by != "key"}
    pairs = hand_pairs(under, hand)
    reach = [_reach(pair, record.holes, hand) for pair in pairs]
    troubles = [line for pair in reach if (line := reach_sentence(pair))]
    for pair in pairs:
        if pair.neighbours:
            troubles += _neighbour_sentences(pair, record.holes, hand)
    troubles += [*_gap_sentences(record, hand), *_thumb_sentences(record, under, hand), *_seal_sentences(record, hand)]
    return HandFit(hand.name, hand.about, reach, troubles, _remarks(record, hand, reach))


def touch_mm(hole: HoleRecord) -> float:
    """Where along the body the finger on a hole lands [mm]."""
    return hole.position_mm if hole.touch_position_mm is None else hole.touch_position_mm


def _distance(pair: FingerPair, holes: list[HoleRecord], natural_mm: float) -> float:
    upper, lower = (
        Places(np.array(touch_mm(hole)), np.radians(hole.azimuth_deg), np.array(0.5 * hole.body_diameter_mm))
        for hole in (holes[pair.upper], holes[pair.lower])
    )
    return float(reach_distance(ways_between(upper, lower), np.array(natural_mm)))


def _reach(pair: FingerPair, holes: list[HoleRecord], hand: Hand) -> ReachRecord:
    limits = pair.limits
    return ReachRecord(
        pair=pair.label,
        spacing_mm=round(_distance(pair, holes, pair.natural_mm), 2),
        comfortable_mm=round(limits.comfortable_mm, 2),
        working_mm=round(limits.working_mm, 2),
        maximum_mm=round(limits.maximum_mm, 2),
        sd_mm=round(limits.sd_mm, 2),
        basis=limits.basis,
    )


def _neighbour_sentences(pair: FingerPair, holes: list[HoleRecord], hand: Hand) -> list[str]:
    """Fingers that cross, or have no room beside each other."""
    if touch_mm(holes[pair.upper]) > touch_mm(holes[pair.lower]):
        return [f"{pair.label} would cross: {pair.upper_finger} must lie nearer the reed"]
    spacing = _distance(pair, holes, 0.0)
    short = hand.spacing_min_mm - spacing
    if short <= SLACK_MM:
        return []
    return [f"{pair.label} lie {spacing:.1f} mm apart, {short:.1f} mm less than two fingers need"]


def _gap_sentences(record: LayoutRecord, hand: Hand) -> list[str]:
    sides = [[hole for hole in record.holes if hole.by != "key" and hole.by[0] == side] for side in "LR"]
    if not all(sides):
        return []
    above, below = sorted(sides, key=lambda holes: min(map(touch_mm, holes)))
    upper, lower = max(above, key=touch_mm), min(below, key=touch_mm)
    gap = touch_mm(lower) - touch_mm(upper)
    if hand.hand_gap_min_mm - gap <= SLACK_MM:
        return []
    return [
        f"the hands have {gap:.1f} mm between {upper.by} and {lower.by}, {hand.hand_gap_min_mm - gap:.1f} mm less "
        "than they need"
    ]


def _thumb_sentences(record: LayoutRecord, under: dict[str, int], hand: Hand) -> list[str]:
    sentences = []
    for side in "LR":
        if side + "T" in under and side + "1" in under:
            away = abs(touch_mm(record.holes[under[side + "T"]]) - touch_mm(record.holes[under[side + "1"]]))
            over = away - hand.thumb_offset_max_mm
            if over > SLACK_MM:
                sentences.append(f"{side}T lies {away:.1f} mm from {side}1 along the body, {over:.1f} mm too far")
    return sentences


def _seal_sentences(record: LayoutRecord, hand: Hand) -> list[str]:
    sentences = []
    for hole in record.holes:
        if hole.cover == "finger":
            limit = seal_limit_mm(hand, hole.by)
            if hole.top_diameter_mm - limit > SLACK_MM:
                sentences.append(
                    f"{hole.id} is {hole.top_diameter_mm:.1f} mm wide, {hole.top_diameter_mm - limit:.1f} mm more than "
                    f"{hole.by} seals; it needs a plate or a smaller hole"
                )
    return sentences


def _remarks(record: LayoutRecord, hand: Hand, reach: list[ReachRecord]) -> list[str]:
    remarks = []
    fingers = [hole for hole in record.holes if hole.by != "key"]
    thickest = max(fingers, key=lambda hole: hole.body_diameter_mm, default=None)
    if thickest is not None and thickest.body_diameter_mm > hand.grip_diameter_advised_mm:
        remarks.append(
            f"the body is {thickest.body_diameter_mm:.0f} mm thick under {thickest.by}, more than the "
            f"{hand.grip_diameter_advised_mm:g} mm advised: fingers lie flatter there"
        )
    near = [pair.pair for pair in reach if pair.sd_mm and 0 <= pair.working_mm - pair.spacing_mm < pair.sd_mm]
    if near:
        remarks.append(
            f"{', '.join(near)}: nearer to the working limit than it is known; gauge the player before printing"
        )
    return remarks


def just_within(pair: ReachRecord) -> bool:
    """Whether a pair lies within its working limit and at it."""
    return -0.05 < pair.spacing_mm - pair.working_mm <= SLACK_MM


def verdict(pair: ReachRecord) -> str:
    """One word or two on a pair."""
    over = pair.spacing_mm - pair.working_mm
    if over > SLACK_MM:
        return f"OUT OF REACH by {over:.1f}"
    if pair.spacing_mm > pair.comfortable_mm:
        if f"{pair.spacing_mm:.1f}" == f"{pair.comfortable_mm:.1f}":
            return "just comfortable"
        return "at the limit" if just_within(pair) else "strained"
    return "comfortable"
