"""Checks of `[bends]`: a body that can be made, and things on it that lie on one tube each."""

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from optimizer.project.bends import Bend, straight_spans, tubes_of
from optimizer.project.body import bore_ended
from optimizer.project.bore import BoreSection
from optimizer.project.findings import Finding, at
from optimizer.project.hand import SIDES

SAMPLE_MM = 2.0
"""Tubes are held against each other at places so far apart; that overlooks less than 0.02 mm."""


def bend_checks(sections: Mapping[str, Any]) -> list[Finding]:
    """Checks of bends against the bore, and of all that has a place against the bends; none of a straight body."""
    bends: list[Bend] = sections.get("bends", [])
    if not bends or "bore" not in sections:
        return []
    bore: BoreSection = sections["bore"]
    found = _out_of_order(bends, bore) or _too_tight(bends, bore) or _into_each_other(bends, bore)
    found = found or [finding for path, span in _placed(sections) for finding in _off_the_tubes(bends, path, span)]
    body = sections.get("sections")
    if not found and body and body.zones_mm and not any(straight_spans(bends, *zone) for zone in body.zones_mm):
        found = [at("sections.zones_mm", "all of it lies in bends, where no joint can be; name straight stretches")]
    return found


def _out_of_order(bends: Sequence[Bend], bore: BoreSection) -> list[Finding]:
    """Bends one after the other, all on the body."""
    found, before, named = [], bore.crook_end_mm, "the crook"
    for bend in bends:
        if bend.at_mm <= before:
            said = f"must lie beyond {named}, which ends at {before:.4g}, but got {bend.at_mm:g}; bends are listed from"
            found.append(at(f"bends.{bend.id}.at_mm", f"{said} the reed, with a straight tube between any two"))
        before, named = bend.end_mm, f"bend {bend.id}"
    end = bore.end_span_mm[0]
    if not found and before >= end:
        last = bends[-1]
        said = f"the bend is {last.length_mm:.4g} mm long and ends at {before:.4g}, but the bore may end at {end:g}"
        found.append(at(f"bends.{last.id}.at_mm", f"{said}; begin it sooner, or make it tighter"))
    return found


def _outer_mm(bore: BoreSection, places: np.ndarray) -> np.ndarray:
    """The body's outer radius at places of any shape, as wide as the bore's points may be, its last line carried on
    [mm]."""
    along, diameters = np.array(bore_ended(bore.points_mm, max(bore.points_mm[-1][0], bore.end_span_mm[1]))).T
    wide: np.ndarray = 0.5 * np.interp(places, along, diameters) * bore.diameter_scale[1] + bore.wall_mm
    return wide


def _too_tight(bends: Sequence[Bend], bore: BoreSection) -> list[Finding]:
    """A bend that would close upon itself at its inner side."""
    found = []
    for bend in bends:
        widest = float(np.max(_outer_mm(bore, _sampled(bend.at_mm, bend.end_mm))))
        if bend.radius_mm < widest:
            said = f"must be at least {widest:.4g}, half of what the body is thick there, but got {bend.radius_mm:g}"
            found.append(at(f"bends.{bend.id}.radius_mm", f"{said}; a tighter bend folds into itself"))
    return found


def _sampled(low: float, high: float) -> np.ndarray:
    return np.linspace(low, high, 1 + math.ceil((high - low) / SAMPLE_MM))


def _centre_line(bends: Sequence[Bend], part: int, places: np.ndarray) -> np.ndarray:
    """Where places (n,) lie in space (n, 3) [mm], all on one part: tubes have even numbers, bends odd ones."""
    tube = tubes_of(bends)[part // 2]
    within, aside, turn = np.minimum(places, tube.end) - tube.begin, np.zeros(places.size), 0.0
    if part % 2:
        bend = bends[part // 2]
        angle, turn = (places - bend.at_mm) / bend.radius_mm, math.radians(bend.toward_deg)
        within = within + bend.radius_mm * np.sin(angle)
        aside = bend.radius_mm * (1.0 - np.cos(angle))
    depth = tube.depth + tube.down * within
    return np.stack([depth, tube.front + aside * math.cos(turn), tube.right + aside * math.sin(turn)], axis=-1)


def _into_each_other(bends: Sequence[Bend], bore: BoreSection) -> list[Finding]:
    """Tubes and bends that do not follow upon each other and would share room."""
    ends = [bore.crook_end_mm, *(end for bend in bends for end in (bend.at_mm, bend.end_mm)), bore.end_span_mm[1]]
    places = [_sampled(low, high) for low, high in itertools.pairwise(ends)]
    lines = [_centre_line(bends, part, some) for part, some in enumerate(places)]
    for first, second in itertools.combinations(range(len(places)), 2):
        if second - first < 2:  # a bend follows upon its tubes
            continue
        apart = np.linalg.norm(lines[first][:, None] - lines[second], axis=-1)
        wide = _outer_mm(bore, places[first])[:, None] + _outer_mm(bore, places[second])
        here, there = np.unravel_index(np.argmin(apart - wide), apart.shape)
        if apart[here, there] < wide[here, there] - 1e-9:
            bend = bends[(second - 1) // 2]
            said = f"the body runs into itself: at {places[first][here]:.4g} and {places[second][there]:.4g} mm along "
            said += f"it the middles are {round(apart[here, there], 1):g} mm apart, and the walls need "
            said += f"{wide[here, there]:.4g}; take "
            return [at(f"bends.{bend.id}", f"{said}a wider radius_mm, another toward_deg, or a narrower bore")]
    return []


def _placed(sections: Mapping[str, Any]) -> Iterator[tuple[str, tuple[float, float]]]:
    """The ranges of all that has a place on the body [mm], by their path; a row with all of its fingers' places."""
    for kind in ("holes", "fittings"):
        for each in sections.get(kind, []):
            yield f"{kind}.{each.id}.position_mm", each.position_mm
    rows = sections.get("rows")
    for side, row in (rows.by_side if rows else {}).items():
        yield f"rows.{SIDES[side]}.position_mm", row.position_mm


def _off_the_tubes(bends: Sequence[Bend], path: str, span: tuple[float, float] | None) -> list[Finding]:
    """A range that does not say on which of the tubes a thing is to lie, or lies in a bend."""
    if span is None:
        return [at(path, "a folded body needs the row's place: write [low, high] on one of the tubes")]
    low, high = span
    inside = [bend for bend in bends if bend.at_mm < high and low < bend.end_mm]
    if not inside or (low < high and len(straight_spans(bends, low, high)) == 1):
        return []
    bend, one = inside[0], low == high or not straight_spans(bends, low, high)
    where, what = f"{low:g}" if low == high else f"[{low:g}, {high:g}]", "lies in" if one else "reaches over"
    said = f"{where} {what} bend {bend.id}, from {bend.at_mm:g} to {bend.end_mm:.4g}; nothing stands on a bend, so keep"
    return [at(path, f"{said} it to one of the straight tubes")]
