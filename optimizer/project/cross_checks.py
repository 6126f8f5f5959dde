"""Checks between the tables of a project file, each run when its tables are sound."""

from collections.abc import Mapping
from typing import Any

from optimizer.project.bore import BoreSection
from optimizer.project.chart import ChartNote
from optimizer.project.findings import Finding, at
from optimizer.project.fittings import Fitting
from optimizer.project.hand import SIDES
from optimizer.project.linkage import circles
from optimizer.project.model import FINGERS, Hole, Key
from optimizer.project.note_names import number_of
from optimizer.project.objectives import Objectives
from optimizer.project.open_holes import open_neighbours
from optimizer.project.rows import Rows, resting_keys
from optimizer.project.sentences import nearest
from optimizer.project.suspicious_lengths import shown


def cross_checks(sections: Mapping[str, Any]) -> list[Finding]:
    """Checks between tables, each run when its tables are sound."""
    problems: list[Finding] = []
    holes: list[Hole] = sections.get("holes", [])
    keys: list[Key] = sections.get("keys", [])
    if "holes" in sections and "keys" in sections:
        problems += _key_checks(holes, keys)
    if "holes" in sections and "keywork" in sections:
        problems += _pad_checks(holes, sections["keywork"].pad_recess_mm)
    if "holes" in sections and "bore" in sections:
        problems += _bore_checks(holes, sections["bore"])
    if "fittings" in sections and "bore" in sections:
        problems += _fitting_checks(sections["fittings"], sections["bore"])
    if "holes" in sections and "chart" in sections:
        ids = [hole.id for hole in holes]
        for name in sections["chart"].order:
            if name not in ids:
                problems.append(at("chart.order", f"there is no hole {name!r}{nearest(name, ids)}"))
        order = sections["chart"].order
        twice = [name for name in dict.fromkeys(order) if order.count(name) > 1]
        problems += [at("chart.order", f"names {name} more than once; each hole stands once") for name in twice]
    if "holes" in sections and "search" in sections:
        resting = resting_keys(sections.get("rows", Rows()), holes, keys)
        problems += _objective_checks([*(hole.by for hole in holes), *resting], sections["search"].objectives)
    if "rows" in sections and "bore" in sections:
        problems += _row_checks(sections["rows"], sections["bore"])
    return problems


def _objective_checks(worked_by: list[str], objectives: Objectives) -> list[Finding]:
    """Objectives that would be the same for every layout; worked_by: what holes and rows are worked by."""
    fingers = [name for name in worked_by if name != "key" and name[1] != "T"]
    pairs = any(sum(name[0] == side for name in fingers) > 1 for side in "LR")
    problems = []
    if objectives.stretch and not pairs:
        said = "no two fingers of one hand lie on holes, or rest on keys in a row ([rows]); turn it off"
        problems.append(at("search.objectives.stretch", said))
    return problems


def _row_checks(rows: Rows, bore: BoreSection) -> list[Finding]:
    """A row lies on the body, somewhere in its range."""
    problems = []
    for side, row in rows.by_side.items():
        low, high = bore.crook_end_mm, bore.end_span_mm[1]
        if row.position_mm is not None and not (low <= row.position_mm[1] and row.position_mm[0] < high):
            came, ten = row.position_mm, (10.0 * row.position_mm[0], 10.0 * row.position_mm[1])
            meant = f"; did you mean {shown(ten)} ({shown(came)} in centimetres)?" if low <= ten[0] < high else ""
            said = f"must lie between {low:g} and {high:g}, on the body beyond the crook, but got {shown(came)}{meant}"
            problems.append(at(f"rows.{SIDES[side]}.position_mm", said))
    return problems


def _key_checks(holes: list[Hole], keys: list[Key]) -> list[Finding]:
    problems = []
    ids = [hole.id for hole in holes]
    touches = {key.id for key in keys} | set(FINGERS)
    for key in keys:
        for verb in ("opens", "closes"):
            for name in getattr(key, verb):
                if name not in ids:
                    problems.append(at(f"keys.{key.id}.{verb}", f"there is no hole {name!r}{nearest(name, ids)}"))
        if key.id in FINGERS:
            problems.append(at(f"keys.{key.id}", "is the name of a finger; give the key another"))
        for name in sorted(set(key.opens) & set(key.closes)):
            problems.append(at(f"keys.{key.id}", f"opens and closes {name}; one of them has to go"))
        if not key.opens and not key.closes:
            problems.append(at(f"keys.{key.id}", "a key must open or close a hole"))
        if key.axle_deg is not None and key.axle_side is not None:
            problems.append(at(f"keys.{key.id}", "give axle_deg or axle_side, not both"))
        for name in key.moved_by:
            if name not in touches:
                problems.append(at(f"keys.{key.id}.moved_by", f"there is no touch {name!r}{nearest(name, touches)}"))
        for name in key.together:
            own = {other.id for other in keys if other.touch == key.touch and other.pressed} | {key.touch}
            if name not in own - {key.id}:
                problems.append(
                    at(
                        f"keys.{key.id}.together",
                        f"{name!r} is neither another key of {key.touch} nor {key.touch} itself",
                    )
                )
    problems += [
        at("keys", f"{' -> '.join([*circle, circle[0]])} move each other in a circle; take one out of a moved_by")
        for circle in circles(keys)
    ]
    worked = {name for key in keys for name in (*key.opens, *key.closes)}
    for hole in holes:
        if hole.by == "key" and hole.id not in worked:
            problems.append(at(f"holes.{hole.id}.by", "is 'key', but no key opens or closes it"))
    fingers = [hole.by for hole in holes if hole.by != "key"]
    for finger in sorted({name for name in fingers if fingers.count(name) > 1}):
        problems.append(at("holes", f"the finger {finger} is on more than one hole; make all but one 'key'"))
    return problems


def _pad_checks(holes: list[Hole], recess: float) -> list[Finding]:
    """A pad that bulges must leave air in every chimney it may close."""
    return [
        at(
            "keywork.pad_recess_mm",
            f"{recess:g} bulges through half of the chimney of {hole.id}, which may be "
            f"{hole.chimney_mm[0]:g} mm; holes that short need a flatter pad",
        )
        for hole in holes
        if hole.padded and -recess > 0.5 * hole.chimney_mm[0]
    ]


def _bore_checks(holes: list[Hole], bore: Any) -> list[Finding]:
    problems = []
    end = bore.end_span_mm[1]
    widest = max(point[1] for point in bore.points_mm) * bore.diameter_scale[1]
    for hole in holes:
        if hole.diameter_mm[1] > widest and not bore.shaped_by:
            problems.append(
                at(
                    f"holes.{hole.id}.diameter_mm",
                    f"must be at most {widest:g}, the bore's widest, but reaches to {hole.diameter_mm[1]:g}",
                )
            )
        if hole.position_mm[1] >= end:
            problems.append(
                at(
                    f"holes.{hole.id}.position_mm",
                    f"must lie before the bore's end at {end:g}, but reaches to {hole.position_mm[1]:g}",
                )
            )
        problems += _seat_checks(hole, bore.wall_mm)
    return problems


def _fitting_checks(fittings: list[Fitting], bore: BoreSection) -> list[Finding]:
    """A zone lies on the body, somewhere in its range."""
    problems = []
    for each in fittings:
        low, high = bore.crook_end_mm + 0.5 * each.length_mm, bore.end_span_mm[1] - 0.5 * each.length_mm
        if each.position_mm[1] < low or each.position_mm[0] > high:
            said = f"its middle must lie between {low:g} and {high:g}, on the body beyond the crook"
            problems.append(at(f"fittings.{each.id}.position_mm", said))
    return problems


def _seat_checks(hole: Hole, wall: float) -> list[Finding]:
    """A chimney ends at its seat, which a stated kind puts above the wall or into it."""
    (low, high), place = hole.chimney_mm, f"holes.{hole.id}.chimney_mm"
    if hole.seat == "raised" and low < wall:
        return [at(place, f"must be at least the wall, {wall:g}, under a raised seat, but may be {low:g}")]
    if hole.seat == "sunk" and high > wall:
        return [at(place, f"must be at most the wall, {wall:g}, under a sunk seat, but may be {high:g}")]
    return []


def step_checks(sections: Mapping[str, Any], notes: list[ChartNote]) -> list[Finding]:
    """Unevenness is sought, and no main fingering leaves two holes open whose step could be uneven."""
    main = [note.openness for note in notes if not note.alternate]
    if "search" not in sections or not sections["search"].objectives.unevenness:
        return []
    if not main or open_neighbours(sections["holes"], main):
        return []
    said = "no main fingering leaves two tone holes open, thumb holes aside; turn it off"
    return [at("search.objectives.unevenness", said)]


def scale_checks(sections: Mapping[str, Any], notes: list[ChartNote]) -> list[Finding]:
    """Problems of `[scale]`: notes that the chart has not, and weights that leave none to count."""
    if "scale" not in sections or not notes:
        return []
    problems = []
    written = [note.written for note in notes]
    pitches, names = {note.midi for note in notes}, sections["chart"].note_names
    for table in ("weight", "offset_cents"):
        for name in getattr(sections["scale"], table):
            try:
                known = number_of(name, names) in pitches
            except ValueError as error:
                problems.append(at(f"scale.{table}", str(error)))
                continue
            if not known:
                problems.append(at(f"scale.{table}", f"the chart has no note {name!r}{nearest(name, written)}"))
    said = sections["scale"].weight if not problems else {}
    weight = {number_of(name, names): value for name, value in said.items()}
    if weight and not any(weight.get(pitch, 1.0) for pitch in pitches):
        problems.append(at("scale.weight", "at least one note must weigh more than 0"))
    return problems
