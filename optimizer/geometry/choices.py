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

from optimizer.geometry.layout import Choice, Layout, fixed_choice, joint_zones
from optimizer.project.chart import ChartNote
from optimizer.project.model import Project


class Choices(NamedTuple):
    """One way of choosing. Plain values, so that it travels to a worker.

    Attributes
    ----------
    plates : ids of the open-cover holes that take a plate
    fingerings : chart lines played, one for each note that has options
    joints : for each joint where it is first put, as a share of the stretch that leaves all pieces short enough
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
            lines.setdefault(note.midi, []).append(line)
    return {notes[found[0]].written: found for found in lines.values()}


def plain_choices(project: Project, notes: Sequence[ChartNote]) -> Choices:
    """The first way of choosing: plates on all open covers, each note's first option, the fewest joints, spread."""
    few = project.sections.joints[0] if project.sections else 0
    return Choices(
        tuple(open_covers(project)),
        tuple(lines[0] for lines in optional_notes(notes).values()),
        (0.5,) * few,
    )


def lines_played(notes: Sequence[ChartNote], choices: Choices) -> np.ndarray:
    """Which chart lines (N,) belong to a layout: all but the options that were not chosen."""
    return np.array([not note.option or line in choices.fingerings for line, note in enumerate(notes)])


def choice_arrays(
    project: Project, choices: Choices, position_mm: np.ndarray, joints_mm: Sequence[float] = ()
) -> tuple[Choice, np.ndarray]:
    """The choice as arrays, and where the joints start (J,) [mm].

    Parameters
    ----------
    project : what leaves it open
    choices : one way of choosing
    position_mm : (H,) where the holes start [mm]
    joints_mm : where the joints start [mm], when known; else in the gaps that `choices.joints` asks for
    """
    fixed = fixed_choice(project)
    plate = np.array([hole.cover == "plate" or hole.id in choices.plates for hole in project.holes], float)
    places, above, zone = np.full(fixed.joint_used.size, np.nan), fixed.joint_above.copy(), fixed.joint_zone.copy()
    known = len(joints_mm) == len(choices.joints)
    found = list(joints_mm) if known else first_places(project, choices.joints, position_mm)
    made = project.sections.locked_joints if project.sections else {}
    found = [made[number].at_mm if number in made else place for number, place in enumerate(found)]
    for number, place in enumerate(found):
        places[number], zone[number] = place, _zone_of(place, project)
        above[number] = position_mm > place
    used = (np.arange(places.size) < len(found)).astype(float)
    return Choice(plate, used, above, zone), np.where(np.isnan(places), joint_zones(project)[0][0], places)


def _zone_of(place: float, project: Project) -> tuple[float, float]:
    """The zone that a place lies in, or the nearest one."""
    return min(joint_zones(project), key=lambda zone: max(zone[0] - place, place - zone[1], 0.0))


def first_places(project: Project, shares: Sequence[float], position_mm: np.ndarray) -> list[float]:
    """Where joints start [mm]: each at its share of the stretch that leaves all pieces short enough, then moved to the
    middle of the nearest gap between holes that no other joint has taken. Joints already made stay.

    Parameters
    ----------
    project : what says how long pieces may be
    shares : one for each joint, 0 to 1
    position_mm : (H,) where the holes start [mm]
    """
    section = project.sections
    if section is None:
        return []
    begin, bell = project.bore.crook_end_mm, 0.5 * sum(project.bore.end_span_mm)
    step, least, made = project.piece_max_mm - section.joint_mm, 2.0 * section.joint_mm, section.locked_joints
    edges = np.sort(np.concatenate([[begin], position_mm, [project.bore.end_span_mm[1]]]))
    middles = 0.5 * (edges[1:] + edges[:-1])
    found: list[float] = []
    before = begin - 0.5 * section.joint_mm
    for number, share in enumerate(shares):
        if number in made:
            before = made[number].at_mm
            found.append(before)
            continue
        following = min((other for other in made if other > number), default=len(shares))
        left, end = following - number, made[following].at_mm + 0.5 * section.joint_mm if following in made else bell
        low = max(before + least, end - left * step - 0.5 * section.joint_mm)
        high = max(low, min(before + step, end - left * least))
        wanted = low + float(np.clip(share, 0.0, 1.0)) * (high - low)
        wanted = float(np.clip(wanted, *_zone_of(wanted, project)))
        zone = _zone_of(wanted, project)
        free = [place for place in middles if zone[0] <= place <= zone[1] and low <= place <= high and place > before]
        before = min(free, key=lambda place: abs(place - wanted), default=wanted)
        found.append(float(before))
    return found


def chosen_figures(project: Project, layout: Layout) -> dict[str, float]:
    """Figures of merit that are choices: how many finger holes with an open cover took a plate, how many joints there
    are."""
    covers = [hole.cover == "either" for hole in project.holes]
    plates, joints = np.asarray(layout.choice.plate)[covers], np.asarray(layout.choice.joint_used)
    return {"plates": float(np.sum(plates)), "joints": float(np.sum(joints > 0.5))}
