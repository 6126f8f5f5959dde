"""Limits of venting: what a player accepts of the open holes below a note, as `[venting]` says (common practice, no
source). They hold for what may still change; of what is made already `not_so` tells what it does not keep.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from acoustics.arrays import Array
from optimizer.geometry.cutoffs import pair_cutoffs
from optimizer.geometry.measured_layout import Geometry
from optimizer.geometry.per_project import once
from optimizer.geometry.surface import split
from optimizer.limits.family import NO_FAMILY, Constraint, Family
from optimizer.project.chart import ChartNote, read_chart
from optimizer.project.model import Hole, Project
from optimizer.project.open_holes import first_two_open, open_neighbours
from optimizer.project.venting import Venting


def steps(project: Project, made: bool = False) -> Family:
    """Neighbouring open holes of about one width: either of a pair against the other; made: where both are."""
    share, ids = project.venting.step_max_share, [hole.id for hole in project.holes]
    most = f"{100 * share:g} %"
    pairs = open_neighbours(project.holes, [note.openness for note in _main_notes(project)])
    both = [pair for lower, upper in pairs for pair in ((lower, upper), (upper, lower))]
    rows = [pair for pair in both if _asked(project, pair, made)]
    wide, narrow = split(rows)
    items = [
        Constraint(f"step.{wider}-{other}", f"{other} is at most {most} narrower than {wider}, open beside it")
        for wider, other in ((ids[i], ids[j]) for i, j in rows)
    ]
    return items, lambda at: (1.0 - share) * at.layout.diameter_mm[wide] - at.layout.diameter_mm[narrow]


def sizes(project: Project, made: bool = False) -> Family:
    """Tone holes wide enough for the bore where they stand; made: those that are."""
    tone = [number for number, hole in enumerate(project.holes) if hole.role == "tone"]
    rows = [number for number in tone if _asked(project, [number], made)]
    index, venting = np.array(rows, int), project.venting
    items = [
        Constraint(f"size.{hole.id}", f"of the bore's width there {hole.id} has at least {_least(hole, venting)}")
        for hole in (project.holes[number] for number in rows)
    ]

    def values(at: Geometry) -> Array:
        share = np.where(at.shut[index], venting.least_under_key_share, venting.least_under_finger_share)
        return 2.0 * share * at.bore_radius[index] - at.layout.diameter_mm[index]

    return items, values


def _least(hole: Hole, venting: Venting) -> str:
    """How wide a hole must be, in words, under what may cover it."""
    ways = {"a pad": venting.least_under_key_share} if hole.padded else {}
    if hole.by != "key" and hole.cover != "plate":
        ways["a bare finger"] = venting.least_under_finger_share
    return " or ".join(f"{100 * share:g} % under {cover}" for cover, share in ways.items())


def cutoffs(project: Project, made: bool = False) -> Family:
    """Notes of the lowest register whose cutoff is not far below their neighbours' in pitch: of one note against the
    other, times the width of its first open hole; forked fingerings aside; made: where all four holes are."""
    share = project.venting.cutoff_least_share
    notes = _lattices(project)
    rows = [
        (here, there)
        for beside in pairwise(notes)
        for here, there in (beside, beside[::-1])
        if notes[here] != notes[there] and _asked(project, notes[here] + notes[there], made)
    ]
    if not rows:
        return NO_FAMILY
    numbers = {note: number for number, note in enumerate(notes)}
    here, there = split([(numbers[one], numbers[other]) for one, other in rows])
    first, second = split(list(notes.values()))
    items = [
        Constraint(
            f"cutoff.{one}-{other}",
            f"the first two open holes of {one} vent up to at least {100 * share:g} % of the frequency that those of "
            f"{other} do",
        )
        for one, other in rows
    ]

    def values(at: Geometry) -> Array:
        cutoff = pair_cutoffs(at, first, second)
        return at.layout.diameter_mm[first[here]] * (share * cutoff[there] / cutoff[here] - 1.0)

    return items, values


def not_so(at: Geometry) -> list[str]:
    """What is asked of venting, for each limit that holes made already do not keep."""
    broken = []
    for items, values in _of_made_ones(at.project):
        broken += [item for item, value in zip(items, np.asarray(values(at)), strict=True) if value > 0.0]
    return [f"made already, and not so: {item.sentence}" for item in broken]


@once
def _of_made_ones(project: Project) -> list[Family]:
    """Limits of holes made already."""
    families = [build(project, made=True) for build in (steps, sizes, cutoffs)]
    return [family for family in families if family[0]]


def _asked(project: Project, holes: Sequence[int], made: bool) -> bool:
    """Whether a limit of some holes is wanted here: where all are made already, or where not; one on a printed piece
    is, though it may be opened up."""
    pieces = project.sections.locked if project.sections else ()
    drilled = {name for piece in pieces for name in piece.redrill}
    among = [project.holes[number] for number in holes]
    return project.venting.wanted and all(hole.locked or hole.id in drilled for hole in among) == made


def _main_notes(project: Project) -> list[ChartNote]:
    return [
        note for note in read_chart(project.chart, project.holes, project.keys, project.rows)[0] if not note.alternate
    ]


def _lattices(project: Project) -> dict[str, tuple[int, int]]:
    """The first two open holes of the notes of the lowest register, by note from the lowest up."""
    notes = [note for note in _main_notes(project) if note.register == 1]
    found: dict[str, tuple[int, int]] = {}
    for note in sorted(notes, key=lambda note: note.midi):
        pair = first_two_open(project.holes, note.openness)
        if pair:
            found.setdefault(note.written, pair)
    return found
