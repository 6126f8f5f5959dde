"""The player's hands: what was measured, and what follows for each pair of fingers.

A pair is limited by three distances between pad centres: comfortable, working limit, anatomical maximum. They come
from the strongest measurement that the file gives, and the weaker it is, the wider the stated deviation:

1. the pair itself, gauged on the player;
2. the span from index to little finger;
3. the span implied by other gauged pairs of the hand;
4. the span from thumb to little finger;
5. hand length; after it, pair figures that are themselves estimates;
6. the other hand's measurements; nothing at all: the figures `model.assumed_*` of a small adult hand.

Spans are tip to tip, flat hand, spread as far as it goes. What a pair has of the span are ratios of a geometric model
of a spread hand (knuckle spacing, finger lengths, spread angles); nothing published fixes them for wind playing, so
each is a default that a file may change.
"""

import itertools
import math
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Annotated, Any, NamedTuple

from pydantic import BeforeValidator, Field, model_validator

from optimizer.project.numbers import NotNegative, Positive, Section

PAIRS = {
    "index_middle": ("1", "2"),
    "middle_ring": ("2", "3"),
    "index_ring": ("1", "3"),
    "ring_little": ("3", "4"),
    "index_little": ("1", "4"),
}
"""Pairs of fingers that have a limit, by their numbers; those that are no neighbours are caps on sums."""

SIDES = {"L": "left", "R": "right"}
SPARE_MM = 0.05
"""What a row of touches has to spare over the room that fingers need: limits are solved with less."""

PALM = {"L": -1.0, "R": 1.0}
"""Which way round the body the palm lies, clockwise seen from the reed end."""


def _gauged(value: Any) -> Any:
    """[comfortable, working limit] or [comfortable, working limit, maximum], in order."""
    if not isinstance(value, list | tuple) or len(value) not in (2, 3):
        raise ValueError(f"must be [comfortable, working limit] or these and the maximum, but got {value!r}")
    if any(isinstance(item, bool) or not isinstance(item, int | float) or not 0 < item < 400 for item in value):
        raise ValueError(f"must hold distances between 0 and 400 mm, but got {list(value)!r}")
    for low, high in itertools.pairwise(value):
        if low > high:
            raise ValueError(f"low <= high must hold, but got {[*value]}; swap the two numbers")
    return tuple(float(item) for item in value)


def _day(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value


_NO_SPREAD = ("hand_breadth_mm", "thumb_reach_mm", "side_reach_mm")

Gauge = Annotated[tuple[float, ...], BeforeValidator(_gauged)]
Percent = Annotated[float, Field(strict=True, ge=0.0, le=100.0)]
Share = Annotated[float, Field(strict=True, gt=0.0, le=1.5)]


class Reach(Section):
    """One hand as measured; every line may be left out. Pairs are gauged between pad centres along the body."""

    index_middle_mm: Gauge | None = None
    middle_ring_mm: Gauge | None = None
    index_ring_mm: Gauge | None = None
    ring_little_mm: Gauge | None = None
    index_little_mm: Gauge | None = None
    span_index_little_mm: Annotated[
        float | None, Field(strict=True, ge=40, le=260, description="tip to tip, flat hand, spread as far as it goes")
    ] = None
    span_thumb_little_mm: Annotated[
        float | None, Field(strict=True, ge=60, le=330, description="tip to tip, flat hand, spread as far as it goes")
    ] = None
    hand_length_mm: Annotated[
        float | None, Field(strict=True, ge=80, le=260, description="wrist crease to the middle finger's tip")
    ] = None

    def gauge(self, pair: str) -> tuple[float, ...] | None:
        """What was gauged of a pair."""
        value: tuple[float, ...] | None = getattr(self, f"{pair}_mm")
        return value

    hand_breadth_mm: Annotated[
        float | None, Field(strict=True, ge=40, le=130, description="across the four knuckles; spaces a row of touches")
    ] = None
    thumb_reach_mm: Annotated[
        Gauge | None, Field(description="thumb from where it rests to a key's touch; default: keywork.touch_reach_mm")
    ] = None
    side_reach_mm: Annotated[
        Gauge | None, Field(description="another finger from where it rests to a touch beside it; default likewise")
    ] = None

    @property
    def given(self) -> bool:
        """Whether anything was measured of how far its fingers spread."""
        return any(value is not None for name, value in self if name not in _NO_SPREAD)


class HandModel(Section):
    """How one measurement stands for another. Every figure may be changed; each says what it rests on."""

    index_middle_share: Annotated[Share, Field(description="of span index-little, geometric model, no source")] = 0.31
    middle_ring_share: Annotated[Share, Field(description="as above")] = 0.29
    index_ring_share: Annotated[Share, Field(description="as above")] = 0.57
    ring_little_share: Annotated[
        Share, Field(description="as above, along the body with the little finger on its own line; straight 0.43")
    ] = 0.30
    index_little_share: Annotated[Share, Field(description="as above, pad centres where the span is tips")] = 0.92
    comfortable_share: Annotated[
        Share, Field(description="of the maximum; rule of thumb: middle of the joints' range, no source")
    ] = 0.66
    working_share: Annotated[Share, Field(description="of the maximum; rule of thumb, no source")] = 0.80
    index_little_per_thumb_little: Annotated[
        Share, Field(description="from two limits published for pianists' small hands, 152 of 216 mm")
    ] = 0.70
    thumb_little_per_hand_length: Annotated[
        Share, Field(description="mean of a public table of 27 adults; students and pianists 0.97 to 1.17")
    ] = 0.98
    knuckle_per_hand_breadth: Annotated[Share, Field(description="from knuckle to knuckle; estimate, no source")] = (
        0.245
    )
    knuckle_per_comfortable: Annotated[
        Share,
        Field(description="of the comfortable index-middle where no breadth is given; geometric model, no source"),
    ] = 0.70
    gauge_sd_mm: Annotated[NotNegative, Field(description="of a gauged figure; common practice, no source")] = 1.5
    estimate_sd_percent: Annotated[Percent, Field(description="of pair figures not gauged; as by hand length")] = 16.0
    pair_sd_percent: Annotated[Percent, Field(description="of a pair's share of the span; estimate, no source")] = 8.0
    span_sd_percent: Annotated[Percent, Field(description="of span by thumb span; estimate, no source")] = 8.0
    hand_length_sd_percent: Annotated[Percent, Field(description="thumb span by hand length; those 27 adults")] = 11.0
    other_hand_sd_percent: Annotated[Percent, Field(description="of one hand by the other; estimate, no source")] = 4.0
    assumed_sd_percent: Annotated[Percent, Field(description="of the figures below; spread of adults, estimate")] = 20.0
    assumed_index_middle_mm: Annotated[Gauge, Field(description="nothing given: small adult, geometric estimate")] = (
        25.0,
        31.0,
    )
    assumed_middle_ring_mm: Gauge = (24.0, 29.0)
    assumed_index_ring_mm: Gauge = (46.0, 57.0)
    assumed_ring_little_mm: Gauge = (23.0, 30.0)
    assumed_index_little_mm: Gauge = (73.0, 91.0)

    @model_validator(mode="after")
    def _shares_are_ordered(self) -> "HandModel":
        if not self.comfortable_share <= self.working_share <= 1.0:
            raise ValueError(
                f"comfortable_share <= working_share <= 1 must hold, but got {self.comfortable_share:g} and "
                f"{self.working_share:g}"
            )
        return self


class Hand(Section):
    """The player's hands. Defaults: a small adult hand; estimates and common practice without a source."""

    name: str = "small adult hand (estimate)"
    source: str = "geometric estimate, no measurement"
    gauged_on: Annotated[
        str,
        BeforeValidator(_day),
        Field(description="day the pairs were gauged on this player; empty: pair figures are estimates"),
    ] = ""
    adult: Annotated[
        bool, Field(strict=True, description="a grown player's hand: cautions for children are left out")
    ] = False
    left: Reach = Reach.left_out()
    right: Reach = Reach.left_out()
    spacing_min_mm: Annotated[Positive, Field(description="room for two fingers: a finger's breadth and 1 to 2")] = 17.0
    hand_gap_min_mm: Annotated[NotNegative, Field(description="between the hands' nearest fingers")] = 45.0
    thumb_offset_max_mm: Annotated[NotNegative, Field(description="thumb to index finger along the body")] = 20.0
    thumb_opposite_min_deg: Annotated[
        float, Field(strict=True, ge=0, le=180, description="thumb hole round the body from the index finger's")
    ] = 120.0
    ring_palm_offset_mm: Annotated[
        NotNegative, Field(description="how far toward the palm the shorter ring finger lands by itself; 0 to 3")
    ] = 0.0
    little_palm_offset_mm: Annotated[
        NotNegative, Field(description="how far toward the palm the little finger lands by itself; 10 to 25")
    ] = 15.0
    little_offset_mm: Annotated[
        NotNegative, Field(description="how far toward the bell of the ring finger the little one rests")
    ] = 25.0
    seal_diameter_max_mm: Annotated[Positive, Field(description="hole an index finger seals: 0.68 of its tip")] = 11.0
    ring_seal_less_mm: NotNegative = 1.0
    little_seal_less_mm: NotNegative = 2.0
    finger_breadth_mm: Annotated[Positive, Field(description="room a finger takes beside cups")] = 16.0
    grip_diameter_advised_mm: Annotated[
        Positive, Field(description="on a thicker body fingers lie flatter; advice, no limit")
    ] = 42.0
    model: HandModel = HandModel.left_out()

    @property
    def about(self) -> str:
        """Where its figures come from, and whether and when it was gauged."""
        return self.source + (f"; gauged on {self.gauged_on}" if self.gauged_on else "")


class PairLimits(NamedTuple):
    """Limits of a pair [mm], one standard deviation of the working limit [mm], and what they rest on."""

    comfortable_mm: float
    working_mm: float
    maximum_mm: float
    sd_mm: float
    basis: str


class _Span(NamedTuple):
    """Span index to little [mm], scatter of what it says of a pair [%], what it rests on."""

    mm: float
    sd_percent: float
    basis: str


def pair_limits(hand: Hand, side: str) -> dict[str, PairLimits]:
    """Limits of every pair in `PAIRS` for the hand on side `L` or `R`."""
    return _limits_of(PAIRS, hand, side)


def _limits_of(pairs: Iterable[str], hand: Hand, side: str) -> dict[str, PairLimits]:
    own, other = (hand.left, hand.right) if side == "L" else (hand.right, hand.left)
    measured, extra, said = own, 0.0, ""
    if not own.given and other.given:
        measured, extra, said = other, hand.model.other_hand_sd_percent, ", the other hand's"
    span = next(_spans(measured, hand), None)
    return {pair: _limits(pair, measured, hand, span, extra, said) for pair in pairs}


def _spans(measured: Reach, hand: Hand) -> Iterator[_Span]:
    """What is known of the span from index to little finger, strongest first."""
    model = hand.model
    if measured.span_index_little_mm is not None:
        yield _Span(measured.span_index_little_mm, model.pair_sd_percent, "span index to little")
    implied = [
        gauge[1] / (getattr(model, f"{pair}_share") * model.working_share)
        for pair in PAIRS
        if (gauge := measured.gauge(pair)) is not None
    ]
    by_span = math.hypot(model.pair_sd_percent, model.span_sd_percent)
    if implied and hand.gauged_on:
        yield _Span(sum(implied) / len(implied), by_span, "other pairs")
    if measured.span_thumb_little_mm is not None:
        span = model.index_little_per_thumb_little * measured.span_thumb_little_mm
        yield _Span(span, by_span, "span thumb to little")
    if measured.hand_length_mm is not None:
        thumb_span = model.thumb_little_per_hand_length * measured.hand_length_mm
        by_length = math.hypot(by_span, model.hand_length_sd_percent)
        yield _Span(model.index_little_per_thumb_little * thumb_span, by_length, "hand length")
    if implied:
        by_estimate = math.hypot(model.pair_sd_percent, model.estimate_sd_percent)
        yield _Span(sum(implied) / len(implied), by_estimate, "other pairs, estimates")


def _limits(pair: str, measured: Reach, hand: Hand, span: _Span | None, extra: float, said: str) -> PairLimits:
    model, gauge = hand.model, measured.gauge(pair)
    if gauge is None and span is not None:
        maximum = getattr(model, f"{pair}_share") * span.mm
        working = model.working_share * maximum
        sd = working * math.hypot(span.sd_percent, extra) / 100.0
        return PairLimits(model.comfortable_share * maximum, working, maximum, sd, span.basis + said)
    if gauge is None:
        gauge, basis, percent = getattr(model, f"assumed_{pair}_mm"), "assumed", model.assumed_sd_percent
    else:
        basis, percent = ("gauged", 0.0) if hand.gauged_on else ("estimate", model.estimate_sd_percent)
    comfortable, working = gauge[:2]
    maximum = gauge[2] if len(gauge) == 3 else working / model.working_share
    sd = math.hypot(working * math.hypot(percent, extra) / 100.0, model.gauge_sd_mm if basis == "gauged" else 0.0)
    return PairLimits(comfortable, working, max(maximum, working), sd, basis + said)


def knuckle_spacing_mm(hand: Hand, side: str) -> float:
    """From knuckle to knuckle of the hand on side `L` or `R` [mm]: by its breadth, else the other's, else by how far
    index and middle finger lie apart in comfort; with room for two fingers."""
    own, other = (hand.left, hand.right) if side == "L" else (hand.right, hand.left)
    breadth = own.hand_breadth_mm or other.hand_breadth_mm
    if breadth is not None:
        spacing = hand.model.knuckle_per_hand_breadth * breadth
    else:
        (apart,) = _limits_of(["index_middle"], hand, side).values()
        spacing = hand.model.knuckle_per_comfortable * apart.comfortable_mm
    return max(spacing, hand.spacing_min_mm + SPARE_MM)


def touch_reach_mm(hand: Hand, finger: str, otherwise: float) -> float:
    """How far a finger such as `RT` or `L1` reaches from where it rests to a key's touch [mm]: as gauged, else
    `otherwise`."""
    own, other = (hand.left, hand.right) if finger[0] == "L" else (hand.right, hand.left)
    name = "thumb_reach_mm" if finger[1] == "T" else "side_reach_mm"
    gauge: tuple[float, ...] | None = getattr(own, name) or getattr(other, name)
    return otherwise if gauge is None else gauge[1]


def palm_offset_mm(hand: Hand, finger: str) -> float:
    """How far toward the palm a finger such as `L4` lands by itself [mm]."""
    return {"3": hand.ring_palm_offset_mm, "4": hand.little_palm_offset_mm}.get(finger[1], 0.0)


def seal_limit_mm(hand: Hand, finger: str) -> float:
    """Largest diameter [mm] that a finger such as `R3` can seal."""
    less = {"3": hand.ring_seal_less_mm, "4": hand.little_seal_less_mm}.get(finger[1], 0.0)
    return hand.seal_diameter_max_mm - less
