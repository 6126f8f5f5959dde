"""The project of an instrument that is made: a project's text with what its tables say in place of what may be chosen.

The text stands by itself, as that of a search does: whatever reads the run folder later needs no table. What a search
chooses and an instrument has is taken out: the stock, ranges, pieces held fast. Nothing of it can forbid looking.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from optimizer.project.bore import NUMBERS as SHAPING
from optimizer.project.bore import BoreSection
from optimizer.project.editing import with_tables
from optimizer.project.faults import Fault
from optimizer.project.file_text import text_of
from optimizer.project.findings import sentences_of
from optimizer.project.hand import Hand
from optimizer.project.included import Included, read_included
from optimizer.project.loading import LoadedProject, ProjectError, parse_project, text_with_files
from optimizer.project.present import Present
from optimizer.project.sentences import finding_of
from optimizer.project.toml_text import UnreadableError, tables_of
from optimizer.prototype.present_gauged import with_gauges
from optimizer.prototype.present_tables import TableOfHoles, read_bore, read_holes

JOINT_ZONE_MM = 0.01
"""How far either way a joint that is there may lie from where it was measured."""

HEADING = "the instrument to mend"
ONE_PIECE = "taken as one piece, as no joints_mm are told: its bore errs as one, and no joint is looked at"


@dataclass(frozen=True)
class Told:
    """What a command says of the instrument, before what its project does; None or empty where it says nothing."""

    holes: Path | None = None
    bore: Path | None = None
    reed_cm3: float | None = None
    end_mm: float | None = None
    joints_mm: tuple[float, ...] = ()
    gauged: Path | None = None


@dataclass(frozen=True)
class PresentProject:
    """The project of an instrument that is made, where its plates are touched [mm], and what it was read from."""

    loaded: LoadedProject
    touch_mm: Mapping[str, float]
    joints_mm: tuple[float, ...]
    read_from: Mapping[str, str]
    remarks: tuple[str, ...]


def present_project(path: Path, told: Told, hand: Path | None = None) -> PresentProject:
    """Read a project with the tables of the instrument that is made.

    Parameters
    ----------
    path : of the project file
    told : what the command says of the instrument
    hand : a hand file in place of the project's own hand

    Raises
    ------
    TableError
        where a table is wrong
    ProjectError
        with what is wrong with the project
    Fault
        where something of the instrument is not told
    """
    text, data = _read(path, hand)
    said = _told(path, data, told)
    bore, end = _bore(data, said)
    holes = read_holes(_needed(said.holes), _known(data.get("holes")), end)
    remarks: list[str] = []
    if said.gauged is not None and _sound(bore):
        bore, remarks = with_gauges(said.gauged, holes, bore)
    tables = {"holes": holes.entries, "bore": bore, "reed": _reed(data, said), "present": {"made": True}}
    tables |= _keywork(data, holes)
    without, jointed = ["stock"], bool(said.joints_mm) and isinstance(data.get("sections"), dict)
    if jointed:
        tables["sections"] = _sections(data["sections"], said.joints_mm)
    elif "sections" in data:
        without.append("sections")
        remarks.append(ONE_PIECE)
    derived = with_tables(text, tables, "The instrument as it is made", without=without)
    if derived is None:
        raise Fault(f"{path}: write each of its tables once, under its own [name]", heading=HEADING)
    read_from = {"holes": _needed(said.holes).name, "bore": said.bore.name if said.bore else path.name}
    loaded = parse_project(derived, str(path), written=text)
    return PresentProject(loaded, holes.touch_mm, said.joints_mm if jointed else (), read_from, tuple(remarks))


def _read(path: Path, hand: Path | None) -> tuple[str, dict[str, Any]]:
    """The text of the project file, what it names taken in, and its tables."""
    text = text_of(path, partial(Fault, heading=HEADING), missing="file", name="project file", whole="project")
    other: Included[Hand] | None = None if hand is None else read_included(hand, Hand, "hand")
    text = text_with_files(text, path, other)
    try:
        return text, tables_of(text)
    except UnreadableError as error:
        raise ProjectError(str(path), error.findings) from None


def _known(holes: Any) -> dict[str, dict[str, Any]]:
    """The project's own holes by name; of one that is none, nothing."""
    entries = holes.items() if isinstance(holes, dict) else ()
    return {name: entry if isinstance(entry, dict) else {} for name, entry in entries}


def _told(path: Path, data: Mapping[str, Any], told: Told) -> Told:
    """What is said of the instrument, by the command or else by the project's [present]."""
    try:
        own = Present.model_validate(data.get("present", {}))
    except ValidationError as error:
        found = [finding_of(item, Present, ("present",)) for item in error.errors()]
        raise Fault(*sentences_of(found), heading=HEADING) from None
    folder = path.parent
    return Told(
        told.holes or (folder / own.holes if own.holes else None),
        told.bore or (folder / own.bore if own.bore else None),
        own.reed_cm3 if told.reed_cm3 is None else told.reed_cm3,
        own.end_mm if told.end_mm is None else told.end_mm,
        told.joints_mm or tuple(own.joints_mm),
        told.gauged,
    )


def _sound(bore: Mapping[str, Any]) -> bool:
    """Whether a [bore] is one; where it is not, the project is refused in its own words."""
    try:
        BoreSection.model_validate(bore)
    except ValidationError:
        return False
    return True


def _needed(holes: Path | None) -> Path:
    if holes is None:
        said = 'say where the table of its holes is: beside the project, or in it by [present] holes = "FILE"'
        raise Fault(said, heading=HEADING)
    return holes


def _single(value: Any) -> float | None:
    """The one number that a range is, or None."""
    if isinstance(value, list) and len(value) == 2 and value[0] == value[1]:
        value = value[0]
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def _bore(data: Mapping[str, Any], said: Told) -> tuple[dict[str, Any], float | None]:
    """The [bore] of the instrument, and where it ends [mm]; None where that cannot be told."""
    own = dict(data["bore"]) if isinstance(data.get("bore"), dict) else {}
    if said.bore is not None:
        points = read_bore(said.bore)
        own = {key: value for key, value in own.items() if key not in ("end_mm", "diameter_scale", *SHAPING)}
        return own | {"points_mm": points}, points[-1][0]
    for name in ("diameter_scale", *SHAPING):
        if name in own and _single(own[name]) is None:
            raise Fault(f"bore.{name} leaves open how wide the bore is; give the table of the bore", heading=HEADING)
    if any(name in own for name in SHAPING):
        raise Fault("numbers shape the bore; give the table of the bore as it was made", heading=HEADING)
    if said.end_mm is not None:
        return own | {"end_mm": said.end_mm}, said.end_mm
    if "end_mm" in own and _single(own["end_mm"]) is None:
        raise Fault(
            "bore.end_mm is a range; say where the bell ends, by end_mm in [present] or beside the project, or give "
            "the table of the bore",
            heading=HEADING,
        )
    match own.get("points_mm"):
        case [*_, [last, *_]]:
            return own, _single(own.get("end_mm", last))
    return own, _single(own.get("end_mm"))


def _reed(data: Mapping[str, Any], said: Told) -> dict[str, Any]:
    own = dict(data["reed"]) if isinstance(data.get("reed"), dict) else {}
    if said.reed_cm3 is not None:
        return own | {"volume_cm3": said.reed_cm3}
    if "volume_cm3" in own and _single(own["volume_cm3"]) is None:
        raise Fault(
            f"reed.volume_cm3 is a range, {own['volume_cm3']}; say what this reed holds, by reed_cm3 in [present] or "
            "beside the project. Fill reed and staple with water from a syringe and take the staple, which the bore "
            "has, off",
            heading=HEADING,
        )
    return own


def _keywork(data: Mapping[str, Any], holes: TableOfHoles) -> dict[str, Any]:
    """[keywork] whose plates may lie as far from their holes as they do."""
    far = [abs(place - holes.entries[name]["position_mm"]) for name, place in holes.touch_mm.items()]
    own = dict(data["keywork"]) if isinstance(data.get("keywork"), dict) else {}
    if not far or max(far) <= (_single(own.get("plate_offset_max_mm")) or 0.0):
        return {}
    return {"keywork": own | {"plate_offset_max_mm": max(far)}}


def _sections(own: Mapping[str, Any], joints_mm: tuple[float, ...]) -> dict[str, Any]:
    """[sections] with the joints that are there."""
    zones = [[round(place - JOINT_ZONE_MM, 4), round(place + JOINT_ZONE_MM, 4)] for place in sorted(joints_mm)]
    kept = {key: value for key, value in own.items() if key not in ("locked", "piece_max_mm")}
    return kept | {"joints": len(zones), "zones_mm": zones}
