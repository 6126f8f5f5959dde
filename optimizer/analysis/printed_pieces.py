"""Pieces already printed: a project's text with the holes, joints and bore of some pieces of a layout held fast.

The numbers go into the text as the layout file has them, so that a run keeps them to the last bit, needs no layout file
later, and can be resumed. Everything else stays as free as it was, off the printed pieces. An instrument carried
on keeps what lies on its crook too; holes to be opened up keep all but their diameter, which may grow.

Fixed numbers are no part of x, which is why they come back to the last bit. A solve leaves out limits that nothing free
moves: its quadratic programme has one violation for all, and a broken fixed one would excuse the others.
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np

from optimizer.analysis.axle_sides import Side, keys_table, made_axles, made_sides, side_problems
from optimizer.geometry.layout import in_sunk_flat
from optimizer.project.body import bore_between
from optimizer.project.bore import NUMBERS as SHAPING
from optimizer.project.editing import with_tables
from optimizer.project.faults import Fault
from optimizer.project.loading import LoadedProject, parse_project
from optimizer.project.model import Hole, Project
from optimizer.project.piece_checks import SAME_MM
from optimizer.project.sentences import nearest
from optimizer.project.toml_text import tables_of
from optimizer.records.layout import HoleRecord, LayoutRecord, saved_numbers
from optimizer.records.pieces import PieceRecord
from optimizer.solving.holes import reaches_beyond


class KeptPiecesError(Fault):
    """Pieces that cannot be locked."""


class Extended(NamedTuple):
    """That the project has other holes than the layout where nothing is printed, and which holes may be redrilled."""

    redrill: tuple[str, ...] = ()


def with_locked(
    loaded: LoadedProject, record: LayoutRecord, pieces: Sequence[int], extended: Extended | None = None
) -> LoadedProject:
    """The project with pieces of a layout held exactly as they are.

    Parameters
    ----------
    loaded : the project
    record : the layout
    pieces : their numbers, counted from the reed
    extended : given for a project that carries on the layout's instrument

    Raises
    ------
    KeptPiecesError
        when the layout has no such pieces, or was made for other holes, or its axles lie elsewhere
    ProjectError
        when the project leaves no room around them, or its bore is another one
    """
    locked = parse_project(locked_text(loaded, record, pieces, extended), loaded.source)
    azimuths = made_axles(record, [*pieces, *([0] if extended is not None else [])])
    problems = side_problems(locked.project, azimuths)
    if problems:
        raise KeptPiecesError(*problems)
    return with_sides(locked, made_sides(locked.project, azimuths))


def locked_text(
    loaded: LoadedProject, record: LayoutRecord, pieces: Sequence[int], extended: Extended | None = None
) -> str:
    """The text of `with_locked`, unread and without sides of axles.

    Raises
    ------
    KeptPiecesError
        when the pieces cannot be taken over
    """
    wanted = sorted(set(pieces))
    problems = _mismatches(loaded.project, record, wanted, extended)
    if problems:
        raise KeptPiecesError(*problems)
    data = tables_of(loaded.text)
    tables = {
        "sections": _sections(data["sections"], loaded.project, record, wanted, extended),
        "holes": _holes(data["holes"], record, wanted, extended),
        "bore": _bore(data["bore"], loaded.project, record, wanted),
    }
    if "fittings" in data:
        tables["fittings"] = _fittings(data["fittings"], record, wanted)
    said = f"Printed already, as in layout {record.id}: pieces {', '.join(map(str, wanted))}"
    changed = {name: table for name, table in tables.items() if table != data[name]}
    text = with_tables(loaded.text, changed, said) if changed else loaded.text
    if text is None:
        names = ", ".join(changed)
        raise KeptPiecesError(f"{names}: write each as one table, so that locked numbers can go into it")
    return text


def with_sides(loaded: LoadedProject, sides: Mapping[str, Side]) -> LoadedProject:
    """The project with its axles on given sides, by the keys' ids.

    Raises
    ------
    KeptPiecesError
        when they cannot be written
    """
    data = tables_of(loaded.text)
    table = keys_table(data.get("keys", {}), sides)
    if table == data.get("keys", {}):
        return loaded
    text = with_tables(loaded.text, {"keys": table}, "Rods on the sides that are settled already")
    if text is None:
        raise KeptPiecesError("keys: write them as one [keys] table, so that sides of rods can go into it")
    return parse_project(text, loaded.source)


def _mismatches(project: Project, record: LayoutRecord, pieces: Sequence[int], extended: Extended | None) -> list[str]:
    """Why the pieces cannot be taken over."""
    if project.sections is None:
        return ["the project has no [sections] table, so it knows no pieces"]
    count = len(record.pieces)
    if not pieces or not set(pieces) <= set(range(1, count + 1)):
        if not count:
            return [f"layout {record.id} has no pieces; it was made without a [sections] table"]
        came = ", ".join(map(str, pieces)) or "none"
        return [f"layout {record.id} has pieces 1 to {count}, but got {came}"]
    holes = {hole.id: hole for hole in project.holes}
    problems = []
    if project.bore.wall_mm != record.bore.wall_mm:
        problems.append(f"bore.wall_mm: must be the printed {record.bore.wall_mm:g}, but got {project.bore.wall_mm:g}")
    printed = _printed_holes(record, pieces, extended)
    made_ones = {hole.id for hole in record.holes} if extended is None else {hole.id for hole in printed}
    strangers = set(holes) ^ made_ones if extended is None else made_ones - set(holes)
    for name in sorted(strangers):
        problems.append(f"{name}: stands in only one of project and layout{nearest(name, holes)}")
    if extended is not None:
        problems += _crook_problems(project, record)
    for made in printed:
        problems += _hole_problems(project, holes[made.id], made) if made.id in holes else []
    return problems


def _hole_problems(project: Project, hole: Hole, made: HoleRecord) -> list[str]:
    """Why a printed hole is not the project's."""
    problems = []
    if hole.azimuth_deg != made.azimuth_deg:
        problems.append(f"holes.{hole.id}.azimuth_deg: is printed at {made.azimuth_deg:g}, not {hole.azimuth_deg:g}")
    if abs(hole.top_ratio * made.diameter_mm - made.top_diameter_mm) > 1e-3:
        ratio = made.top_diameter_mm / made.diameter_mm
        problems.append(f"holes.{hole.id}.top_ratio: is printed as {ratio:.4g}, not {hole.top_ratio:g}")
    if made.cover != "key" and hole.cover not in (made.cover, "either"):
        problems.append(f"holes.{hole.id}.cover: is printed for a {made.cover}, not a {hole.cover}")
    flat = made.pad is not None if hole.seat is None else hole.seat != "saddle"
    if flat != (made.seat is not None):
        place = "without a flat: 'saddle'" if made.seat is None else "with a flat: 'raised' or 'sunk'"
        problems.append(f"holes.{hole.id}.seat: is printed {place}")
    elif reaches_beyond(made) and in_sunk_flat(hole, made.chimney_mm, project):
        problems.append(f"holes.{hole.id}.seat: is printed narrower than its pad, not as a sunk one; print it anew")
    return problems


def _crook_problems(project: Project, record: LayoutRecord) -> list[str]:
    """Why the layout's crook is not the project's."""
    crook, bore, scale = record.bore.crook_end_mm, project.bore, project.bore.diameter_scale[0]
    if bore.crook_end_mm != crook:
        return [f"bore.crook_end_mm: is {crook:g} in the layout, but got {bore.crook_end_mm:g}"]
    if bore.shaped_by:
        return [f"bore.{bore.shaped_by[0]}: shapes another bore; write the points that the layout was made with"]
    knots = [place for place, _ in (*record.bore.points_mm, *bore.points_mm) if place <= crook]
    made, wanted = (np.interp(knots, *np.array(table).T) for table in (record.bore.points_mm, bore.points_mm))
    fits = not knots or float(np.max(np.abs(made - wanted * scale))) <= SAME_MM
    return [] if fits else ["bore.points_mm: give another crook than the layout's; write the bore it was made with"]


def _printed_holes(record: LayoutRecord, pieces: Sequence[int], extended: Extended | None = None) -> list[HoleRecord]:
    """Holes on the printed pieces; of an instrument that is extended, those on the crook too."""
    names = {name for number in pieces for name in record.pieces[number - 1].holes}
    crook = record.bore.crook_end_mm
    return [
        hole
        for hole in record.holes
        if (hole.id in names and hole.position_mm >= crook) or (extended is not None and hole.position_mm < crook)
    ]


def _sections(
    table: dict[str, Any],
    project: Project,
    record: LayoutRecord,
    pieces: Sequence[int],
    extended: Extended | None,
) -> dict[str, Any]:
    """The table with the printed pieces, and as many joints as they need."""
    assert project.sections is not None
    low, high = project.sections.joints
    count = len(record.pieces)
    ends = count in pieces
    fewest = max(low, max(pieces) - (1 if ends else 0))
    joints = [count - 1, count - 1] if ends else [fewest, max(high, fewest)]
    ids = {hole.id for hole in _printed_holes(record, pieces)}
    kept = [entry for entry in table.get("locked", []) if entry["piece"] not in pieces]
    redrill = extended.redrill if extended else ()
    folded = bool(project.bends or record.bore.bends)
    locked = [_locked(record, number, ids, redrill, folded) for number in pieces]
    ringed = next((joint for n in pieces if (joint := record.pieces[n - 1].joint) and joint.groove_width_mm), None)
    cord: dict[str, Any] = {}
    if ringed is not None and ringed.groove_width_mm is not None:
        cord = {"cord_mm": round(ringed.groove_width_mm / project.sections.groove_width_per_cord, 3)}
    return {**table, **cord, "joints": joints, "locked": [*kept, *locked]}


def _locked(record: LayoutRecord, number: int, ids: set[str], redrill: Sequence[str], folded: bool) -> dict[str, Any]:
    """The line of a printed piece; folded: whether bends have to be told."""
    piece: PieceRecord = record.pieces[number - 1]
    above = record.pieces[number - 2] if number > 1 else None
    entry: dict[str, Any] = {
        "piece": number,
        "from_mm": piece.from_mm,
        "to_mm": piece.to_mm,
        "from_joint_mm": above.joint_mm if above else 0.0,
        "to_joint_mm": piece.joint_mm,
    }
    wider = [name for name in piece.holes if name in redrill]
    if wider:
        entry["redrill"] = wider
    if above and above.joint:
        entry["from_tenon_mm"] = above.joint.tenon_diameter_mm
    if piece.joint:
        entry["to_tenon_mm"] = piece.joint.tenon_diameter_mm
    begin = piece.from_mm if piece.begin_mm is None else piece.begin_mm
    end = piece.to_mm if piece.end_mm is None else piece.end_mm
    bore = bore_between(record.bore.points_mm, begin, end)
    if folded:
        bends = [bend for bend in record.bore.bends if piece.from_mm <= bend.at_mm < piece.to_mm]
        entry["bends"] = [bend.model_dump() for bend in bends]
    return {**entry, "holes": [name for name in piece.holes if name in ids], "bore_mm": [list(point) for point in bore]}


def _holes(
    table: dict[str, Any], record: LayoutRecord, pieces: Sequence[int], extended: Extended | None
) -> dict[str, Any]:
    """The table with the printed holes locked, and the ranges of the others cut off where a piece is printed."""
    printed = {hole.id: hole for hole in _printed_holes(record, pieces, extended)}
    redrill = extended.redrill if extended else ()
    spans = [(record.pieces[number - 1].from_mm, record.pieces[number - 1].to_mm) for number in pieces]
    places = {hole.id: hole.position_mm for hole in record.holes}
    found = {}
    for name, line in table.items():
        if name in printed:
            made = printed[name]
            fixed = {"position_mm": made.position_mm, "diameter_mm": made.diameter_mm, "chimney_mm": made.chimney_mm}
            cover = {"cover": made.cover} if line.get("cover") == "either" else {}
            found[name] = {**line, **fixed, **cover, "locked": True}
            if name in redrill:
                grown = {"diameter_mm": _growing(line["diameter_mm"], made.diameter_mm), "locked": False}
                found[name] = {**found[name], **grown}
        else:
            place = places.get(name, float(np.mean(line["position_mm"])))
            found[name] = {**line, "position_mm": _kept_off(line["position_mm"], place, spans)}
    return found


def _growing(span: Any, made: float) -> list[float]:
    """From the diameter a hole has to the greatest the project allows."""
    return [made, max(made, float(np.max(span)))]


def _kept_off(span: Any, place: float, printed: Sequence[tuple[float, float]]) -> Any:
    """A hole's range cut off at the printed pieces on either side of where the layout has it; left as it is if bare."""
    if not isinstance(span, list):
        return span
    low = max([span[0], *(end for _, end in printed if end <= place)])
    high = min([span[1], *(begin for begin, _ in printed if begin >= place)])
    return [low, high] if [low, high] != span and low <= high else span


def _fittings(table: dict[str, Any], record: LayoutRecord, pieces: Sequence[int]) -> dict[str, Any]:
    """The table with the fittings of the printed pieces where they are."""
    made = {each.id: each.position_mm for each in record.fittings if each.piece in pieces}
    return {name: {**line, "position_mm": made[name]} if name in made else line for name, line in table.items()}


def _bore(table: dict[str, Any], project: Project, record: LayoutRecord, pieces: Sequence[int]) -> dict[str, Any]:
    """The table with the bore's scale as printed, and its end where the last piece or a bell is; in place of numbers
    that shape it the points that they gave, all along."""
    bore, shaped = project.bore, {}
    low, high = bore.diameter_scale
    if bore.shaped_by:
        table = {key: value for key, value in table.items() if key not in (*SHAPING, "cones_meet_mm", "reamer")}
        shaped = {"points_mm": [list(point) for point in record.bore.points_mm]}
    scale = {"diameter_scale": saved_numbers(record, project)["bore_scale"]} if low != high else {}
    ended = len(record.pieces) in pieces or bore.bell_length_mm is not None
    ends = {"end_mm": record.bore.points_mm[-1][0]} if ended else {}
    return {**table, **shaped, **scale, **ends}
