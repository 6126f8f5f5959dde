"""A layout handed to its maker: one folder with files of every kind that is wanted, whole or not at all."""

import hashlib
from collections.abc import Callable, Sequence
from pathlib import Path

from optimizer import cautions
from optimizer.handoff.folder import whole_folder
from optimizer.handoff.handed import Handed, Wanted
from optimizer.handoff.kinds import KINDS
from optimizer.handoff.page import FILE as PAGE
from optimizer.handoff.page import handoff_page
from optimizer.handoff.reamed import advice_of, as_printed, less_mm, until_reamed
from optimizer.handoff.shapes.drawing import drawn, sizing_of
from optimizer.handoff.shapes.shape import Drawing
from optimizer.handoff.sheets.profiles import SIZES
from optimizer.project.faults import Fault
from optimizer.records.files import write_record, write_text
from optimizer.records.handoff import (
    AS_PRINTED,
    FILE,
    HandedFile,
    HandedPiece,
    HandedState,
    HandoffRecord,
    NotWritten,
    PieceCheck,
)
from optimizer.records.layout import LayoutRecord
from optimizer.search.circumstances import versions

PACKAGES = ("holewright", "cadquery-ocp-novtk", "ezdxf", "manifold3d", "numpy", "reportlab")
WHOLE = "all"
"""Kind of what tells of the whole folder."""

Told = Callable[[int, int], None]


def known(only: Sequence[str]) -> tuple[str, ...]:
    """Kinds of files by their names.

    Raises
    ------
    Fault
        for a name that none has: with all that there are
    """
    if unknown := [name for name in only if name not in KINDS]:
        lines = [f"  {name}: {kind.told}" for name, kind in KINDS.items()]
        raise Fault(f"there is no kind of file called {', '.join(unknown)}; there are", *lines)
    return tuple(only)


def hand_off(record: LayoutRecord, to: Path, wanted: Wanted, told: Told | None = None) -> HandoffRecord:
    """Write a hand-off's folder.

    Parameters
    ----------
    record : the layout
    to : the folder, which is not there yet
    wanted : what it is to hold
    told : how many kinds are done, of how many

    Raises
    ------
    Fault
        for a kind that is asked for and lacks what it needs, for a layout that makes no pieces, and for a folder that
        cannot be written; nothing of it is there then
    """
    lacking = {name: why for name in wanted.only or KINDS if (why := KINDS[name].lacking)}
    if wanted.only and lacking:
        raise Fault(*(f"{name}: {why}" for name, why in lacking.items()))
    with whole_folder(to) as folder:
        handed, remarks = handed_over(record, wanted)
        kinds = [name for name in KINDS if name in (wanted.only or KINDS) and name not in lacking]
        checks = _write_kinds(handed, folder, kinds, told)
        write_record(folder / AS_PRINTED, handed.printed)
        made = _record(handed, folder, checks, remarks, lacking)
        write_record(folder / FILE, made)
        write_text(folder / PAGE, handoff_page(made, handed))
    return made


def handed_over(record: LayoutRecord, wanted: Wanted) -> tuple[Handed, list[str]]:
    """What a layout hands over in the states that are wanted, and what to know of it.

    Raises
    ------
    Fault
        for a layout that makes no pieces, and for one to be reamed that does not sound
    """
    finished, remarks, states = drawn(record), list[str](), wanted.states
    try:
        advice = advice_of(record)
    except ValueError as error:
        if "printed to ream" in states:
            raise Fault(f"no hole can be told how to ream it: {error}") from None
        advice, remarks = {}, [f"The drilling sheet tells no notes: {error}"]
    if set(states) != {"finished"}:
        remarks += _of_printer(record)
    drawings = tuple(drawn(record, sizing_of(record, state, less_mm(advice))) for state in states)
    printed = as_printed(record, states[-1], advice)
    remarks += until_reamed(record, printed) + _of_folds(finished)
    return Handed(record, printed, finished, drawings, advice, wanted.paper, wanted.stock), remarks


def _of_folds(drawing: Drawing) -> list[str]:
    """What to know of azimuths on the pieces of a folded body."""
    if not drawing.bends:
        return []
    said = (
        "The body is folded: azimuths of holes, seats and feet are a piece's own, clockwise seen from its reed end; "
        "those of keys, rods and posts are the layout's. On a tube that runs up the two differ in their sign"
    )
    bent = ", ".join(piece.name for piece in drawing.pieces if piece.bends)
    return [f"{said}; beyond the bend of {bent} they are carried through it." if bent else f"{said}."]


def _of_printer(record: LayoutRecord) -> list[str]:
    """What to know of the printer that pieces are drawn for."""
    if record.printing is None:
        return ["The layout names no printer: nothing is added for shrinkage, nor for what a print closes of holes."]
    if record.printing.hole_slope is None:
        return [
            "What the printer makes of a size is not gauged yet: print and gauge its test coupon before the pieces "
            "(holewright coupon, then holewright printer)."
        ]
    return []


def _write_kinds(handed: Handed, folder: Path, kinds: Sequence[str], told: Told | None) -> list[PieceCheck]:
    checks: list[PieceCheck] = []
    for done, name in enumerate(kinds):
        (folder / name).mkdir()
        found = KINDS[name].write(handed, folder / name)
        checks += [check.model_copy(update={"file": f"{name}/{check.file}"}) for check in found]
        if told is not None:
            told(done + 1, len(kinds))
    return checks


def _record(
    handed: Handed, folder: Path, checks: list[PieceCheck], remarks: list[str], lacking: dict[str, str]
) -> HandoffRecord:
    record = handed.record
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return HandoffRecord(
        instrument=record.instrument,
        layout=record.id,
        layout_sha256=hashlib.sha256(record.model_dump_json(indent=1).encode() + b"\n").hexdigest(),
        states=[_state(drawing) for drawing in handed.drawings],
        paper=handed.paper.called,
        files=[_file(path, folder) for path in files],
        checks=checks,
        not_written=[NotWritten(kind=name, why=why) for name, why in lacking.items()],
        remarks=[*remarks, *record.to_settle],
        cautions=record.cautions or [*cautions.of_all(adult=False)],
        versions=versions(PACKAGES),
    )


def _state(drawing: Drawing) -> HandedState:
    sizing = drawing.sizing
    return HandedState(
        state=sizing.state,
        words=SIZES[sizing.state],
        factor_along=sizing.along,
        factor_across=sizing.across,
        hole_more_mm=sizing.hole_more_mm,
        hole_less_mm=dict(sizing.hole_less_mm),
        pieces=_pieces(drawing),
    )


def _pieces(drawing: Drawing) -> list[HandedPiece]:
    return [
        HandedPiece(
            number=piece.number,
            length_mm=round(piece.length_mm, 4),
            widest_mm=round(2.0 * max(radius for _, radius in piece.outside), 4),
            down=piece.down,
            locked=piece.locked,
            left_out=list(piece.left_out),
        )
        for piece in drawing.pieces
    ]


def _file(path: Path, folder: Path) -> HandedFile:
    found, place = path.read_bytes(), path.relative_to(folder)
    kind = place.parts[0] if len(place.parts) > 1 else WHOLE
    return HandedFile(file=place.as_posix(), kind=kind, bytes=len(found), sha256=hashlib.sha256(found).hexdigest())
