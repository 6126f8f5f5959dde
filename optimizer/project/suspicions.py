"""What a project is likely not to mean, though each value could stand alone: told before what follows from it.

A suspicion names the findings that it explains; these are left out beside it. Where nothing is refused, suspicions
stand alone, as questions: `check` and `search` tell them, and go on.
"""

import math
from collections.abc import Mapping, Sequence
from fnmatch import fnmatchcase
from typing import Any

from optimizer.project.chart import ChartNote
from optimizer.project.findings import Finding, Suspicion, at
from optimizer.project.hand import PAIRS
from optimizer.project.suspicious_chart import chart_suspicions
from optimizer.project.suspicious_lengths import length_suspicions
from optimizer.project.swapped_hands import hand_side_suspicions
from optimizer.project.unused import unused_suspicions


def causes_first(findings: Sequence[Finding], suspicions: Sequence[Suspicion]) -> list[Finding]:
    """Findings with their likely causes before them and without what follows from these; suspicions alone where there
    are no findings, for what is refused is mended first."""
    follow = {
        suspicion.finding: {
            finding
            for finding in findings
            if any(
                fnmatchcase(finding.path, said) or fnmatchcase(finding.sentence, said) for said in suspicion.explains
            )
        }
        for suspicion in suspicions
    }
    explained = set().union(*follow.values())
    causes = [finding for finding in follow if follow[finding] or not findings]
    told = sorted(causes, key=lambda finding: -len(follow[finding]))
    return [*told, *(finding for finding in findings if finding not in explained)]


def suspicions(data: Mapping[str, Any], sections: Mapping[str, Any], notes: Sequence[ChartNote]) -> list[Suspicion]:
    """Likely mistakes of a project.

    Parameters
    ----------
    data : its tables as read
    sections : those that are sound, as models
    notes : its chart lines that are sound
    """
    found = length_suspicions(data, sections)
    if not found:
        found = hand_side_suspicions(sections, notes)
    if not found:
        found = [*chart_suspicions(sections, notes), *unused_suspicions(sections, notes)]
    return [*found, *_hand_suspicions(sections), *_share_suspicions(sections), *_angle_suspicions(sections),
            *_order_suspicions(sections)]  # fmt: skip


def _hand_suspicions(sections: Mapping[str, Any]) -> list[Suspicion]:
    """Distances between fingers in centimetres: 12 mm is less than the breadth of any finger."""
    found = []
    for side in ("left", "right") if "hand" in sections else ():
        for name, value in getattr(sections["hand"], side):
            if isinstance(value, tuple) and max(value) <= 12.0 and name.removesuffix("_mm") in PAIRS:
                ten = ", ".join(f"{10 * each:g}" for each in value)
                said = f"fingers do not lie {max(value):g} mm apart; did you mean [{ten}], in millimetres?"
                found.append(Suspicion(at(f"hand.{side}.{name}", said), ("hand",)))
    return found


_SHARES = {
    ("air", "humidity_percent"): (1.0, "nearly dry air"),
    ("air", "co2_percent"): (0.038, "less than fresh air has (0.04)"),
    ("chart", "half_open_percent"): (1.0, "a half hole that is as good as closed"),
}
"""Percentages that hardly anybody means when they are more than 0 and less than this, and what they would be."""


def _share_suspicions(sections: Mapping[str, Any]) -> list[Suspicion]:
    found = []
    for (table, key), (least, what) in _SHARES.items():
        value = getattr(sections.get(table), key, 0.0)
        if 0.0 < value < least or (value == least == 1.0):
            said = f"{value:g} % is {what}; did you mean {100 * value:g} ({value:g} as a share)?"
            found.append(Suspicion(at(f"{table}.{key}", said)))
    return found


RADIANS_MOST = 6.29


def _angle_suspicions(sections: Mapping[str, Any]) -> list[Suspicion]:
    """Angles that are no round number of degrees, and one of tens of degrees in radians to the digits written."""
    odd = {}
    for hole in sections.get("holes", ()):
        degrees = math.degrees(hole.azimuth_deg)
        off = abs(degrees - 10.0 * round(degrees / 10.0))
        if 0.1 < abs(hole.azimuth_deg) < RADIANS_MOST and hole.azimuth_deg * 2 % 1 and off < 0.35:
            odd[hole.id] = (hole.azimuth_deg, 10.0 * round(degrees / 10.0))
    if not odd:
        return []
    first, (came, meant) = next(iter(odd.items()))
    more = f"; {', '.join(list(odd)[1:])} likewise" if len(odd) > 1 else ""
    said = f"{came:g} degrees; did you mean {meant:g} ({came:g} in radians)?{more}"
    return [Suspicion(at(f"holes.{first}.azimuth_deg", said), tuple(f"holes.{name}.azimuth_deg" for name in odd))]


def _order_suspicions(sections: Mapping[str, Any]) -> list[Suspicion]:
    """Vents that stand among the tone holes, and bare holes shallower than the wall that they are drilled through."""
    holes = sections.get("holes", [])
    last = max((number for number, hole in enumerate(holes) if hole.role == "tone"), default=0)
    found = [
        Suspicion(at(f"holes.{hole.id}", "vents come last; move the line below the tone holes"))
        for number, hole in enumerate(holes)
        if hole.role == "vent" and number < last
    ]
    wall = sections["bore"].wall_mm if "bore" in sections else 0.0
    shallow = [hole for hole in holes if not hole.padded and hole.seat is None and hole.chimney_mm[1] < wall]
    for hole in shallow[:1]:
        more = f"; {', '.join(each.id for each in shallow[1:])} likewise" if len(shallow) > 1 else ""
        said = (
            f"a hole drilled through a wall of {wall:g} is no shallower than that, but this is {hole.chimney_mm[1]:g}; "
            f'write {wall:g}, or seat = "sunk"{more}'
        )
        found.append(Suspicion(at(f"holes.{hole.id}.chimney_mm", said)))
    return found
