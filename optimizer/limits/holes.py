"""Limits of the holes themselves: order, walls between them, the bell, the bore, the crook, what a finger seals."""

from itertools import pairwise

import numpy as np

from acoustics.arrays import Array
from optimizer.geometry.measured_layout import Geometry, fixed_of
from optimizer.geometry.surface import Crowding, near_pairs, split
from optimizer.limits.family import Constraint, Family, in_force
from optimizer.project.bends import tube_at
from optimizer.project.hand import seal_limit_mm
from optimizer.project.model import Hole, Project


def order(project: Project) -> Family:
    """Tone holes from the bell toward the reed, as they are listed."""
    tone = [index for index, hole in enumerate(project.holes) if hole.role == "tone"]
    pairs = list(pairwise(tone))
    lower, upper = split(pairs)
    ids = [hole.id for hole in project.holes]
    items = [
        Constraint(f"order.{ids[i]}-{ids[j]}", f"{ids[j]} lies nearer the reed than {ids[i]}, as listed")
        for i, j in pairs
    ]
    return items, lambda at: at.layout.position_mm[upper] - at.layout.position_mm[lower]


def webs(project: Project) -> Family:
    """Wall left between hole edges, at the bore; left out where the cups of two pads in line need more room anyway."""
    holes, keywork = project.holes, project.keywork
    rims = 2.0 * keywork.seat_rim_mm + keywork.pad_overlap_mm + keywork.cup_wall_mm
    cups_need_more = keywork.web_min_mm <= keywork.cup_clearance_mm + rims
    pairs = [
        (i, j)
        for i, j in near_pairs(project)
        if not (cups_need_more and _always_padded(holes[i], holes[j]) and holes[i].azimuth_deg == holes[j].azimuth_deg)
        and on_one_tube(project, holes[i], holes[j])
    ]
    web = keywork.web_min_mm
    crowding = Crowding(holes, pairs, web, fixed_of(project).fold)
    items = [
        Constraint(
            f"web.{holes[i].id}-{holes[j].id}",
            f"at least {web:g} mm of wall stays between the edges of {holes[i].id} and {holes[j].id}",
        )
        for i, j in pairs
    ]
    return items, lambda at: crowding.lacking(at.layout.position_mm, at.layout.diameter_mm, at.bore_radius)


def on_one_tube(project: Project, first: Hole, second: Hole) -> bool:
    """Whether two holes stand on the same tube of the body."""
    return tube_at(project.bends, first.position_mm[0]) == tube_at(project.bends, second.position_mm[0])


def _always_padded(*holes: Hole) -> bool:
    return all(hole.padded and hole.cover != "either" for hole in holes)


def bell_margins(project: Project) -> Family:
    """Holes clear of the bell end."""
    share = project.keywork.end_margin_per_diameter
    low = project.bore.end_span_mm[0]
    chosen = [i for i, hole in enumerate(project.holes) if hole.position_mm[1] + share * hole.diameter_mm[1] > low]
    index = np.array(chosen, int)
    items = [
        Constraint(
            f"bell_margin.{project.holes[i].id}",
            f"{project.holes[i].id} stays {share:g} of its diameter clear of the bell end",
        )
        for i in chosen
    ]

    def values(at: Geometry) -> Array:
        return at.layout.position_mm[index] + share * at.layout.diameter_mm[index] - at.layout.end_mm

    return items, values


def bore_limits(project: Project) -> Family:
    """No hole wider than the bore where it stands."""
    smallest = fixed_of(project).shape.span_mm[0]
    chosen = [i for i, hole in enumerate(project.holes) if hole.diameter_mm[1] > smallest]
    index = np.array(chosen, int)
    items = [
        Constraint(f"bore.{project.holes[i].id}", f"{project.holes[i].id} is no wider than the bore where it stands")
        for i in chosen
    ]
    return items, lambda at: at.layout.diameter_mm[index] - 2.0 * at.bore_radius[index]


def crook_limits(project: Project) -> Family:
    """Tone holes stand on the body: their reed-side edge lies beyond the crook."""
    end = project.bore.crook_end_mm
    chosen = [
        i
        for i, hole in enumerate(project.holes)
        if hole.role == "tone" and hole.position_mm[0] - 0.5 * hole.diameter_mm[1] < end
    ]
    index = np.array(chosen, int)
    items = [
        Constraint(f"crook.{project.holes[i].id}", f"{project.holes[i].id} stands on the body, beyond {end:g} mm")
        for i in chosen
    ]
    return items, lambda at: 0.5 * at.layout.diameter_mm[index] + end - at.layout.position_mm[index]


def seals(project: Project) -> Family:
    """Bare holes no wider than their fingers seal."""
    bare = [i for i, hole in enumerate(project.holes) if hole.by != "key" and hole.cover != "plate"]
    index = np.array(bare, int)
    limits = np.array([seal_limit_mm(project.hand, project.holes[i].by) for i in bare])
    items = [
        Constraint(
            f"seal.{project.holes[i].id}",
            f"{project.holes[i].by} can seal at most {limit:g} mm, the diameter of {project.holes[i].id}",
        )
        for i, limit in zip(bare, limits, strict=True)
    ]

    return items, lambda at: in_force(at.top_mm[index] - limits, ~at.shut[index])
