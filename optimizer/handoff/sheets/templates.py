"""Wrap templates: the outside of each piece laid flat, to print, cut out and wrap round it, its holes to punch."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TypeVar

from optimizer.handoff.shapes.bent import front_at
from optimizer.handoff.shapes.shape import Drawing, Flat, Foot, Hole, Piece
from optimizer.handoff.sheets.plan import Plan
from optimizer.handoff.sheets.unrolled import PAPER_MM, Stretch

Thing = TypeVar("Thing", Hole, Flat, Foot)

TAB_MM = 8.0
STEEPEST = 0.5
"""Slope of the outside above which no paper lies on it: backs of rings, chamfers."""

SHORTEST_MM = 1.0
TOLD = (
    "Finished sizes. Cut out, wrap with the print outward: front line at the front, seam at the back, its tab below "
    "the other edge. Punch the centres; outlines of holes are a check. Cut out the circles of seats and feet, which "
    "stand out of the body."
)


def templates(drawing: Drawing) -> list[Plan]:
    """A template of each stretch of each piece that a hole or a foot lies on.

    Parameters
    ----------
    drawing : finished pieces
    """
    return [plan for piece in drawing.pieces for plan in _of_piece(drawing, piece)]


def _of_piece(drawing: Drawing, piece: Piece) -> Iterator[Plan]:
    stretches = stretches_of(piece)
    for number, stretch in enumerate(stretches, start=1):
        which = f", stretch {number} of {len(stretches)}" if len(stretches) > 1 else ""
        name = f"wrap-{piece.number}" + (f"-{number}" if which else "")
        lies = (
            f"The left edge lies {stretch.from_mm:.2f} mm from the piece's reed end, its socket included, the right "
            f"edge {stretch.to_mm:.2f} mm."
        )
        plan = Plan(name, f"{drawing.instrument}, {piece.name}{which}: wrap template", (lies, TOLD))
        _edges(plan, stretch)
        front, told = front_at(piece.bends, stretch.from_mm), {hole.id: hole.azimuth_deg for hole in piece.holes}
        holes, feet = _seen(stretch, piece.holes, front), _seen(stretch, piece.feet, front)
        for hole in holes:
            _hole(plan, stretch, hole)
        for flat in _seen(stretch, piece.flats, front):
            if not flat.sunk:
                for azimuth in _azimuths(stretch, flat, flat.diameter_mm):
                    plan.closed("marks", stretch.hole(flat.z_mm, azimuth, flat.diameter_mm))
        for foot in feet:
            _foot(plan, stretch, foot)
        for hole in holes:
            _name_of_hole(plan, stretch, hole, told[hole.id])
        for foot in feet:
            x, y = stretch.flat(foot.z_mm, foot.azimuth_deg)
            plan.label((x + foot.diameter_mm / 2.0 + 0.6, y - 0.8), f"post {foot.post} of {foot.key}", 1.8)
        yield plan


def stretches_of(piece: Piece) -> list[Stretch]:
    """The straight stretches of a piece's outside that holes or feet lie on, for paper to lie on them."""
    found = []
    for (low, first), (high, last) in pairwise(piece.outside):
        if high - low < SHORTEST_MM or abs(last - first) > STEEPEST * (high - low):
            continue
        stretch = Stretch(low, high, first + PAPER_MM / 2.0, last + PAPER_MM / 2.0)
        if any(_on(stretch, hole) for hole in piece.holes) or any(_on(stretch, foot) for foot in piece.feet):
            found.append(stretch)
    return found


def _seen(stretch: Stretch, things: Sequence[Thing], front_deg: float) -> list[Thing]:
    """Those that lie on a stretch, with azimuths from the player's front, which lies at an azimuth on the piece."""
    here = [thing for thing in things if _on(stretch, thing)]
    if not front_deg:
        return here
    return [replace(thing, azimuth_deg=180.0 - (180.0 - thing.azimuth_deg + front_deg) % 360.0) for thing in here]


def _on(stretch: Stretch, thing: Hole | Flat | Foot) -> bool:
    return stretch.from_mm <= thing.z_mm < stretch.to_mm


def _edges(plan: Plan, stretch: Stretch) -> None:
    """Outline, tab of the seam, front line and arrow."""
    low, high = stretch.from_mm, stretch.to_mm
    reed, bell = stretch.edge(low), stretch.edge(high)
    plan.closed("outline", [*reed, *reversed(bell)])
    tab = [stretch.flat(low + TAB_MM, 180.0), stretch.flat(high - TAB_MM, 180.0)]
    plan.line("marks", reed[-1], *((x, y - TAB_MM) for x, y in tab), bell[-1])
    plan.line("marks", stretch.flat(low, 0.0), stretch.flat(high, 0.0))
    x, y = stretch.flat(low, 0.0)
    plan.text((x + 2.0, y + 1.0), "front")
    end_x, end_y = stretch.flat(high, 0.0)
    plan.line("marks", (end_x - 5.0, end_y + 1.5), (end_x, end_y), (end_x - 5.0, end_y - 1.5))
    plan.text((end_x - 6.0, end_y + 1.0), "bell", anchor="end")
    tab_x, tab_y = tab[0]
    plan.text((tab_x + 4.0, tab_y - 0.6 * TAB_MM), "tab: below the other edge")


def _azimuths(stretch: Stretch, thing: Hole | Flat, wide_mm: float) -> list[float]:
    """Where something lies on the paper: at both edges where it lies on the seam."""
    turned = 180.0 if thing.azimuth_deg <= 0.0 else -180.0
    over = stretch.radius_mm(thing.z_mm) * math.radians(180.0 - abs(thing.azimuth_deg)) < 0.5 * wide_mm
    return [thing.azimuth_deg, thing.azimuth_deg + 2.0 * turned] if over else [thing.azimuth_deg]


def _hole(plan: Plan, stretch: Stretch, hole: Hole) -> None:
    for azimuth in _azimuths(stretch, hole, hole.round_mouth_mm):
        plan.closed("holes", stretch.hole(hole.z_mm, azimuth, hole.round_mouth_mm))
        plan.cross("centres", stretch.flat(hole.z_mm, azimuth))


def _name_of_hole(plan: Plan, stretch: Stretch, hole: Hole, azimuth_deg: float) -> None:
    """What a hole is called and its azimuth on the piece, beside it: all is drawn by then that words keep off."""
    x, y = stretch.flat(hole.z_mm, hole.azimuth_deg)
    half = hole.round_mouth_mm / 2.0
    plan.label((x + half + 1.0, y + 0.8), f"{hole.id}  {hole.round_mouth_mm:.2f}")
    plan.label((x + half + 1.0, y - 2.8), f"{hole.z_mm:.2f}, {azimuth_deg:g} deg", 2.0)


def _foot(plan: Plan, stretch: Stretch, foot: Foot) -> None:
    """The foot of a post, which stands out of the body."""
    plan.closed("marks", stretch.hole(foot.z_mm, foot.azimuth_deg, foot.diameter_mm))
    x, y = stretch.flat(foot.z_mm, foot.azimuth_deg)
    plan.cross("centres", (x, y), 1.0)
