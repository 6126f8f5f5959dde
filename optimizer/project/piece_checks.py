"""Checks of the body's pieces: against the printer, and against what is already printed."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from optimizer.project.bends import Bend
from optimizer.project.body import BodySections, LockedPiece, bore_between, bore_ended
from optimizer.project.bore import BoreSection
from optimizer.project.findings import Finding, at
from optimizer.project.model import Hole, Project
from optimizer.project.printer import AXES, Printer
from optimizer.project.sentences import nearest
from optimizer.words import counted

SAME_MM = 1e-6
"""Two bores that differ by no more are one."""


def piece_checks(sections: Mapping[str, Any]) -> list[Finding]:
    """Checks of pieces between tables, each run when its tables are sound."""
    section: BodySections | None = sections.get("sections")
    if section is None:
        return []
    problems = []
    if "printer" in sections:
        problems += _wall_findings(section, sections["printer"])
    if "printer" in sections and section.piece_max_mm is None:
        room = sections["printer"].piece_max_mm
        if room < 4.0 * section.joint_mm:
            problems.append(
                at(
                    "printer.bed_mm",
                    f"a piece must be at least four joints long ({4.0 * section.joint_mm:g}), but the bed "
                    f"of {sections['printer'].name} leaves {room:g}",
                )
            )
    for piece in section.locked:
        if "holes" in sections:
            problems += _locked_holes(piece, sections["holes"])
        if "bore" in sections:
            problems += _locked_bore(piece, sections["bore"]) or _locked_bends(piece, sections.get("bends"))
    return problems


def _wall_findings(section: BodySections, printer: Printer) -> list[Finding]:
    """Walls of the joints that the printer cannot make."""
    walls = {"tenon_wall_mm": section.tenon_wall_mm, "socket_wall_mm": section.socket_wall_mm}
    under = section.tenon_wall_mm - section.groove_depth_mm
    problems = [
        at(f"sections.{name}", f"must be at least printer.wall_min_mm, {printer.wall_min_mm:g}, but got {wall:g}")
        for name, wall in walls.items()
        if wall < printer.wall_min_mm
    ]
    if not problems and section.socket_ring and under < printer.wall_min_mm:
        problems.append(
            at(
                "sections.cord_mm",
                f"its groove leaves {under:.2f} mm of the tenon's wall, but printer.wall_min_mm is "
                f"{printer.wall_min_mm:g}; take a thinner cord, a thicker tenon_wall_mm, or seal = 'lapping'",
            )
        )
    return problems


def _locked_holes(piece: LockedPiece, holes: list[Hole]) -> list[Finding]:
    """Holes of a printed piece lie on it and are locked; others keep off it."""
    ids = [hole.id for hole in holes]
    problems = [
        _of_piece(piece, f"there is no hole {name!r}{nearest(name, ids)}") for name in piece.holes if name not in ids
    ]
    for hole in holes:
        low, high = hole.position_mm
        if hole.id in piece.holes and not hole.locked and not _redrilled(hole, piece):
            problems.append(_of_piece(piece, f"{hole.id} is on it, so holes.{hole.id}.locked must be true"))
        elif hole.id in piece.holes and not piece.from_mm <= low <= piece.to_mm:
            problems.append(
                _of_piece(piece, f"{hole.id} must lie between {piece.from_mm:g} and {piece.to_mm:g}, but is at {low:g}")
            )
        elif hole.id not in piece.holes and low < piece.to_mm and high > piece.from_mm:
            problems.append(
                _of_piece(
                    piece,
                    f"is printed from {piece.from_mm:g} to {piece.to_mm:g}, but {hole.id}, which is not on it, "
                    f"may lie between {low:g} and {high:g}; keep its range off the piece",
                )
            )
    return problems


def _of_piece(piece: LockedPiece, said: str) -> Finding:
    return at("sections.locked", said, f", piece {piece.piece}")


def _redrilled(hole: Hole, piece: LockedPiece) -> bool:
    """Whether a hole may be opened up on a printed piece and else stays as it is."""
    return hole.id in piece.redrill and hole.position_mm[0] == hole.position_mm[1]


def _locked_bore(piece: LockedPiece, bore: BoreSection) -> list[Finding]:
    """The project's bore is the printed one where the piece lies."""
    low, high = bore.diameter_scale
    if low != high:
        return [
            _of_piece(
                piece, f"its bore is made, so bore.diameter_scale must be one number, but got [{low:g}, {high:g}]"
            )
        ]
    least, most = bore.end_span_mm
    if not piece.to_joint_mm and not least == most == piece.to_mm:
        return [
            _of_piece(
                piece, f"ends the body at {piece.to_mm:g}, so bore.end_mm must be that, but got [{least:g}, {most:g}]"
            )
        ]
    if piece.piece == 1 and abs(piece.from_mm - bore.crook_end_mm) > 0.005:
        return [_of_piece(piece, f"begins at {piece.from_mm:g}, but bore.crook_end_mm is {bore.crook_end_mm:g}")]
    if len(piece.bore_mm) < 2:
        return []
    wanted = [(place, low * diameter) for place, diameter in bore_ended(bore.points_mm, max(most, piece.to_mm))]
    points = bore_between(wanted, piece.bore_mm[0][0], piece.bore_mm[-1][0])
    knots = np.array([place for place, _ in (*points, *piece.bore_mm)])
    near = np.clip(np.concatenate([knots - SAME_MM, knots + SAME_MM]), points[0][0], points[-1][0])
    mine, printed = (np.interp(near, *np.array(table).T) for table in (points, piece.bore_mm))
    worst = int(np.argmax(np.abs(mine - printed)))
    if abs(mine[worst] - printed[worst]) <= SAME_MM:
        return []
    return [
        _of_piece(
            piece,
            f"its bore is {printed[worst]:g} mm wide at {near[worst]:g}, but bore.points_mm give "
            f"{mine[worst]:g}; a printed piece keeps its bore, so write the bore it was printed with",
        )
    ]


def _locked_bends(piece: LockedPiece, bends: Sequence[Bend] | None) -> list[Finding]:
    """The project's bends are the printed ones where the piece lies; none is half on it. None: they are wrong
    themselves, which is told already."""
    if piece.bends is None or bends is None:
        return []
    here = [bend for bend in bends if bend.at_mm < piece.to_mm and piece.from_mm < bend.end_mm]
    if len(here) == len(piece.bends) and all(map(_same_bend, here, piece.bends)):
        return []
    told = [f"{b.id} at {b.at_mm:g} mm, radius {b.radius_mm:g} mm, toward {b.toward_deg:g} deg" for b in piece.bends]
    printed = f"is printed with the bend {' and '.join(told)}" if told else "is printed without a bend"
    return [_of_piece(piece, f"{printed}; a printed piece keeps its bends, so write [bends] as they were printed")]


def _same_bend(one: Bend, other: Bend) -> bool:
    """Whether two bends are one, whatever they are called."""
    turned = (one.toward_deg - other.toward_deg + 180.0) % 360.0 - 180.0
    return max(abs(one.at_mm - other.at_mm), abs(one.radius_mm - other.radius_mm), abs(turned)) <= SAME_MM


def fitting_checks(project: Project) -> list[Finding]:
    """Pieces that no choice of joints makes fit the printer; pieces already printed are taken as they are."""
    section, bore, printer = project.sections, project.bore, project.printer
    if section is None:
        return []
    findings = []
    end = bore.end_span_mm[0]
    body = bore_between(bore_ended(bore.points_mm, end), bore.crook_end_mm, end)
    wide = max(diameter for _, diameter in body) * bore.diameter_scale[0] + 2.0 * bore.wall_mm
    if wide > printer.diameter_max_mm and not section.locked and not bore.shaped_by:
        findings.append(
            at(
                "printer.bed_mm",
                f"the body is {wide:.4g} mm wide, but {printer.name} holds {printer.diameter_max_mm:.4g} "
                f"across when printed {printer.orientation}; take a wider bed or a narrower bore",
            )
        )
    most = project.piece_max_mm
    if section.piece_max_mm is not None and section.piece_max_mm > printer.piece_max_mm and _stated(printer):
        findings.append(
            at(
                "sections.piece_max_mm",
                f"is {section.piece_max_mm:g}, but {printer.name} holds {printer.piece_max_mm:.4g} "
                f"when printed {printer.orientation}; leave it out, and the bed decides",
            )
        )
    if not section.locked and not project.bends:  # a piece with a bend takes up less of the bed than it is long
        findings += _too_long(project, section, most)
    return findings


def _stated(printer: Printer) -> bool:
    return printer != Printer()


def _too_long(project: Project, section: BodySections, most: float) -> list[Finding]:
    """Joints as far down as pieces of the greatest length allow; whether the shortest body's end is reached."""
    end, half = project.bore.end_span_mm[0], 0.5 * section.joint_mm
    zones = sorted(section.zones_mm) or [(project.bore.crook_end_mm, end)]
    place, first, count = project.bore.crook_end_mm, True, 0
    while end - place + (0.0 if first else half) > most:
        reach = place + most - half - (0.0 if first else half)
        within = [min(high, reach) for low, high in zones if low <= reach]
        if not within or max(within) <= place:
            return [
                at(
                    "sections.zones_mm",
                    f"beyond {place:.4g} mm no zone lies within reach of a piece of {most:.4g} mm, "
                    "joints included; widen the zones, or take a longer bed",
                )
            ]
        place, first, count = max(within), False, count + 1
    if count <= section.joints[1]:
        return []
    printer, stated = project.printer, section.piece_max_mm is not None
    axis = AXES[printer.along_axis]
    why = "sections.piece_max_mm" if stated else f"the bed of {printer.name} along {axis}, less margin and shrinkage"
    return [
        at(
            "sections.joints",
            f"at most {section.joints[1]} allowed, but a body from {project.bore.crook_end_mm:g} to "
            f"{end:g} mm in pieces of at most {most:.4g} ({why}) needs {counted(count, 'joint')}; allow them, lengthen "
            "the pieces, or end the bore sooner",
        )
    ]
