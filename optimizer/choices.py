"""What a project leaves open that no gradient can choose, and one way of choosing it all.

| what | where the project leaves it open | how it is chosen |
|---|---|---|
| plates | `cover = "either"` on a finger's hole | per hole: bare or plate |
| fingerings | chart lines marked `option` | per note: which of its lines is played |
| joints | `sections.joints = [low, high]` | how many, and in which gap between holes each starts |
| bore scale | `bore.diameter_scale = [low, high]` | where in the range a solve starts |
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from acoustics.pitch import midi_number
from optimizer.chart import ChartNote
from optimizer.layout import Choice, Layout, fixed_choice, joint_zones
from optimizer.project import Project


class Choices(NamedTuple):
    """One way of choosing. Plain values, so that it travels to a worker.

    plates : ids of the open-cover holes that take a plate
    fingerings : chart lines played, one for each note that has options
    joints : for each joint where it is first put, as a share of the zones' total length, 0 at the reed
    bore_scale : share of its range, 0 to 1
    """

    plates: tuple[str, ...] = ()
    fingerings: tuple[int, ...] = ()
    joints: tuple[float, ...] = ()
    bore_scale: float = 0.5


def open_covers(project: Project) -> list[str]:
    """Ids of the holes that may take a plate or stay bare."""
    return [hole.id for hole in project.holes if hole.cover == "either"]


def optional_notes(notes: Sequence[ChartNote]) -> dict[str, list[int]]:
    """Per note with options, by its written name: its chart lines."""
    lines: dict[int, list[int]] = {}
    for line, note in enumerate(notes):
        if note.option:
            lines.setdefault(midi_number(note.written), []).append(line)
    return {notes[found[0]].written: found for found in lines.values()}


def plain_choices(project: Project, notes: Sequence[ChartNote]) -> Choices:
    """The first way of choosing: plates on all open covers, each note's first option, the fewest joints, spread."""
    few = project.sections.joints[0] if project.sections else 0
    return Choices(
        tuple(open_covers(project)),
        tuple(lines[0] for lines in optional_notes(notes).values()),
        tuple((number + 1) / (few + 1) for number in range(few)),
    )


def lines_played(notes: Sequence[ChartNote], choices: Choices) -> np.ndarray:
    """Which chart lines (N,) belong to a layout: all but the options that were not chosen."""
    return np.array([not note.option or line in choices.fingerings for line, note in enumerate(notes)])


def choice_arrays(project: Project, choices: Choices, position_mm: np.ndarray) -> tuple[Choice, np.ndarray]:
    """The choice as arrays for holes that start at position_mm (H,), and where the joints start (J,) [mm]."""
    fixed = fixed_choice(project)
    plate = np.array([hole.cover == "plate" or hole.id in choices.plates for hole in project.holes], float)
    places = np.full(fixed.joint_used.size, joint_zones(project)[0][0])
    above, zone = fixed.joint_above.copy(), fixed.joint_zone.copy()
    for number, place in enumerate(_spread_out(project, choices.joints, position_mm)):
        places[number], zone[number] = place[0], place[1]
        above[number] = position_mm > place[0]
    used = (np.arange(places.size) < len(choices.joints)).astype(float)
    return Choice(plate, used, above, zone), places


def _spread_out(
    project: Project, shares: Sequence[float], position_mm: np.ndarray
) -> list[tuple[float, tuple[float, float]]]:
    """Place and zone of each joint: in the gap between holes nearest its share of the zones, none used twice."""
    zones = joint_zones(project)
    lengths = np.array([high - low for low, high in zones])
    edges = np.sort(np.concatenate([[project.bore.crook_end_mm], position_mm, [project.bore.end_span_mm[1]]]))
    middles = 0.5 * (edges[1:] + edges[:-1])
    found: list[tuple[float, tuple[float, float]]] = []
    for share in sorted(shares):
        along = float(np.clip(share, 0.0, 1.0)) * float(lengths.sum())
        index = min(int(np.searchsorted(np.cumsum(lengths), along)), len(zones) - 1)
        low, high = zones[index]
        wanted = low + along - float(lengths[:index].sum())
        inside = middles[(middles >= low) & (middles <= high)]
        inside = np.array([place for place in inside if place not in [other for other, _ in found]])
        place = float(inside[np.argmin(np.abs(inside - wanted))]) if inside.size else wanted
        found.append((place, (low, high)))
    return sorted(found)


def chosen_figures(project: Project, layout: Layout) -> dict[str, float]:
    """Figures of merit that are choices: how many finger holes with an open cover took a plate."""
    covers = [hole.cover == "either" for hole in project.holes]
    return {"plates": float(np.sum(np.asarray(layout.choice.plate)[covers]))}
