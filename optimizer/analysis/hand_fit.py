"""A finished layout under a player's hands: what each pair must reach, and what is wrong, in sentences."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from operator import attrgetter
from typing import NamedTuple

import numpy as np

from optimizer import cautions
from optimizer.geometry.fold import Fold
from optimizer.geometry.reach import reach_distance
from optimizer.geometry.space import Places
from optimizer.project.fingers import FingerPair, hand_pairs
from optimizer.project.hand import Hand, pair_limits, seal_limit_mm, touch_reach_mm
from optimizer.project.touches import lands_across_mm
from optimizer.records.keys import KeyRecord
from optimizer.records.layout import HoleRecord, LayoutRecord, ReachRecord
from optimizer.words import listed

SLACK_MM = 0.005
"""Figures in a record are rounded to 0.01 mm."""


class ReachedTouch(NamedTuple):
    """A key's touch that a finger reaches for: from where, how far, and the most it may be [mm]."""

    key: str
    finger: str
    origin: str
    distance_mm: float
    limit_mm: float

    @property
    def percent(self) -> float:
        """Share of the limit."""
        return 100.0 * self.distance_mm / self.limit_mm

    @property
    def trouble(self) -> str | None:
        """What is wrong, where it is out of reach."""
        over = self.distance_mm - self.limit_mm
        if over <= SLACK_MM:
            return None
        start = "where it rests" if self.origin == self.finger else self.origin
        return (
            f"{self.finger} must reach {self.distance_mm:.1f} mm from {start} for the touch of {self.key}, "
            f"{over:.1f} mm beyond its limit of {self.limit_mm:.1f}"
        )


class Tip(NamedTuple):
    """Where a finger lies: on a hole or in a row; how thick the body is there [mm], and how it runs."""

    finger: str
    position_mm: float
    azimuth_deg: float
    body_diameter_mm: float
    fold: Fold

    @property
    def depth_mm(self) -> float:
        """How far down the instrument it lies [mm]."""
        return float(self.fold.depth(np.array(self.position_mm)))

    @property
    def place(self) -> Places:
        """On the body's surface."""
        numbers = self.position_mm, math.radians(self.azimuth_deg), 0.5 * self.body_diameter_mm
        return Places(*map(np.array, numbers))


@dataclass(frozen=True)
class HandFit:
    """How a layout lies under a hand.

    troubles: a sentence for each limit that is broken; remarks: advice that breaks none; touches: of keys that fingers
    reach for; adult: whether it is known to be a grown player's
    """

    name: str
    source: str
    reach: list[ReachRecord]
    troubles: list[str]
    remarks: list[str]
    touches: list[ReachedTouch] = field(default_factory=list)
    adult: bool = False

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

    touches = reached_touches(record)
    told = {f"reach.{pair.pair}": line for pair in record.reach if (line := reach_sentence(pair))}
    told |= {f"touch_reach.{each.key}-{each.origin}": line for each in touches if (line := each.trouble)}
    troubles = list(told.values())
    for binding in record.binds:
        if binding.margin_mm < 0 and of_the_hand([binding.name]) and binding.name not in told:
            troubles.append(f"{binding.name}: broken by {-binding.margin_mm:.2f} mm; must hold: {binding.sentence}")
    remarks, adult = _idle_sentences(record), cautions.for_adult(record.cautions)
    return HandFit("the hand it was made for", "", record.reach, troubles, remarks, touches, adult)


def fit(record: LayoutRecord, hand: Hand) -> HandFit:
    """How a layout lies under a hand; its geometry is taken from the record alone."""
    tips, idle = finger_tips(record), idle_fingers(record)
    names = list(tips)
    pairs = hand_pairs({name: number for number, name in enumerate(names) if name not in idle}, hand)
    reach = [_reach(pair, tips, hand) for pair in pairs]
    troubles = [line for pair in reach if (line := reach_sentence(pair))]
    for pair in pairs:
        if pair.neighbours:
            troubles += _neighbour_sentences(pair, tips, hand)
    touches = reached_touches(record, hand)
    troubles += [line for touch in touches if (line := touch.trouble)]
    troubles += [*_gap_sentences(tips, hand), *_thumb_sentences(tips, hand), *_seal_sentences(record, hand)]
    remarks = [*_remarks(tips, hand, reach), *_idle_sentences(record)]
    return HandFit(hand.name, hand.about, reach, troubles, remarks, touches, hand.adult)


def touch_mm(hole: HoleRecord) -> float:
    """Where along the body the finger on a hole lands [mm]."""
    return hole.position_mm if hole.touch_position_mm is None else hole.touch_position_mm


def finger_tips(record: LayoutRecord) -> dict[str, Tip]:
    """Where each finger lies that has a hole or a place in a row, holes first."""
    fold = Fold(record.bore.bends)
    tips = [
        Tip(hole.by, touch_mm(hole), hole.azimuth_deg, hole.body_diameter_mm, fold)
        for hole in record.holes
        if hole.by != "key"
    ]
    tips += [
        Tip(each.finger, each.position_mm, each.azimuth_deg, each.body_diameter_mm, fold)
        for row in record.rows
        for each in row.fingers
    ]
    return {tip.finger: tip for tip in tips}


def idle_fingers(record: LayoutRecord) -> set[str]:
    """Fingers in rows that rest on no key."""
    return {each.finger for row in record.rows for each in row.fingers if each.key is None}


def _idle_sentences(record: LayoutRecord) -> list[str]:
    """That fingers in rows press nothing, so that nothing is asked of their reach."""
    idle = sorted(idle_fingers(record))
    return [f"{listed(idle)}: on no key of the row, so nothing is asked of the reach there"] if idle else []


def reached_touches(record: LayoutRecord, hand: Hand | None = None) -> list[ReachedTouch]:
    """Touches of keys that fingers reach for, as the file has them, or under another hand: a little finger's by that
    hand's limits, any other's by what was gauged of it, else by the limit that the file has."""
    tips, found = finger_tips(record), []
    for key in record.keys:
        for reach in key.reach:
            distance, limit, origin = reach.distance_mm, reach.limit_mm, tips.get(reach.origin)
            if hand is not None and key.touch == reach.origin:
                limit = touch_reach_mm(hand, key.touch, limit)
            elif hand is not None and origin is not None:
                pair = "ring_little" if reach.origin[1] == "3" else "index_little"
                limit = round(pair_limits(hand, key.touch[0])[pair].working_mm, 2)
                distance = round(
                    _distance(origin, _touch(key, record), lands_across_mm(hand, key.touch, origin.finger)), 2
                )
            found.append(ReachedTouch(key.id, key.touch, reach.origin, distance, limit))
    return found


def _touch(key: KeyRecord, record: LayoutRecord) -> Tip:
    """The touch of a key whose finger has a place."""
    position, azimuth = key.touch_position_mm or 0.0, key.touch_azimuth_deg or 0.0
    return Tip(key.touch, position, azimuth, record.bore.body_diameter_mm(position), Fold(record.bore.bends))


def _distance(upper: Tip, lower: Tip, natural_mm: float) -> float:
    return float(reach_distance(upper.fold.ways_between(upper.place, lower.place), np.array(natural_mm)))


def _reach(pair: FingerPair, tips: Mapping[str, Tip], hand: Hand) -> ReachRecord:
    limits = pair.limits
    return ReachRecord(
        pair=pair.label,
        spacing_mm=round(_distance(tips[pair.upper_finger], tips[pair.lower_finger], pair.natural_mm), 2),
        comfortable_mm=round(limits.comfortable_mm, 2),
        working_mm=round(limits.working_mm, 2),
        maximum_mm=round(limits.maximum_mm, 2),
        sd_mm=round(limits.sd_mm, 2),
        basis=limits.basis,
    )


def _neighbour_sentences(pair: FingerPair, tips: Mapping[str, Tip], hand: Hand) -> list[str]:
    """Fingers that cross, or have no room beside each other."""
    upper, lower = tips[pair.upper_finger], tips[pair.lower_finger]
    if upper.depth_mm > lower.depth_mm:
        return [f"{pair.label} would cross: {pair.upper_finger} must lie nearer the reed"]
    spacing = _distance(upper, lower, 0.0)
    short = hand.spacing_min_mm - spacing
    if short <= SLACK_MM:
        return []
    return [f"{pair.label} lie {spacing:.1f} mm apart, {short:.1f} mm less than two fingers need"]


def _gap_sentences(tips: Mapping[str, Tip], hand: Hand) -> list[str]:
    sides = [[tip for tip in tips.values() if tip.finger[0] == side] for side in "LR"]
    if not all(sides):
        return []
    along = attrgetter("depth_mm")
    above, below = sorted(sides, key=lambda side: min(map(along, side)))
    upper, lower = max(above, key=along), min(below, key=along)
    gap = lower.depth_mm - upper.depth_mm
    if hand.hand_gap_min_mm - gap <= SLACK_MM:
        return []
    return [
        f"the hands have {gap:.1f} mm between {upper.finger} and {lower.finger}, {hand.hand_gap_min_mm - gap:.1f} mm "
        "less than they need"
    ]


def _thumb_sentences(tips: Mapping[str, Tip], hand: Hand) -> list[str]:
    sentences = []
    for side in "LR":
        if side + "T" in tips and side + "1" in tips:
            away = abs(tips[side + "T"].depth_mm - tips[side + "1"].depth_mm)
            if (over := away - hand.thumb_offset_max_mm) > SLACK_MM:
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


def _remarks(tips: Mapping[str, Tip], hand: Hand, reach: list[ReachRecord]) -> list[str]:
    remarks = []
    thickest = max(tips.values(), key=attrgetter("body_diameter_mm"), default=None)
    if thickest is not None and thickest.body_diameter_mm > hand.grip_diameter_advised_mm:
        remarks.append(
            f"the body is {thickest.body_diameter_mm:.0f} mm thick under {thickest.finger}, more than the "
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
